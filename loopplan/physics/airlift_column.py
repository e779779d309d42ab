"""The core of every airlift: a column of water and air, and the head that it makes.

One-dimensional drift flux. Air enters at the injector, expands isothermally on its way up
(saturated with vapour at the temperature of the water) and leaves at the lip of the riser. All
heads are in metres of water:

    head saved by gas = lift + every loss

The weight of the column is the integral over pressure of dz = dp / (weight + friction), by
Gauss's rule. No step depends on the one before, so that any number of airlifts run as one batch
(last axis). Eight points close it to rounding; where a closure changes its form within the column
(`loopplan.physics.two_phase_ladder`) to 0.2 mm of height. The water's speeding-up is charged
whole at the injector, where most of it happens. Friction of the mixture: Darcy with the weight of
the water in it, f rho (1 - alpha) j^2 / 2 D.

Nothing here is fitted to airlift measurements.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.air import GAS_CONSTANT_DRY, KELVIN, AirState, air_density
from loopplan.physics.constants import GRAVITY
from loopplan.physics.friction import friction_factor
from loopplan.physics.two_phase import Closure, Phases, gas_fraction, surface_tension
from loopplan.physics.water import (
    atmospheric_pressure,
    density,
    kinematic_viscosity,
    vapour_pressure,
)

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)
_NODES, _WEIGHTS = 0.5 * (_NODES + 1.0), 0.5 * _WEIGHTS


@dataclass(frozen=True)
class Site:
    """Water and atmosphere in which an airlift works.

    Attributes:
        temperature: temperature of the water [degC].
        water_density: density of the water [kg/m3].
        viscosity: kinematic viscosity of the water [m2/s].
        surface_tension: surface tension [N/m].
        vapour_pressure: vapour pressure of the water [Pa].
        atmosphere: pressure of the air over the water [Pa].
    """

    temperature: Numbers
    water_density: Numbers
    viscosity: Numbers
    surface_tension: Numbers
    vapour_pressure: Numbers
    atmosphere: Numbers

    @cached_property
    def phases(self) -> Phases:
        """Water, and air saturated with vapour at the pressure of the atmosphere."""
        air = AirState(self.temperature, self.atmosphere, 1.0)
        return Phases(self.water_density, air_density(air), self.surface_tension, self.viscosity)

    def pressure(self, head: Numbers) -> Array:
        """Return the absolute pressure [Pa] under a `head` of water [m]."""
        return np.asarray(self.atmosphere + self.water_density * GRAVITY * np.asarray(head))

    def gas_flow(self, dry_air: Numbers, pressure: Numbers) -> Array:
        """Return the gas flow [m3/s] of `dry_air` [kg/s] in the water at a `pressure` [Pa]."""
        per = GAS_CONSTANT_DRY * (np.asarray(self.temperature) + KELVIN)
        return np.asarray(dry_air * per / (pressure - np.asarray(self.vapour_pressure)))


def site(temperature: Numbers, salinity: Numbers = 0.0, altitude: Numbers = 0.0) -> Site:
    """Site by temperature, salinity and altitude.

    Args:
        temperature: temperature of the water [degC], -2 to 40.
        salinity: salinity [g/kg], 0 to 42.
        altitude: height above the sea [m], -500 to 5000.

    Returns:
        The site. Surface tension is that of fresh water.

    Raises:
        ValueError: outside a range.

    Source: `eos-80`, `iapws-sr6`, `iapws-r1`, `iapws-sr1`, `iso-2533`.
    """
    return Site(
        temperature,
        density(temperature, salinity),
        kinematic_viscosity(temperature, salinity),
        surface_tension(temperature),
        vapour_pressure(temperature, salinity),
        atmospheric_pressure(altitude),
    )


@dataclass(frozen=True)
class Mouth:
    """Where the riser ends and water leaves it.

    Attributes:
        height: height of the lip above the injector [m].
        head: pressure at the lip over that of the atmosphere [m of water].
        saved: head saved by gas above the lip [m].
        losses: losses at the mouth by name [m].
    """

    height: Array
    head: Array
    saved: Array
    losses: dict[str, Array]


class Riser(Protocol):
    """What an airlift has to tell about itself: a shaft, or tubes in parallel."""

    @property
    def units(self) -> Numbers:
        """How many risers share the flow [-]."""

    @property
    def area(self) -> Numbers:
        """Section of one riser [m2]."""

    @property
    def bore(self) -> Numbers:
        """Hydraulic diameter of the riser [m]."""

    @property
    def roughness(self) -> Numbers:
        """Sand roughness of its wall [m]."""

    @property
    def size(self) -> Numbers:
        """Size that its closure needs: circulation cell or bore [m]."""

    @property
    def submergence(self) -> Numbers:
        """Depth of the injector under the level on the inlet side [m]."""

    @property
    def most_gas(self) -> float:
        """Superficial gas velocity up to which air flows are searched [m/s]."""

    def losses_below(self, flow: Array, site: Site) -> dict[str, Array]:
        """Return the losses [m] from the inlet level to the injector for a whole `flow` [m3/s]."""

    def mouth(self, flow: Array, lift: Array, fraction: Array) -> Mouth:
        """Return the mouth for a `flow` [m3/s], a `lift` [m] and a gas `fraction` there [-]."""


@dataclass(frozen=True)
class Balance:
    """State of a riser at a water flow, an air flow and a lift.

    Attributes:
        margin: height to which the column would stand above the lip [m]; zero at work.
        saved: head saved by gas, which drives the airlift [m].
        losses: every loss by name [m].
        injection_pressure: absolute pressure at the injector [Pa].
        lip_pressure: absolute pressure at the lip [Pa].
        water_velocity: superficial velocity of the water [m/s].
        gas_velocity_bottom, gas_velocity_top: that of the gas at injector and surface [m/s].
        fraction_bottom, fraction_top, fraction_mean: gas fraction at the injector, at the
            surface, and over the column [-].
    """

    margin: Array
    saved: Array
    losses: dict[str, Array]
    injection_pressure: Array
    lip_pressure: Array
    water_velocity: Array
    gas_velocity_bottom: Array
    gas_velocity_top: Array
    fraction_bottom: Array
    fraction_top: Array
    fraction_mean: Array


def balance(
    riser: Riser, site: Site, flow: Numbers, dry_air: Numbers, lift: Numbers, closure: Closure
) -> Balance:
    """Balance of heads of an airlift at any water flow, air flow and lift.

    No checks. Arguments broadcast; the batch axis is last.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        flow: water flow [m3/s], 0 and up.
        dry_air: dry air [kg/s], 0 and up.
        lift: outlet level less inlet level [m].
        closure: drift flux of the gas.

    Returns:
        The balance; it closes (margin 0) where flow, air and lift belong together.

    Source: `zuber-findlay-1965`, `darcy-weisbach`, `ideal-gas`.
    """
    q, air, rise = np.broadcast_arrays(*(np.asarray(x, float) for x in (flow, dry_air, lift)))
    phases = site.phases
    share = np.asarray(riser.units * np.asarray(riser.area))
    jl = q / share

    def mixture(pressure: Array) -> tuple[Array, Array]:
        jg = site.gas_flow(air, pressure) / share
        return jg, gas_fraction(jg, jl, *closure(jg, jl, phases, riser.size))

    jg_top, top = mixture(np.asarray(site.atmosphere))
    speeding = jl**2 / (2.0 * GRAVITY) + jl**2 / GRAVITY * top / (1.0 - top)
    below = riser.losses_below(q, site)
    mouth = riser.mouth(q, rise, top)

    left = riser.submergence - sum(below.values()) - speeding
    bottom, lip = site.pressure(left), site.pressure(mouth.head)
    # Losses that eat up the whole depth leave no column: none is integrated, and the shortage
    # is handed on, so that the margin falls all the way.
    span = np.maximum(bottom - lip, 0.0)
    shape = (-1,) + (1,) * span.ndim
    jg, alpha = mixture(lip + span * _NODES.reshape(shape))
    j = jg + jl
    reynolds = np.maximum(j * riser.bore / site.viscosity, 1e-3)
    factor = friction_factor(reynolds, riser.roughness / np.asarray(riser.bore))
    water = np.asarray(site.water_density)
    saved = alpha * (1.0 - phases.density_ratio)
    friction = factor * (1.0 - alpha) * j**2 / (2.0 * GRAVITY * np.asarray(riser.bore))
    rises = span / (water * GRAVITY) * _WEIGHTS.reshape(shape) / (1.0 - saved + friction)
    height = rises.sum(axis=0)
    gas_height = (rises * alpha).sum(axis=0)
    short = np.minimum(bottom - lip, 0.0) / (water * GRAVITY)
    start = mixture(lip + span)
    return Balance(
        margin=height + short - mouth.height,
        saved=(rises * saved).sum(axis=0) + mouth.saved,
        losses={
            **below,
            "velocity": speeding,
            "riser friction": (rises * friction).sum(axis=0),
            **mouth.losses,
        },
        injection_pressure=lip + span,
        lip_pressure=lip,
        water_velocity=jl,
        gas_velocity_bottom=start[0],
        gas_velocity_top=jg_top,
        fraction_bottom=start[1],
        fraction_top=top,
        fraction_mean=np.where(height > 0.0, gas_height / np.maximum(height, 1e-12), top),
    )
