"""One channel's upstream energy level computed a second way, to check the solver's.

Shares no code with `profile`: plain floats, section formulas of its own, and the differential
equation of gradually varied flow (Chow, Open-Channel Hydraulics, 1959, section 9-1, from memory)

    dy/ds = (Sf - S0) / (1 - Fr^2),   s upstream from the downstream end,

instead of energy steps. It is followed along its curve in the plane of distance and depth, so
that neither critical depth (where the curve stands upright) nor normal depth (where it lies flat)
is special, with the adaptive pair of Runge-Kutta formulas of orders 5 and 4 of Cash and Karp
1990 (from memory; the test compares with an independent integrator).
"""

from __future__ import annotations

import math
from collections.abc import Callable

from loopplan.physics.constants import GRAVITY

_FULL = 0.95
_SLOT = 0.001
_TOLERANCE = 2e-6
_MOST_STEPS = 4000
_NEAR = 5e-6
_FILM = 1e-6  # flow [m3/s] under which friction fades out, as in the march

# Shape = area [m2], top width [m], wetted perimeter [m] at a depth.
_Shape = Callable[[float], tuple[float, float, float]]
_Rates = Callable[[float], tuple[float, float]]

_CASH_KARP = (
    (1 / 5,),
    (3 / 40, 9 / 40),
    (3 / 10, -9 / 10, 6 / 5),
    (-11 / 54, 5 / 2, -70 / 27, 35 / 27),
    (1631 / 55296, 175 / 512, 575 / 13824, 44275 / 110592, 253 / 4096),
)
_FIFTH = (37 / 378, 0.0, 250 / 621, 125 / 594, 0.0, 512 / 1771)
_FOURTH = (2825 / 27648, 0.0, 18575 / 48384, 13525 / 55296, 277 / 14336, 1 / 4)
_GAP = tuple(a - b for a, b in zip(_FIFTH, _FOURTH, strict=True))


def scalar_upstream(
    flow: float,
    depth_end: float,
    width: float,
    side_slope: float,
    diameter: float,
    length: float,
    floor_up: float,
    floor_down: float,
    manning: float,
    chezy: float,
    local_k: float,
) -> float:
    """Return the upstream energy level of one channel [m above the datum of the floors].

    Depth is critical at a free brink, and from where a steep reach comes down to critical.

    Args:
        flow: flow [m3/s], 0 and up.
        depth_end: downstream level less `floor_down` [m].
        width: bottom width [m].
        side_slope: run of the sides per unit of rise [-].
        diameter: diameter of a circle [m]; 0 for a trapezoid.
        length: length [m], above 0.
        floor_up: level of the upstream floor [m].
        floor_down: level of the downstream floor [m].
        manning: Manning's n [s/m^(1/3)]; 0 if Chezy's C is given.
        chezy: Chezy's C [m^(1/2)/s]; 0 if Manning's n is given.
        local_k: local coefficients on the velocity head, spread over the length [-].

    Raises:
        ArithmeticError: if the curve cannot be followed to the end.
    """
    shape = _circle(diameter) if diameter > 0.0 else _trapezoid(width, side_slope)
    if flow <= 1e-9:
        return max(floor_up, floor_down + depth_end)
    fall = (floor_up - floor_down) / length
    critical = _critical(flow, shape)
    start = max(depth_end, critical)

    def rates(depth: float) -> tuple[float, float]:
        """Direction of the curve: distance (share of length) and depth (share of start)."""
        area, top, wetted = shape(depth)
        head = (flow / area) ** 2 / (2.0 * GRAVITY)
        lost = head / (1.0 + (_FILM / flow) ** 2)
        radius = area / wetted
        if manning > 0.0:
            wall = 2.0 * GRAVITY * manning**2 / radius ** (4.0 / 3.0)
        else:
            wall = 2.0 * GRAVITY / (chezy**2 * radius)
        along = (1.0 - 2.0 * head * top / area) / length
        rise = (lost * (wall + local_k / length) - fall) / start
        norm = math.hypot(along, rise)
        return (along / norm, rise / norm) if norm > 0.0 else (0.0, 0.0)

    # A start at critical on a bottom too steep for it: critical all the way up.
    held = depth_end <= critical and rates(critical)[1] <= 0.0
    depth = critical if held else max(_follow(rates, start, critical), critical)
    area, _, _ = shape(depth)
    return floor_up + depth + (flow / area) ** 2 / (2.0 * GRAVITY)


def _follow(rates: _Rates, start: float, critical: float) -> float:
    """Depth where the curve has come the whole length, or critical where it turns back."""
    along, share, step = 0.0, 1.0, 0.02
    last = critical / start
    for _ in range(_MOST_STEPS):
        d_along, d_share, error = _leap(rates, share, start, step)
        if error > _TOLERANCE:
            step *= max(0.1, 0.9 * (_TOLERANCE / error) ** 0.25)
            if step < 1e-12:
                break
            continue
        if share + d_share <= last or d_along < 0.0:
            return _touch(rates, along, share, start, last, step)
        if along + d_along >= 1.0:
            return start * _land(rates, along, share, start, step)
        along, share = along + d_along, share + d_share
        # Drawn to normal depth and there but for a hair: nothing more comes, however long.
        run, rise = rates(share * start)
        run_off, rise_off = rates(1.0001 * share * start)
        pull = (rise_off / run_off - rise / run) / (1e-4 * share) if run > 0.0 < run_off else 0.0
        if abs(rise) < -pull * _NEAR * run:
            return share * start
        step *= min(4.0, 0.9 * (_TOLERANCE / max(error, 1e-16)) ** 0.2)
    raise ArithmeticError("the channel's water surface could not be followed to its upper end")


def _leap(rates: _Rates, share: float, start: float, step: float) -> tuple[float, float, float]:
    """One step along the curve: advance in distance, in depth, and the estimated error."""
    slopes = [rates(share * start)]
    for row in _CASH_KARP:
        trial = share + step * sum(c * s[1] for c, s in zip(row, slopes, strict=True))
        slopes.append(rates(max(trial, 1e-6 * share) * start))
    d_along = step * sum(c * s[0] for c, s in zip(_FIFTH, slopes, strict=True))
    d_share = step * sum(c * s[1] for c, s in zip(_FIFTH, slopes, strict=True))
    gap_along = step * sum(c * s[0] for c, s in zip(_GAP, slopes, strict=True))
    gap_share = step * sum(c * s[1] for c, s in zip(_GAP, slopes, strict=True))
    return d_along, d_share, math.hypot(gap_along, gap_share)


def _land(rates: _Rates, along: float, share: float, start: float, step: float) -> float:
    """Depth share where distance is just the whole length, within the last step.

    False position with the Illinois rule: the end that stays twice counts half.
    """
    low, high = 0.0, step
    d_along, d_share, _ = _leap(rates, share, start, high)
    short, over = along - 1.0, along + d_along - 1.0
    side = 0
    for _ in range(60):
        if abs(over) < 1e-10 or high - low < 1e-15 * step:
            break
        middle = low + (high - low) * short / (short - over)
        if not low < middle < high:
            middle = 0.5 * (low + high)
        d_along, d_share, _ = _leap(rates, share, start, middle)
        miss = along + d_along - 1.0
        if abs(miss) < 1e-10:
            break
        if miss < 0.0:
            low, short, over = middle, miss, 0.5 * over if side < 0 else over
            side = -1
        else:
            high, over, short = middle, miss, 0.5 * short if side > 0 else short
            side = 1
    return share + d_share


def _touch(
    rates: _Rates, along: float, share: float, start: float, last: float, step: float
) -> float:
    """Depth when a step comes down to critical: the upper end may still be reached before."""
    low, high = 0.0, step
    for _ in range(40):
        middle = 0.5 * (low + high)
        d_along, d_share, _ = _leap(rates, share, start, middle)
        if share + d_share <= last:
            high = middle
        elif along + d_along >= 1.0:
            return start * _land(rates, along, share, start, middle)
        else:
            low = middle
    return start * last


def _critical(flow: float, shape: _Shape) -> float:
    """Critical depth [m] by halving on flow^2 * top width = gravity * area^3."""

    def excess(depth: float) -> float:
        area, top, _ = shape(depth)
        return GRAVITY * area**3 - flow * flow * top

    low, high = 0.0, 1e-3
    while excess(high) < 0.0:
        low, high = high, 2.0 * high
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if excess(middle) < 0.0 else (low, middle)
        if high - low < 1e-13 * high:
            break
    return high


def _trapezoid(width: float, side_slope: float) -> _Shape:
    """Area, top width and wetted perimeter of a trapezoid at a depth."""
    slant = math.hypot(1.0, side_slope)

    def shape(depth: float) -> tuple[float, float, float]:
        top = width + 2.0 * side_slope * depth
        return 0.5 * (width + top) * depth, top, width + 2.0 * slant * depth

    return shape


def _circle(diameter: float) -> _Shape:
    """The same of a circle; its top narrows into a slot as described in `sections`."""

    def part(share: float) -> tuple[float, float, float]:
        angle = math.acos(1.0 - 2.0 * share)
        chord = math.sin(angle)
        return (angle - chord * math.cos(angle)) / 4.0, chord, angle

    area_0, top_0, wet_0 = part(_FULL)
    top_rate, wet_rate = 2.0 * (1.0 - 2.0 * _FULL) / top_0, 2.0 / top_0
    lacking = math.pi / 4.0 - area_0
    reach = lacking / top_0
    # Height of the narrowing: the cubic must hold just what is lacking to the full circle.
    for _ in range(60):
        reach = (lacking - top_rate * reach**2 / 12.0) / (0.5 * (top_0 + _SLOT))

    def shape(depth: float) -> tuple[float, float, float]:
        share = depth / diameter
        if share <= _FULL:
            area, top, wet = part(share)
        elif share < _FULL + reach:
            t = (share - _FULL) / reach
            # Hermite cubic in t: start value, start slope, end value, level at the end.
            h00, h10, h01 = (1 + 2 * t) * (1 - t) ** 2, t * (1 - t) ** 2, t * t * (3 - 2 * t)
            top = h00 * top_0 + h10 * reach * top_rate + h01 * _SLOT
            wet = h00 * wet_0 + h10 * reach * wet_rate + h01 * math.pi
            i00, i01 = t - t**3 + t**4 / 2, t**3 - t**4 / 2
            i10 = t * t / 2 - 2 * t**3 / 3 + t**4 / 4
            area = area_0 + reach * (i00 * top_0 + i10 * reach * top_rate + i01 * _SLOT)
        else:
            area = math.pi / 4.0 + _SLOT * (share - _FULL - reach)
            top, wet = _SLOT, math.pi
        return area * diameter**2, top * diameter, wet * diameter

    return shape
