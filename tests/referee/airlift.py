"""A second airlift: scalar, with its own laws, integrated down the column step by step.

Written from the equations with `math` and scipy alone. Where the package integrates height over
pressure by Gauss's rule, this one integrates pressure over height by Runge and Kutta and searches
with brentq on the pressure at the injector.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from tests.referee.laws import G, friction_factor

R_DRY = 8.314462618 / 0.0289647
R_WET = 8.314462618 / 0.01801528


@dataclass(frozen=True)
class Water:
    """Numbers of the water and the air over it, SI; temperature in degC."""

    temperature: float
    density: float
    viscosity: float
    tension: float
    vapour: float
    atmosphere: float

    @property
    def kelvin(self) -> float:
        return self.temperature + 273.15

    @property
    def air_density(self) -> float:
        """Saturated air at the pressure of the atmosphere (Magnus)."""
        wet = 611.2 * math.exp(17.62 * self.temperature / (243.12 + self.temperature))
        return ((self.atmosphere - wet) / R_DRY + wet / R_WET) / self.kelvin

    @property
    def bubbles(self) -> float:
        drop = self.density - self.air_density
        return (self.tension * G * drop / self.density**2) ** 0.25


Speed = Callable[[float, float], float]
"""Speed of the gas [m/s] by its superficial velocity and that of the water."""


def ladder(rung: float, size: float, water: Water) -> Speed:
    """Gas speed between evenly spread (0), large duct (1), circulating (2) and plume (3)."""
    scale = water.bubbles
    thin = water.air_density / water.density

    def even(jg: float, jl: float) -> float:
        return 1.2 * (jg + jl) + 1.53 * scale

    def large(jg: float, jl: float) -> float:
        beta = jg / (jg + jl)
        c = math.exp(0.475 * beta**1.69) if beta <= 0.9 else 4.08 - 2.88 * beta
        c = c * (1 - math.sqrt(thin)) + math.sqrt(thin)
        e = math.exp(-1.39 * jg / scale)
        caps = 0.030 * thin**-0.157 * 2.25e-3**-0.562
        return max(c * (jg + jl) + scale * (math.sqrt(2) * e + caps * (1 - e)), even(jg, jl))

    def circulating(jg: float, jl: float) -> float:
        turn = min(jg, (0.5 / 1.2) ** (1 / 0.7))
        own = 1.2 * (jg + jl) + turn**0.3 / 0.6 - 1.2 * turn
        return max(own, large(jg, jl))

    def plume(jg: float, jl: float) -> float:
        rise = 0.737 * (G * size * jg) ** (1 / 3)
        return max(1.2 * (jg + jl) + rise + 1.53 * scale, circulating(jg, jl))

    rungs = (even, large, circulating, plume)
    foot = min(int(rung), 2)

    def speed(jg: float, jl: float) -> float:
        low, high = rungs[foot](jg, jl), rungs[foot + 1](jg, jl)
        return low + (rung - foot) * (high - low)

    return speed


def slugs(diameter: float, water: Water) -> Speed:
    """Slugs, no faster than in large pipes."""
    drop = water.density - water.air_density
    bond = drop * G * diameter**2 / water.tension
    slug = 0.352 * math.sqrt(G * diameter) * max(1 - 3.18 / bond - 14.77 / bond**2, 0.0)
    thin = water.air_density / water.density
    wide = 0.030 * thin**-0.157 * 2.25e-3**-0.562 * water.bubbles
    return lambda jg, jl: 1.2 * (jg + jl) + min(slug, wide)


@dataclass(frozen=True)
class Column:
    """One riser. `below` and `lip_head` give heads [m]; `lip` is its height over the injector."""

    area: float
    bore: float
    roughness: float
    submergence: float
    lip: float
    below: Callable[[float], float]
    lip_head: Callable[[float, float], float]
    speed: Speed
    water: Water

    def excess(self, flow: float, air: float) -> float:
        """Pressure [m] that is there at the injector over what the column needs."""
        w = self.water
        jl = flow / self.area

        def gas(p: float) -> tuple[float, float]:
            jg = air * R_DRY * w.kelvin / (p - w.vapour) / self.area
            return jg, jg / self.speed(jg, jl)

        _, top = gas(w.atmosphere)
        start = w.atmosphere + w.density * G * self.lip_head(flow, top)

        def rate(_: float, p: list[float]) -> list[float]:
            jg, alpha = gas(p[0])
            j = jg + jl
            weight = (1 - alpha) * w.density + alpha * w.air_density
            f = friction_factor(j * self.bore / w.viscosity, self.roughness / self.bore)
            return [G * weight + f * w.density * (1 - alpha) * j * j / (2 * self.bore)]

        found = solve_ivp(rate, (0.0, self.lip), [start], method="DOP853", rtol=1e-11, atol=1e-6)
        needed = (found.y[0, -1] - w.atmosphere) / (w.density * G)
        speeding = jl * jl / (2 * G) + jl * jl / G * top / (1 - top)
        return float(self.submergence - self.below(flow) - speeding - needed)

    def water_moved(self, air: float, low: float, high: float) -> float:
        """Water flow [m3/s] of an air flow [kg/s]."""
        return float(brentq(lambda q: self.excess(q, air), low, high, xtol=1e-14, rtol=1e-13))

    def air_needed(self, flow: float, low: float, high: float) -> float:
        """Air [kg/s] of a water flow [m3/s]."""
        return float(brentq(lambda m: self.excess(flow, m), low, high, xtol=1e-14, rtol=1e-13))


@dataclass(frozen=True)
class ShaftSizes:
    """Sizes of a shaft [m, m2]; heights over the floor."""

    inlet_level: float
    inlet_area: float
    outlet_area: float
    width: float
    gap: float
    diffusers: float
    sill: float
    lift: float
    turn_k: float = 1 / 0.61**2
    entry_k: float = 0.5
    roughness: float = 1e-3


def shaft(s: ShaftSizes, rung: float, water: Water) -> Column:
    """Column of a channel airlift with an outlet as wide as its partition."""

    def wet(area: float) -> float:
        return 4 * area / (2 * (s.width + area / s.width))

    def below(q: float) -> float:
        if q == 0.0:
            return 0.0
        v = q / s.inlet_area
        bore = wet(s.inlet_area)
        f = friction_factor(v * bore / water.viscosity, s.roughness / bore)
        wall = f * (s.inlet_level - s.gap) / bore
        slot = q / (s.width * s.gap)
        return ((s.entry_k + wall) * v * v + s.turn_k * slot * slot) / (2 * G)

    def lip_head(q: float, top: float) -> float:
        unit = q / s.width
        deep = max(s.inlet_level + s.lift - s.sill, (unit * unit / G) ** (1 / 3))
        return deep * math.sqrt(1 - top) + (unit / deep) ** 2 / (2 * G)

    submergence = s.inlet_level - s.diffusers
    cell = min(s.width, s.outlet_area / s.width, submergence)
    return Column(
        s.outlet_area, wet(s.outlet_area), s.roughness, submergence, s.sill - s.diffusers,
        below, lip_head, ladder(rung, cell, water), water,
    )  # fmt: skip


def tube(diameter: float, submergence: float, lift: float, water: Water) -> Column:
    """Column of a tube that discharges freely at its upper end, entry with a sharp edge."""
    area = math.pi / 4 * diameter**2
    return Column(
        area, diameter, 1.5e-6, submergence, submergence + lift,
        lambda q: 0.5 * (q / area) ** 2 / (2 * G), lambda q, top: 0.0,
        slugs(diameter, water), water,
    )  # fmt: skip
