"""The scalar twin of the airlift laws: one airlift's balance of heads, worked a second way.

Shares no code with the solver's: plain floats, closures written out once more, and the weight of
the column by Simpson's rule over pressure instead of Gauss's. Same physics and sources; see
:mod:`loopplan.physics.airlift_column` and :mod:`loopplan.physics.two_phase`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from loopplan.physics.constants import GRAVITY

_DRY_AIR = 287.05287
_WATER_VAPOUR = 461.52
_STEPS = 64
_CONCRETE = 1e-3

Drift = Callable[[float, float], tuple[float, float]]
"""Superficial gas and water velocity [m/s] to C0 [-] and V [m/s]."""

Friction = Callable[[float, float], float]
"""Reynolds number and relative roughness [-] to Darcy's friction factor [-]."""


def margin(
    p: Mapping[str, float],
    flow: float,
    head_up: float,
    head_down: float,
    friction: Friction,
) -> float:
    """Return how high the mixture would stand above the lip [m]: zero where the airlift works.

    `p` are the parameters of the law `airlift shaft` or `airlift tube`, `flow` of one unit
    [m3/s], levels [m].
    """
    rho, atmosphere = p["water_density"], p["atmosphere"]
    weight = rho * GRAVITY
    kelvin = p["temperature"] + 273.15
    air_density = _moist_air_density(p)
    buoyancy = 1.0 - air_density / rho
    scale = (p["surface_tension"] * GRAVITY * (rho - air_density) / rho**2) ** 0.25
    lift = head_down - head_up
    shaft = "sill_height" in p
    if shaft:
        area = p["outlet_area"]
        bore = _hydraulic(area, p["partition_width"])
        submergence = head_up - p["floor"] - p["diffuser_height"]
        size = min(area / p["partition_width"], p["partition_width"], submergence)
        drift = _ladder(p["rung"], scale, size, air_density / rho)
        roughness = _CONCRETE
        below = _shaft_below(p, flow, head_up - p["floor"], friction)
    else:
        lift = max(head_down, p["outlet_level"]) - head_up
        area = math.pi / 4.0 * p["diameter"] ** 2 * p["tubes"]
        bore = p["diameter"]
        submergence = head_up - p["injection_level"]
        drift = _tube(bore, scale, p["surface_tension"], rho, air_density)
        roughness = p["roughness"]
        speed = flow / area
        wall = friction(speed * bore / p["viscosity"], roughness / bore) * p["foot_length"] / bore
        below = (p["entry_k"] + wall) * speed**2 / (2.0 * GRAVITY)
    water = flow / area

    def mixture(pressure: float) -> tuple[float, float]:
        gas = p["air"] * _DRY_AIR * kelvin / (pressure - p["vapour_pressure"]) / area
        c0, speed = drift(gas, water)
        return gas, gas / max(c0 * (gas + water) + speed, 1e-12)

    _, top = mixture(atmosphere)
    start = water**2 / (2.0 * GRAVITY) + water**2 / GRAVITY * top / (1.0 - top)
    if shaft:
        height, head = _sill(p, flow, head_down - p["floor"], top)
    else:
        height = submergence + lift
        exit_speed = flow / (area * (1.0 - top))
        head = p["discharge_k"] * exit_speed**2 / (2.0 * GRAVITY)
    foot = submergence - below - start

    def rise(pressure: float) -> float:
        gas, alpha = mixture(pressure)
        speed = gas + water
        factor = friction(speed * bore / p["viscosity"], roughness / bore)
        wall = factor * (1.0 - alpha) * speed**2 / (2.0 * GRAVITY * bore)
        return 1.0 / (weight * (1.0 - alpha * buoyancy + wall))

    low, high = atmosphere + weight * head, atmosphere + weight * foot
    if high <= low:
        return (high - low) / weight - height
    return _simpson(rise, low, high) - height


def _moist_air_density(p: Mapping[str, float]) -> float:
    """Air over the water [kg/m3], saturated at its temperature.

    Saturation pressure over water by Buck 1981 (from memory): its error moves a density that
    is a thousandth of the water's by less than 0.1 %.
    """
    t = p["temperature"]
    vapour = 611.21 * math.exp((18.678 - t / 234.5) * t / (257.14 + t))
    kelvin = t + 273.15
    return (p["atmosphere"] - vapour) / (_DRY_AIR * kelvin) + vapour / (_WATER_VAPOUR * kelvin)


def _hydraulic(area: float, width: float) -> float:
    return 2.0 * area / (area / width + width)


def _shaft_below(p: Mapping[str, float], flow: float, depth: float, friction: Friction) -> float:
    """Losses of the inlet half and of the turn under the partition [m]."""
    down = flow / p["inlet_area"]
    bore = _hydraulic(p["inlet_area"], p["partition_width"])
    wall = friction(down * bore / p["viscosity"], _CONCRETE / bore)
    gap = flow / (p["partition_width"] * p["partition_gap"])
    inlet = (0.5 + wall * (depth - p["partition_gap"]) / bore) * down**2
    return (inlet + (gap / 0.61) ** 2) / (2.0 * GRAVITY)


def _sill(p: Mapping[str, float], flow: float, level: float, gas: float) -> tuple[float, float]:
    """Lip above the diffusers, and pressure there [m]; `level` over the shaft's floor."""
    per_width = flow / p["sill_width"]
    water = max(level - p["sill_height"], (per_width**2 / GRAVITY) ** (1.0 / 3.0))
    velocity = per_width**2 / (2.0 * GRAVITY * max(water, 1e-9) ** 2) if water > 0.0 else 0.0
    return p["sill_height"] - p["diffuser_height"], water * math.sqrt(1.0 - gas) + velocity


def _ladder(rung: float, scale: float, size: float, ratio: float) -> Drift:
    """Closure at a rung: evenly spread, large duct, circulating column, plume."""
    root = math.sqrt(ratio)

    def large_duct(gas: float, water: float) -> tuple[float, float]:
        share = gas / max(gas + water, 1e-12)
        shape = math.exp(0.475 * share**1.69) if share <= 0.9 else 4.08 - 2.88 * share
        small = math.exp(-1.39 * gas / scale)
        caps = 0.030 * ratio**-0.157 * 2.25e-3**-0.562
        speed = scale * (math.sqrt(2.0) * small + caps * (1.0 - small))
        return shape * (1.0 - root) + root, speed

    def column(gas: float, water: float) -> tuple[float, float]:
        held = min(gas, (0.5 / 1.2) ** (1.0 / 0.7))
        return 1.2, held**0.3 / 0.6 - 1.2 * held

    def plume(gas: float, water: float) -> tuple[float, float]:
        return 1.2, 0.737 * (GRAVITY * size * gas) ** (1.0 / 3.0) + 1.53 * scale

    def drift(gas: float, water: float) -> tuple[float, float]:
        c0, speed = 1.2, 1.53 * scale
        lower = c0, speed
        for foot, closure in enumerate((large_duct, column, plume)):
            own = closure(gas, water)
            faster = own[0] * (gas + water) + own[1] > lower[0] * (gas + water) + lower[1]
            upper = own if faster else lower
            share = min(max(rung - foot, 0.0), 1.0)
            c0 += share * (upper[0] - lower[0])
            speed += share * (upper[1] - lower[1])
            lower = upper
        return c0, speed

    return drift


def _tube(bore: float, scale: float, tension: float, rho: float, air: float) -> Drift:
    """Slugs, and no faster than the drift of large pipes."""
    bond = (rho - air) * GRAVITY * bore**2 / tension
    wet = max(1.0 - 3.18 / bond - 14.77 / bond**2, 0.0)
    wide = 0.030 * (air / rho) ** -0.157 * 2.25e-3**-0.562 * scale
    speed = min(0.352 * math.sqrt(GRAVITY * bore) * wet, wide)
    return lambda gas, water: (1.2, speed)


def _simpson(function: Callable[[float], float], low: float, high: float) -> float:
    step = (high - low) / _STEPS
    total = function(low) + function(high)
    total += sum((4.0 if i % 2 else 2.0) * function(low + i * step) for i in range(1, _STEPS))
    return total * step / 3.0
