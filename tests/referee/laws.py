"""Scalar laws of the referee, each written from its formula with `math` alone.

A gravity law tells the head before a passage [m] for its flow [m3/s] and the head behind it
[m]. Sources stand beside each; nothing is taken from the package under test.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from scipy.integrate import solve_ivp

G = 9.80665
ROOT_2G = math.sqrt(2.0 * G)
Head = Callable[[float, float], float]
"""Head before a passage for (flow, head behind it)."""


def halve(miss: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero, by halving down to the last digit."""
    assert miss(low) <= 0.0 <= miss(high), (miss(low), miss(high))
    for _ in range(200):
        middle = 0.5 * (low + high)
        if not low < middle < high:
            break
        low, high = (middle, high) if miss(middle) < 0.0 else (low, middle)
    return 0.5 * (low + high)


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Colebrook 1939, by halving on 1/sqrt(f); Hagen and Poiseuille below Re 2000.

    Between them there is no formula: a straight line that only the search crosses.
    """
    if reynolds < 2000.0:
        return 64.0 / reynolds
    if reynolds < 4000.0:
        rough = friction_factor(4000.0, relative_roughness)
        return 0.032 + (rough - 0.032) * (reynolds / 2000.0 - 1.0)

    def miss(x: float) -> float:
        return x + 2.0 * math.log10(relative_roughness / 3.7 + 2.51 * x / reynolds)

    return halve(miss, 1.0, 20.0) ** -2.0


def pipe(
    length: float, bore: float, k: float, roughness: float, viscosity: float, units: int = 1
) -> Head:
    """Darcy and Weisbach with local losses; even shares of like pipes."""
    area = math.pi * bore * bore / 4.0

    def head(q: float, below: float) -> float:
        if q == 0.0:
            return below
        speed = abs(q) / units / area
        f = friction_factor(speed * bore / viscosity, roughness / bore)
        lost = (f * length / bore + k) * speed * speed / (2.0 * G)
        return below + math.copysign(lost, q)

    return head


def stated(factor_or_k: float, bore: float) -> Head:
    """A loss of K velocity heads in a bore, K not hanging on the flow."""
    area = math.pi * bore * bore / 4.0
    return lambda q, below: below + factor_or_k * q * abs(q) / (2.0 * G * area * area)


def power(lost: float, at: float, exponent: float) -> Head:
    """A stated loss that goes with a power of the flow."""
    return lambda q, below: below + math.copysign(lost * (abs(q) / at) ** exponent, q)


def drowned_share(up: float, down: float, limit: float, exponent: float) -> float:
    """Villemonte 1947, from a modular limit on; not used close to equal levels."""
    if down <= limit * up:
        return 1.0
    ratio = down / up
    assert ratio < 0.95, "so near equal levels the formula is not used"
    s = (ratio - limit) / (1.0 - limit)
    return (1.0 - s**exponent) ** 0.385


def sill(
    crest: float, free: Callable[[float], float], limit: float = 0.0, exponent: float = 1.5
) -> Head:
    """A sill whose free flow is known by the head over it; drowned by the level behind it.

    A film under 10 mm, and levels within 5 % of each other, are crossed by a search only.
    """

    def head(q: float, below: float) -> float:
        tail = max(below - crest, 0.0)

        def miss(up: float) -> float:
            return free(up) * drowned_share(up, tail, limit, exponent) - q

        least = max(tail / 0.9499, 0.0101)
        return crest + (least if miss(least) >= 0.0 else halve(miss, least, tail + 3.0))

    return head


def sharp(width: float, crest_height: float) -> Callable[[float], float]:
    """Kindsvater and Carter, full width, ISO 1438 (from memory); heads above 10 mm."""
    return lambda h: (
        (2.0 / 3.0) * ROOT_2G * (0.602 + 0.075 * h / crest_height)
        * (width - 0.0009) * (h + 0.001) ** 1.5
    )  # fmt: skip


def by_coefficient(width: float, cd: float) -> Callable[[float], float]:
    """Poleni's formula with a stated coefficient."""
    return lambda h: (2.0 / 3.0) * cd * ROOT_2G * width * h**1.5


def broad(width: float) -> Callable[[float], float]:
    """Long broad crest, square edges, coefficient 0.864 (ISO 3846, from memory)."""
    return lambda h: 0.864 * (2.0 / 3.0) ** 1.5 * math.sqrt(G) * width * h**1.5


def notch_90() -> Callable[[float], float]:
    """V-notch of 90 degrees, ISO 1438: Ce 0.578, kh 0.85 mm; heads above 10 mm."""
    return lambda h: 8.0 / 15.0 * 0.578 * ROOT_2G * (h + 0.00085) ** 2.5


def opening_flow(
    up: float, down: float, invert: float, height: float, width: float, cd: float
) -> float:
    """Free strips above the level behind it, drowned ones below; levels 0.1 mm apart or more."""
    if up < down:
        return -opening_flow(down, up, invert, height, width, cd)
    if up == down:
        return 0.0
    soffit = invert + height
    split = min(max(down, invert), soffit)
    strips = max(up - split, 0.0) ** 1.5 - max(up - soffit, 0.0) ** 1.5
    return cd * width * ROOT_2G * (strips / 1.5 + (split - invert) * math.sqrt(up - down))


def opening(invert: float, height: float, width: float, cd: float) -> Head:
    """The head that drives a flow through a rectangular opening."""

    def head(q: float, below: float) -> float:
        def miss(up: float) -> float:
            return opening_flow(up, below, invert, height, width, cd) - q

        return halve(miss, max(below, invert), max(below, invert) + 20.0)

    return head


def screen(width: float, floor: float, free_area: float) -> Head:
    """Thin perforated plate (Idelchik 8-1) on the approach velocity at the depth before it."""
    shut = 1.0 - free_area
    k = ((0.707 * math.sqrt(shut) + shut) / free_area) ** 2

    def head(q: float, below: float) -> float:
        def miss(up: float) -> float:
            return up - below - k * (q / (width * (up - floor))) ** 2 / (2.0 * G)

        return halve(miss, below, below + 5.0)

    return head


def channel(
    length: float, width: float, floor_up: float, floor_down: float, manning: float, k: float
) -> Head:
    """Rectangular channel from basin to basin: the depth followed by solve_ivp.

    dy/dx = (S0 - Sf) / (1 - Fr2) (Chow 1959, chapter 9). It is followed as dx/dy, which is
    regular at critical depth. `k` is the entrance loss on the velocity head.
    """
    slope = (floor_up - floor_down) / length

    def head(q: float, below: float) -> float:
        critical = (q * q / (G * width * width)) ** (1.0 / 3.0)
        end = max(below - floor_down, critical)

        def friction(y: float) -> float:
            radius = width * y / (width + 2.0 * y)
            return (manning * q / (width * y)) ** 2 / radius ** (4.0 / 3.0)

        def rate(_: float, state: Sequence[float]) -> list[float]:
            # Upstream along the channel, by the share that is done of the way in energy.
            y = state[0]
            return [(friction(y) - slope) / max(1.0 - (critical / y) ** 3, 1e-12)]

        def back(y: float, _: Sequence[float]) -> list[float]:
            return [(1.0 - (critical / y) ** 3) / (friction(y) - slope)]

        if end > 1.05 * critical:
            found = solve_ivp(rate, (0.0, length), [end], rtol=1e-10, atol=1e-12)
            y = float(found.y[0, -1])
        else:

            def arrived(_: float, state: Sequence[float]) -> float:
                return state[0] - length

            arrived.terminal = True  # type: ignore[attr-defined]
            found = solve_ivp(back, (end, end + 3.0), [0.0], rtol=1e-10, atol=1e-12, events=arrived)
            y = float(found.t_events[0][0])
        return floor_up + y + (1.0 + k) * (q / (width * y)) ** 2 / (2.0 * G)

    return head


def curve(points: Sequence[tuple[float, float]]) -> Callable[[float], float]:
    """Head that a lift adds: monotone cubic of Fritsch and Butland (1984) through its points."""
    steps = [b[0] - a[0] for a, b in pairwise(points)]
    secants = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(points)]
    slopes = [secants[0]]
    for i in range(1, len(secants)):
        s, t, h, j = secants[i - 1], secants[i], steps[i - 1], steps[i]
        flat = s * t <= 0.0
        slopes.append(0.0 if flat else 3.0 * (h + j) / ((2.0 * j + h) / s + (j + 2.0 * h) / t))
    slopes.append(secants[-1])

    def gain(q: float) -> float:
        if q >= points[-1][0]:
            return points[-1][1] + slopes[-1] * (q - points[-1][0])
        i = max(n for n, (x, _) in enumerate(points) if x <= q)
        d = steps[i]
        t = (q - points[i][0]) / d
        u = 1.0 - t
        # Hermite's four polynomials.
        return (
            points[i][1] * (1.0 + 2.0 * t) * u * u + points[i + 1][1] * (3.0 - 2.0 * t) * t * t
            + d * t * u * (u * slopes[i] - t * slopes[i + 1])
        )  # fmt: skip

    return gain
