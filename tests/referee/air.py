"""The header of tests/air_loop.py in scalars, by bracketing; closed forms of its own."""

from __future__ import annotations

import math
from collections.abc import Callable

from scipy.optimize import brentq

from tests.referee.laws import friction_factor

Supply = Callable[[float], float]
"""Free air at a header pressure."""

RD = 8.314462618 / 0.0289647
FREE = 101325.0 / (RD * 293.15)
"""Dry air in free air [kg/m3]."""

STEEL = 1e-4
"""Roughness [m]."""


def viscosity(kelvin: float) -> float:
    return 1.458e-6 * kelvin**1.5 / (kelvin + 110.4)


def before(mass: float, after: float, bore: float, length: float, hot: float, k: float) -> float:
    """Pressure before a pipe: isothermal flow, by bracketing."""
    if mass <= 0.0:
        return after
    kelvin = hot + 273.15
    flux = mass / (math.pi / 4.0 * bore**2)
    reynolds = flux * bore / viscosity(kelvin)
    whole = friction_factor(reynolds, STEEL / bore) * length / bore + k

    def miss(p: float) -> float:
        return p**2 - after**2 - flux**2 * RD * kelvin * (whole + 2.0 * math.log(p / after))

    high = 1.01 * after
    while miss(high) < 0.0:
        high *= 2.0
    return float(brentq(miss, after, high, xtol=1e-9))


PIPES = {"airlift": (0.15, 5.0), "head box": (0.10, 12.0), "wash": (0.10, 20.0)}
STATED = {"airlift": 700.0 / 3600.0, "head box": 200.0 / 3600.0, "wash": 150.0 / 3600.0}
LOSS = {"airlift": (2000.0, 2.0), "head box": (1500.0, 1.3), "wash": (1000.0, 2.0)}


def need(name: str, free: float, back: float, hot: float, k: float) -> float:
    loss, n = LOSS[name]
    end = back + loss * (free / STATED[name]) ** n
    return before(free * FREE, end, *PIPES[name], hot, k)


def divided(
    backs: dict[str, float], k: dict[str, float], hot: float, total: Supply
) -> tuple[dict[str, float], float]:
    """Free air of each user, and header pressure."""

    def taken(name: str, header: float) -> float:
        if header <= backs[name]:
            return 0.0

        def miss(free: float) -> float:
            return need(name, free, backs[name], hot, k[name]) - header

        most = 0.01
        while miss(most) < 0.0:
            most *= 2.0
        return float(brentq(miss, 0.0, most, xtol=1e-15))

    def excess(header: float) -> float:
        return sum(taken(name, header) for name in backs) - total(header)

    header = float(brentq(excess, min(backs.values()) + 1.0, 1.5e5, xtol=1e-9))
    return {name: taken(name, header) for name in backs}, header


def inlet() -> tuple[float, float]:
    """Pressure at the inlet [Pa], and dry air there [kg/m3]."""
    pressure = 101325.0 - 1000.0
    vapour = 0.6 * 611.2 * math.exp(17.62 * 25.0 / (243.12 + 25.0))
    return pressure, (pressure - vapour) / (RD * 298.15)


def blown(rise: float, speed: float) -> float:
    """Free air of the blower [m3/s]: swept volume less slip."""
    swept = 1200.0 / 3600.0 / 0.85
    drawn = swept * (speed - 0.15 * math.sqrt(rise / 45e3))
    return drawn * inlet()[1] / FREE


def hot_of(delivery: float) -> float:
    low, _ = inlet()
    return 298.15 * (1.0 + ((delivery / low) ** (0.4 / 1.4) - 1.0) / 0.55) - 273.15


def through_main(speed: float, hot: float) -> Supply:
    """Free air that reaches a header pressure through the main pipe."""

    def total(header: float) -> float:
        def miss(free: float) -> float:
            delivery = before(free * FREE, header, 0.2, 30.0, hot, 0.0)
            return blown(max(delivery - inlet()[0], 0.0), speed) - free

        return float(brentq(miss, 0.0, 2.0, xtol=1e-15))

    return total
