"""Beds of grains that water is driven through.

Media that float and turn in the water (carriers kept moving by air) make no packed bed: their
loss is that of the screen which holds them back. Common practice, no source.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.constants import GRAVITY


def ergun_coefficients(
    size: Numbers,
    porosity: Numbers,
    depth: Numbers,
    sphericity: Numbers,
    viscosity: Numbers,
) -> tuple[Array, Array]:
    """Coefficients of the loss of a clean fixed bed: head = a v + b v^2.

    v is the superficial velocity, flow over bed area. The density cancels as the loss is a head of
    the same water.

    Args:
        size: diameter of the grains [m], above 0.
        porosity: share of voids [-], 0.2 to 0.98; measured for about 0.35 to 0.5.
        depth: depth of the bed [m], above 0.
        sphericity: sphericity of the grains [-], 0.1 to 1.
        viscosity: kinematic viscosity [m2/s], above 0.

    Returns:
        a [s] and b [s2/m]; within some 25 % for packed beds of known porosity.

    Raises:
        ValueError: outside the range.

    Source: `ergun-1952`.
    """
    d = positive("size", size, "m") * within("sphericity", sphericity, 0.1, 1.0)
    e = within("porosity", porosity, 0.2, 0.98)
    span = positive("depth", depth, "m") / GRAVITY
    solid = (1.0 - e) / (e**3 * d)
    a = 150.0 * span * positive("viscosity", viscosity, "m2/s") * solid * (1.0 - e) / d
    return np.asarray(a)[()], np.asarray(1.75 * span * solid)[()]


def fluidised_head(
    depth: Numbers, porosity: Numbers, media_density: Numbers, water_density: Numbers
) -> Array:
    """Head that carries the weight of a bed in water: the loss of a bed that floats on its flow.

    Args:
        depth: depth of the settled bed [m], above 0.
        porosity: share of voids of the settled bed [-], 0.2 to 0.98.
        media_density: density of the grains [kg/m3], above that of the water.
        water_density: density of the water [kg/m3], above 0.

    Returns:
        Head [m]; it does not grow with the flow.

    Raises:
        ValueError: outside the range, or media that float.

    Source: `buoyant-weight` (closed form).
    """
    water = positive("water density", water_density, "kg/m3")
    excess = positive("media density less water density", media_density - water, "kg/m3")
    e = within("porosity", porosity, 0.2, 0.98)
    return np.asarray(positive("depth", depth, "m") * (1.0 - e) * excess / water)[()]


def minimum_fluidisation_velocity(
    size: Numbers,
    porosity: Numbers,
    sphericity: Numbers,
    viscosity: Numbers,
    media_density: Numbers,
    water_density: Numbers,
) -> Array:
    """Superficial velocity at which an upflow bed starts to float.

    Args:
        size: diameter of the grains [m], above 0.
        porosity: share of voids of the settled bed [-], 0.2 to 0.98.
        sphericity: sphericity of the grains [-], 0.1 to 1.
        viscosity: kinematic viscosity [m2/s], above 0.
        media_density: density of the grains [kg/m3], above that of the water.
        water_density: density of the water [kg/m3], above 0.

    Returns:
        Velocity [m/s]. As uncertain as the porosity, to whose cube it goes: some 30 %.

    Raises:
        ValueError: outside the range, or media that float.

    Source: `ergun-1952` set equal to `buoyant-weight`.
    """
    a, b = ergun_coefficients(size, porosity, 1.0, sphericity, viscosity)
    head = fluidised_head(1.0, porosity, media_density, water_density)
    return np.asarray(2.0 * head / (a + np.sqrt(a * a + 4.0 * b * head)))[()]


def expanded_porosity(porosity: Numbers, expansion: Numbers) -> Array:
    """Share of voids of a bed that has been lifted.

    Args:
        porosity: share of voids of the settled bed [-], 0.2 to 0.98.
        expansion: depth of the lifted bed over that of the settled one [-], 1 to 10.

    Returns:
        Share of voids [-].

    Raises:
        ValueError: outside the range.

    Source: grains are neither lost nor made, closed form.
    """
    e = within("porosity", porosity, 0.2, 0.98)
    return np.asarray(1.0 - (1.0 - e) / within("expansion", expansion, 1.0, 10.0))[()]
