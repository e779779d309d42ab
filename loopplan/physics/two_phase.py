"""How much room rising air takes: drift-flux closures.

Drift flux (Zuber and Findlay 1965): the gas moves at C0 j + V, so that the gas fraction is

    alpha = jg / (C0 (jg + jl) + V)

with jg and jl the superficial velocities of gas and water. A closure gives C0 and V. None was
measured in a shaft as wide as it is high, which is no developed pipe: the spread between them is
the honest answer there (`loopplan.physics.airlift_shaft`).

All coefficients are from memory. Every closure takes (jg, jl, phases, size), also where it does
not need them all; none checks its arguments, for they run inside solvers. In each of them but
`large_duct_capped` the gas fraction rises with jg and falls with jl.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from loopplan.physics._check import Array, Numbers, within
from loopplan.physics.constants import GRAVITY

DriftFlux = tuple[Array, Array]
"""Distribution parameter C0 [-] and drift velocity V [m/s]."""

LARGE_DUCT_VISCOSITY_NUMBER = 2.25e-3
"""Viscosity number [-] of the low-viscosity form of Kataoka and Ishii; that of water at 20 degC."""


@dataclass(frozen=True)
class Phases:
    """What the closures need to know of water and air.

    Attributes:
        density: density of the water [kg/m3].
        gas_density: density of the air [kg/m3].
        surface_tension: surface tension [N/m].
        viscosity: kinematic viscosity of the water [m2/s].
    """

    density: Numbers
    gas_density: Numbers
    surface_tension: Numbers
    viscosity: Numbers

    @cached_property
    def bubble_scale(self) -> Array:
        """(sigma g drho / rho^2)^0.25 [m/s], to which the rise of bubbles is in proportion."""
        lift = np.asarray(self.density) - self.gas_density
        inner = self.surface_tension * GRAVITY * lift / np.square(self.density)
        return np.asarray(inner**0.25)

    @cached_property
    def density_ratio(self) -> Array:
        """Density of gas over that of water [-]."""
        return np.asarray(self.gas_density / np.asarray(self.density))


Closure = Callable[[Numbers, Numbers, Phases, Numbers], DriftFlux]
"""(jg, jl, phases, size) to C0 and V."""


def surface_tension(temperature: Numbers) -> Array:
    """Surface tension of fresh water against air. Salt adds 1.5 % at most, not counted.

    Args:
        temperature: temperature [degC], -2 to 40.

    Returns:
        Surface tension [N/m]; within 0.5 %.

    Raises:
        ValueError: outside the range.

    Source: `iapws-r1`.
    """
    t = within("temperature", temperature, -2.0, 40.0, "degC")
    x = 1.0 - (t + 273.15) / 647.096
    return np.asarray(0.2358 * x**1.256 * (1.0 - 0.625 * x))[()]


def gas_fraction(jg: Numbers, jl: Numbers, c0: Numbers, drift: Numbers) -> Array:
    """Share of the cross-section that gas takes.

    Args:
        jg: superficial velocity of the gas [m/s], 0 and up.
        jl: superficial velocity of the water [m/s], 0 and up.
        c0: distribution parameter [-], 1 and up.
        drift: drift velocity [m/s], 0 and up.

    Returns:
        Gas fraction [-], 0 where there is no gas.

    Source: `zuber-findlay-1965`.
    """
    gas = np.asarray(jg, dtype=np.float64)
    speed = np.asarray(c0 * (gas + jl) + drift)
    return np.asarray(gas / np.maximum(speed, 1e-12))[()]


def broadcast(c0: Numbers, drift: Numbers, *like: Numbers) -> DriftFlux:
    """Bring a pair to the shape of the velocities.

    Args:
        c0: distribution parameter [-].
        drift: drift velocity [m/s].
        like: arrays whose shape counts too [any unit].

    Returns:
        C0 [-] and V [m/s].
    """
    shape = np.broadcast_shapes(*(np.shape(x) for x in (c0, drift, *like)))
    return (
        np.broadcast_to(np.asarray(c0, dtype=np.float64), shape),
        np.broadcast_to(np.asarray(drift, dtype=np.float64), shape),
    )


def evenly_spread(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Bubbles spread evenly over the plan: the most gas that an air flow can hold.

    Args:
        jg: superficial velocity of the gas [m/s].
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: not used [m].

    Returns:
        C0 = 1.2 [-] and V = 1.53 (sigma g drho / rho^2)^0.25 [m/s], 0.25 m/s in water.
        Within some 20 % for bubbly flow, gas fractions up to 0.3.

    Source: `zuber-findlay-1965`, `harmathy-1960`.
    """
    return broadcast(1.2, 1.53 * phases.bubble_scale, jg, jl)


def _large_duct_drift(jg: Numbers, phases: Phases) -> Array:
    """Drift velocity of Hibiki and Ishii: small bubbles first, large caps as jg grows."""
    small = np.exp(-1.39 * np.asarray(jg) / phases.bubble_scale)
    caps = 0.030 * phases.density_ratio**-0.157 * LARGE_DUCT_VISCOSITY_NUMBER**-0.562
    return np.asarray(phases.bubble_scale * (np.sqrt(2.0) * small + caps * (1.0 - small)))


def large_duct_uniform(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Large ducts (over some 0.1 m) into which bubbles enter evenly over the section.

    Args:
        jg: superficial velocity of the gas [m/s].
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: not used [m].

    Returns:
        C0 [-] and V [m/s]. Data: 0.1 to 0.6 m, gas fractions up to 0.3 or so; stated scatter
        some 20 %. Beyond jg/j = 0.9 the published straight line.

    Source: `hibiki-ishii-2003`, `kataoka-ishii-1987` (low-viscosity form, as at 20 degC).
    """
    gas = np.asarray(jg, dtype=np.float64)
    share = gas / np.maximum(gas + jl, 1e-12)
    shape = np.where(
        share <= 0.9,
        np.exp(0.475 * np.minimum(share, 0.9) ** 1.69),
        4.08 - 2.88 * share,
    )
    root = np.sqrt(phases.density_ratio)
    return broadcast(shape * (1.0 - root) + root, _large_duct_drift(gas, phases), jl)


def large_duct_capped(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Large ducts with cap bubbles.

    The gas fraction can fall while jg rises, near j = 1.8 bubble scales (0.29 m/s) and little
    water flow.

    Args:
        jg: superficial velocity of the gas [m/s].
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: not used [m].

    Returns:
        C0 [-] and V [m/s]; stated scatter some 20 %.

    Source: `hibiki-ishii-2003`, `kataoka-ishii-1987` (low-viscosity form, as at 20 degC).
    """
    gas = np.asarray(jg, dtype=np.float64)
    j = (gas + jl) / phases.bubble_scale
    shape = np.where(
        j <= 1.8,
        1.2 * np.exp(0.110 * np.minimum(j, 1.8) ** 2.22),
        0.6 * np.exp(-1.2 * np.maximum(j - 1.8, 0.0)) + 1.2,
    )
    root = np.sqrt(phases.density_ratio)
    return broadcast(shape * (1.0 - root) + root, _large_duct_drift(gas, phases))


def _drift_at_rest(jg: Array, fraction: Array) -> Array:
    """V with which C0 = 1.2 gives a gas fraction that was measured without net water flow."""
    return np.asarray(jg / np.maximum(fraction, 1e-300) - 1.2 * jg)


_HEIJNEN_TURN = (0.5 / 1.2) ** (1.0 / 0.7)
"""jg [m/s] at which V of Heijnen and van 't Riet stops rising."""


def circulating_column(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Wide column, aerated all over its floor, in which the water circulates.

    Measured without net water flow: alpha = 0.6 jg^0.7 (coalescing water, heterogeneous). We
    carry it over to net flow as a drift flux with C0 = 1.2 whose V gives that alpha back at
    jl = 0: the circulation rides on the mean flow. V rises up to jg = 0.29 m/s and is held there.

    Args:
        jg: superficial velocity of the gas [m/s]; data up to 0.4.
        jl: superficial velocity of the water [m/s].
        phases: not used.
        size: not used [m]; no effect of the diameter was seen above some 0.15 m.

    Returns:
        C0 [-] and V [m/s]. Some 20 % at rest; with net flow our extension, untested.

    Source: `heijnen-vant-riet-1984`.
    """
    gas = np.minimum(np.asarray(jg, dtype=np.float64), _HEIJNEN_TURN)
    return broadcast(1.2, gas**0.3 / 0.6 - 1.2 * gas, jg, jl)


def small_circulating_column(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Column up to 0.6 m wide in which the water circulates.

    Measured without net water flow: alpha/(1 - alpha)^4 = 0.20 Bo^(1/8) Ga^(1/12) Fr; carried
    over to net flow as in `circulating_column`.

    Args:
        jg: superficial velocity of the gas [m/s]; data up to 0.4.
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: width of the column [m]; above 0.6 taken as 0.6, as the source has it.

    Returns:
        C0 [-] and V [m/s]. Some 20 % at rest; with net flow our extension, untested.

    Source: `akita-yoshida-1973`.
    """
    gas = np.asarray(jg, dtype=np.float64)
    d = np.minimum(size, 0.6)
    bond = GRAVITY * d**2 * phases.density / phases.surface_tension
    galilei = GRAVITY * d**3 / np.square(phases.viscosity)
    right = 0.20 * bond**0.125 * galilei ** (1 / 12) * gas / np.sqrt(GRAVITY * d)
    # Newton in ln(1 + x) of a convex equation, from above: closes in a few steps.
    x = right / (1.0 + right) ** 0.8
    for _ in range(20):
        left = x / (1.0 - x) ** 4
        x = np.clip(x - (left - right) * (1.0 - x) ** 5 / (1.0 + 3.0 * x), 0.0, 0.9)
    return broadcast(1.2, np.maximum(_drift_at_rest(gas, x), 0.0), jl)


def plume(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Plume: all gas rides on the centre line of the water's circulation.

    The speed there is 0.737 (g D jg)^(1/3), to which the rise of a bubble is added. An extreme:
    in a circulating column gas is spread over much of the section.

    Args:
        jg: superficial velocity of the gas, over the whole section [m/s]; data up to 0.4.
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: size of a circulation cell D [m]: the smaller of width and depth.

    Returns:
        C0 = 1.2 [-] and V [m/s]. The speed some 20 % at rest; with net flow our extension.

    Source: `zehner-1986`, `zuber-findlay-1965`, `harmathy-1960`.
    """
    rise = 0.737 * np.cbrt(GRAVITY * size * np.asarray(jg, dtype=np.float64))
    return broadcast(1.2, rise + 1.53 * phases.bubble_scale, jl)


def _developed(jg: Numbers, jl: Numbers, phases: Phases, flat: float) -> DriftFlux:
    root = np.sqrt(phases.density_ratio)
    return broadcast(flat - (flat - 1.0) * root, np.sqrt(2.0) * phases.bubble_scale, jg, jl)


def developed_round(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Churn-turbulent flow, developed, in a round pipe. For comparison only.

    Args:
        jg: superficial velocity of the gas [m/s].
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: not used [m].

    Returns:
        C0 = 1.2 - 0.2 sqrt(rho_g/rho) [-] and V = sqrt(2) (sigma g drho / rho^2)^0.25 [m/s].

    Source: `ishii-1977`.
    """
    return _developed(jg, jl, phases, 1.2)


def developed_rectangular(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Churn-turbulent flow, developed, in a rectangular duct. For comparison only.

    A shaft a few metres high is far from developed: this is never taken by default.

    Args:
        jg: superficial velocity of the gas [m/s].
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: not used [m].

    Returns:
        C0 = 1.35 - 0.35 sqrt(rho_g/rho) [-] and V = sqrt(2) (sigma g drho / rho^2)^0.25 [m/s].

    Source: `ishii-1977`.
    """
    return _developed(jg, jl, phases, 1.35)
