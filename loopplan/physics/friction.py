"""Friction of full pipes.

The friction factor is 64/Re below Re 2000 and the Colebrook equation above Re 4000; between
them it passes from one to the other on a cubic (3s^2 - 2s^3) in Re, so that value and slope run
on without a jump. The blend is ours: in that range the flow itself is unsettled, and a jump would
keep Newton's method from closing.

`friction_factor`, `pipe_friction` and `given_factor_friction` run inside the solver and do not
check their arguments: lengths and diameters must be above zero, roughness and length not below.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive
from loopplan.physics.constants import GRAVITY

LAMINAR_BELOW = 2000.0
"""Reynolds number [-] below which the flow is taken as laminar."""

TURBULENT_ABOVE = 4000.0
"""Reynolds number [-] above which the flow is taken as turbulent."""

_SPAN = TURBULENT_ABOVE - LAMINAR_BELOW
_TWO_LOGS = 2.0 / np.log(10.0)


def _turbulent(reynolds: Array, relative_roughness: Numbers) -> tuple[Array, Array]:
    """Return 1/sqrt(f) of Colebrook, and Re times its slope with Re.

    Start of Swamee and Jain, then Newton steps on x + 2 log10(rr/3.7 + 2.51 x/Re) = 0. Three
    close it to rounding.
    """
    a = np.asarray(relative_roughness, dtype=np.float64) / 3.7
    b = 2.51 / reynolds
    x = -_TWO_LOGS * np.log(a + 5.74 * np.exp(-0.9 * np.log(reynolds)))
    for _ in range(3):
        inner = a + b * x
        x = x - (x + _TWO_LOGS * np.log(inner)) / (1.0 + _TWO_LOGS * b / inner)
    bend = _TWO_LOGS * b
    return x, bend * x / (a + b * x + bend)


def _factor_times_reynolds(reynolds: Array, relative_roughness: Numbers) -> tuple[Array, Array]:
    """Return phi = f Re and the slope of (Re phi) with Re, good down to Re = 0."""
    x, gain = _turbulent(np.maximum(reynolds, LAMINAR_BELOW), relative_roughness)
    f = x**-2.0
    s = np.minimum(np.maximum((reynolds - LAMINAR_BELOW) / _SPAN, 0.0), 1.0)
    weight = s * s * (3.0 - 2.0 * s)
    weight_rise = 6.0 * s * (1.0 - s) / _SPAN * reynolds
    rough = f * reynolds
    phi = 64.0 + weight * (rough - 64.0)
    slope = 64.0 + weight * (rough * (2.0 - 2.0 * gain / x) - 64.0) + weight_rise * (rough - 64.0)
    return phi, slope


def friction_factor(reynolds: Numbers, relative_roughness: Numbers) -> Array:
    """Darcy friction factor; laminar, Colebrook, and smooth between.

    No checks. Closes the Colebrook equation to 1e-12 above Re 4000.

    Args:
        reynolds: Reynolds number [-], above 0; Colebrook is good for 4e3 to 1e8.
        relative_roughness: sand roughness over diameter [-], 0 to 0.05.

    Returns:
        Darcy friction factor [-].

    Source: `colebrook`, `swamee-jain` (start), `hagen-poiseuille`.
    """
    re = np.asarray(reynolds, dtype=np.float64)
    phi, _ = _factor_times_reynolds(re, relative_roughness)
    return np.asarray(phi / re)[()]


def pipe_friction(
    flow: Numbers, length: Numbers, diameter: Numbers, roughness: Numbers, viscosity: Numbers
) -> tuple[Array, Array]:
    """Head lost to friction in a full round pipe, and its slope with flow.

    No checks. Odd in the flow; the slope is above zero everywhere, at rest it is the laminar one.

    Args:
        flow: flow [m3/s], either sign.
        length: length [m], 0 and up.
        diameter: inside diameter [m], above 0.
        roughness: sand roughness of the wall [m], up to 0.05 diameters.
        viscosity: kinematic viscosity [m2/s], above 0.

    Returns:
        Head [m] with the sign of the flow, and d head / d flow [s/m2].

    Source: `darcy-weisbach`, `colebrook`, `hagen-poiseuille`.
    """
    q = np.asarray(flow, dtype=np.float64)
    d = np.asarray(diameter, dtype=np.float64)
    # Re = per_flow |q|, and h = scale q phi(Re).
    per_flow = 4.0 / (np.pi * d * viscosity)
    scale = 2.0 * length * viscosity / (np.pi * GRAVITY * (d * d) * (d * d))
    phi, rise = _factor_times_reynolds(np.abs(q) * per_flow, roughness / d)
    return np.asarray(scale * q * phi)[()], np.asarray(scale * rise)[()]


def given_factor_friction(
    flow: Numbers, length: Numbers, diameter: Numbers, factor: Numbers
) -> tuple[Array, Array]:
    """Head lost to friction in a full round pipe whose friction factor is stated.

    No checks. Odd in the flow. The slope is zero at rest: who inverts it needs a floor.

    Args:
        flow: flow [m3/s], either sign.
        length: length [m], 0 and up.
        diameter: inside diameter [m], above 0.
        factor: Darcy friction factor [-] (four times the Fanning factor).

    Returns:
        Head [m] with the sign of the flow, and d head / d flow [s/m2].

    Source: `darcy-weisbach`.
    """
    q = np.asarray(flow, dtype=np.float64)
    size = np.abs(q)
    per = 8.0 * factor * length / (np.pi**2 * GRAVITY * np.asarray(diameter) ** 5)
    return np.asarray(per * q * size)[()], np.asarray(2.0 * per * size)[()]


def hazen_williams_head(flow: Numbers, length: Numbers, diameter: Numbers, c: Numbers) -> Array:
    """Head lost to friction by the formula of Hazen and Williams.

    For water near 15 degC in turbulent flow, pipes above 50 mm. Prefer `pipe_friction`; this is
    here to check old calculations.

    Args:
        flow: flow [m3/s], either sign.
        length: length [m], above 0.
        diameter: inside diameter [m], above 0.
        c: coefficient of Hazen and Williams [m^0.37/s], about 100 (old iron) to 150 (plastic).

    Returns:
        Head [m] with the sign of the flow.

    Raises:
        ValueError: if length, diameter or c is not above zero.

    Source: `hazen-williams` (SI constant 10.667).
    """
    span, d = positive("length", length, "m"), positive("diameter", diameter, "m")
    coefficient = positive("c", c)
    q = np.asarray(flow, dtype=np.float64)
    per = 10.667 * span / (coefficient**1.852 * d**4.871)
    return np.asarray(np.sign(q) * per * np.abs(q) ** 1.852)[()]


def chezy_from_manning(n: Numbers, hydraulic_radius: Numbers) -> Array:
    """Coefficient of Chezy that goes with a Manning roughness.

    Args:
        n: Manning roughness [s/m^(1/3)], above 0.
        hydraulic_radius: area over wetted perimeter [m], above 0.

    Returns:
        Chezy coefficient [m^0.5/s].

    Raises:
        ValueError: if an argument is not above zero.

    Source: `manning` (closed form).
    """
    radius = positive("hydraulic radius", hydraulic_radius, "m")
    return np.asarray(radius ** (1.0 / 6.0) / positive("n", n))[()]
