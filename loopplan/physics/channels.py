"""Steady open-channel flow at one section: critical and normal depth, energy, friction, jump.

All functions take SI floats or arrays, broadcast, and never return NaN for flow of either sign
and depth above 0. The energy correction factor is 1, the pressure hydrostatic, the bottom nearly
flat. Flows under `FLOW_FLOOR` count as that flow where a depth would else shrink to 0. Textbook
relations throughout: Chow, Open-Channel Hydraulics, 1959, chapters 3 to 6 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from loopplan.physics.constants import GRAVITY
from loopplan.physics.sections import CLOSED_FRACTION, SLOT_FRACTION, Array, Section

MANNING = 0
"""Roughness kind: the value is Manning's n [s/m^(1/3)]."""

CHEZY = 1
"""Roughness kind: the value is Chezy's C [m^(1/2)/s]."""

FLOW_FLOOR = 1e-9
"""Flow [m3/s] under which critical depth stops shrinking: a millionth of a litre a second."""

BRINK_RATIO = 0.715
"""Depth right at a free overfall over critical depth [-], horizontal rectangular channel with an
aired jet (Rouse 1936, from memory). Critical depth itself stands 3 to 4 depths upstream."""

_ROUND_PEAK = 0.9
# Depth over diameter up to which the conveyance of a circle rises under either law. It peaks near
# 0.94 (Manning) and 0.95 (Chezy); fuller than that no normal depth is stable.

Residual = Callable[[Array], tuple[Array, Array]]


@dataclass(frozen=True, eq=False)
class Roughness:
    """Wall roughness of an array of channels.

    Args:
        kind: `MANNING` or `CHEZY`, one integer or an array of them.
        value: Manning's n [s/m^(1/3)] or Chezy's C [m^(1/2)/s], above 0.

    Raises:
        ValueError: if a value is not above 0 or a kind is unknown.
    """

    kind: npt.NDArray[np.int_] | int
    value: Array | float
    coefficient: Array = field(init=False)
    exponent: Array = field(init=False)

    def __post_init__(self) -> None:
        """Write both laws as friction slope = coefficient * velocity head / radius^exponent."""
        kind, value = np.asarray(self.kind), np.asarray(self.value, dtype=float)
        if not np.all((kind == MANNING) | (kind == CHEZY)):
            raise ValueError("the roughness kind must be MANNING or CHEZY")
        if not np.all(np.isfinite(value) & (value > 0.0)):
            raise ValueError("the roughness value must be finite and above 0")
        manning = kind == MANNING
        object.__setattr__(
            self, "coefficient", 2.0 * GRAVITY * np.where(manning, value, 1.0 / value) ** 2
        )
        object.__setattr__(self, "exponent", np.where(manning, 4.0 / 3.0, 1.0))


class DepthState(NamedTuple):
    """Depth found from energy, with its slopes.

    `depth` [m], `d_depth_denergy` [m/m], `d_depth_dflow` [s/m2], `is_critical` (held at critical
    because the energy is too low for the flow).
    """

    depth: Array
    d_depth_denergy: Array
    d_depth_dflow: Array
    is_critical: npt.NDArray[np.bool_]


def _root(residual: Residual, low: Array, high: Array, start: Array) -> Array:
    """Root of an increasing function of a positive unknown, by Newton in its logarithm.

    `residual` returns value and slope. The root stays between `low` and `high`; a step that
    leaves them is replaced by halving. Depth laws are nearly straight in the logarithm.
    """
    floor, roof = np.log(low), np.log(high)
    point = np.minimum(np.maximum(np.log(start), floor), roof)
    for _ in range(80):
        depth = np.exp(point)
        value, slope = residual(depth)
        floor = np.where(value < 0.0, point, floor)
        roof = np.where(value > 0.0, point, roof)
        step = -value / np.maximum(slope * depth, 1e-300)
        trial = point + step
        trial = np.where((trial < floor) | (trial > roof), 0.5 * (floor + roof), trial)
        if np.all(np.abs(trial - point) < 1e-13):
            break
        point = trial
    result: Array = np.exp(trial)
    return result


def _running(flow: Array) -> Array:
    """Size of the flow [m3/s], not under the flow floor."""
    return np.maximum(np.abs(flow), FLOW_FLOOR)


def critical_depth(flow: Array, section: Section) -> Array:
    """Return critical depth [m]: the depth of least specific energy for the flow.

    Closed form for rectangles, safeguarded Newton to machine accuracy otherwise.

    Args:
        flow: flow [m3/s], either sign; under `FLOW_FLOOR` it counts as that.
        section: the cross-sections.
    """
    drive = np.asarray(_running(flow) ** 2 / GRAVITY)
    if section.rectangular:
        return np.cbrt(drive / section.width**2)
    # A trapezoid's critical depth is below that of its rectangle and of its V part alone, and
    # above half the lower of the two.
    tiny = 1e-150
    box = np.cbrt(drive / np.maximum(section.width, tiny) ** 2)
    vee = (2.0 * drive / np.maximum(section.side_slope, tiny) ** 2) ** 0.2
    high = np.minimum(box, vee) * (1.0 + 1e-9)
    low, start = 0.4 * high, 0.9 * high
    if section.circular is not None:
        bore = np.where(section.circular, section.diameter, 1.0)
        # Chord estimate for circles, good to a few per cent below 0.85 full; only a start.
        guess = 1.01 * drive**0.25 / bore**0.26
        slot = np.cbrt(drive * SLOT_FRACTION * bore) / bore**2
        roof = bore * (CLOSED_FRACTION + np.maximum(slot - 0.78, 0.0) / SLOT_FRACTION)
        low = np.where(section.circular, 1e-9 * bore, low)
        high = np.where(section.circular, 1.01 * roof, high)
        start = np.where(section.circular, np.minimum(guess, 0.95 * bore), start)
    target = np.log(drive)

    def residual(depth: Array) -> tuple[Array, Array]:
        here = section.geometry(depth)
        value = 3.0 * np.log(here.area) - np.log(here.top_width) - target
        rate = section.top_width_rate(depth) / here.top_width
        return value, 3.0 * here.top_width / here.area - rate

    return _root(residual, low, high, start)


def critical_depth_slope(flow: Array, depth: Array, section: Section) -> Array:
    """Return the slope of critical depth with flow [s/m2], at the critical `depth` of the flow.

    Args:
        flow: flow [m3/s], 0 and up; under `FLOW_FLOOR` it counts as that.
        depth: critical depth of that flow [m], from `critical_depth`.
        section: the cross-sections.
    """
    here = section.geometry(depth)
    stretch = 3.0 * here.top_width / here.area - section.top_width_rate(depth) / here.top_width
    return 2.0 / (_running(flow) * stretch)


def specific_energy(flow: Array, depth: Array, section: Section) -> Array:
    """Return depth plus velocity head [m].

    Args:
        flow: flow [m3/s], either sign.
        depth: depth [m], above 0.
        section: the cross-sections.
    """
    return depth + (flow / section.area(depth)) ** 2 / (2.0 * GRAVITY)


def froude(flow: Array, depth: Array, section: Section) -> Array:
    """Return the Froude number [-] on the hydraulic depth (area over top width).

    Args:
        flow: flow [m3/s], either sign.
        depth: depth [m], above 0.
        section: the cross-sections.
    """
    here = section.geometry(depth)
    return np.abs(flow) * np.sqrt(here.top_width / (GRAVITY * here.area)) / here.area


def friction_slope(flow: Array, depth: Array, section: Section, roughness: Roughness) -> Array:
    """Return the fall of the energy line per unit of length [m/m]; its sign is the flow's.

    Manning: n^2 V^2 / R^(4/3). Chezy: V^2 / (C^2 R).

    Args:
        flow: flow [m3/s], either sign.
        depth: depth [m], above 0.
        section: the cross-sections.
        roughness: the wall roughness.
    """
    here = section.geometry(depth)
    velocity = flow / here.area
    thin = (here.perimeter / here.area) ** roughness.exponent
    return roughness.coefficient * velocity * np.abs(velocity) / (2.0 * GRAVITY) * thin


def normal_depth(flow: Array, section: Section, slope: Array, roughness: Roughness) -> Array:
    """Return normal depth [m]: the depth at which friction slope equals bottom slope.

    Infinite where the bottom is level or rises, and where a circle would have to run fuller than
    0.9 of its diameter (there it runs full or pulses between two depths).

    Args:
        flow: flow [m3/s], either sign; under `FLOW_FLOOR` it counts as that.
        section: the cross-sections.
        slope: fall of the bottom along the flow [m/m].
        roughness: the wall roughness.
    """
    running = _running(flow)
    falls = np.asarray(slope > 0.0)
    target = np.log(np.where(falls, slope, 1.0))

    def residual(depth: Array) -> tuple[Array, Array]:
        here = section.geometry(depth)
        velocity_head = (running / here.area) ** 2 / (2.0 * GRAVITY)
        thin = here.perimeter / here.area
        power = roughness.exponent
        value = target - np.log(roughness.coefficient * velocity_head * thin**power)
        widen = here.top_width / here.area
        return value, (2.0 + power) * widen - power * here.perimeter_rate / here.perimeter

    near = critical_depth(running, section)
    low, high = 1e-4 * near, 1e6 * np.maximum(near, 1.0)
    if section.circular is not None:
        high = np.where(section.circular, _ROUND_PEAK * section.diameter, high)
        low = np.minimum(low, 0.5 * high)
    fits = falls & (residual(high)[0] >= 0.0)
    return np.where(fits, _root(residual, low, high, near), np.inf)


def depth_from_energy(
    energy: Array, flow: Array, section: Section, critical: Array | None = None
) -> DepthState:
    """Return the subcritical depth that has a specific energy, held at critical below that.

    The slope with energy runs to infinity toward critical; it is capped at a million there, and
    is 0 where the depth is held.

    Args:
        energy: depth plus velocity head [m].
        flow: flow [m3/s], 0 and up.
        section: the cross-sections.
        critical: critical depth of that flow [m], if it is known already.
    """
    running = _running(flow)
    low = critical_depth(running, section) if critical is None else critical
    drive = running**2 / (2.0 * GRAVITY)
    least = low + drive / section.area(low) ** 2
    spare = energy - least
    is_critical = np.asarray(spare <= 0.0)
    goal = np.maximum(energy, least)
    # Near critical the energy is a parabola in depth, far from it a line.
    start = low + np.sqrt(np.maximum(spare, 0.0) * low / 1.5)
    depth = settled_depth(goal, drive, section, low, start)
    here = section.geometry(depth)
    head = drive / here.area**2
    rise = np.maximum(1.0 - 2.0 * head * here.top_width / here.area, 1e-6)
    held = critical_depth_slope(running, low, section)
    return DepthState(
        np.where(is_critical, low, depth),
        np.where(is_critical, 0.0, 1.0 / rise),
        np.where(is_critical, held, -2.0 * head / running / rise),
        is_critical,
    )


def settled_depth(
    energy: Array, drive: Array, section: Section, critical: Array, start: Array
) -> Array:
    """Return the subcritical depth [m] of a specific energy from a starting depth, by Newton.

    Args:
        energy: depth plus velocity head [m], not under that of critical depth.
        drive: flow squared over twice gravity [m5]; over area squared it is velocity head.
        section: the cross-sections.
        critical: critical depth [m].
        start: depth to start from [m].
    """
    depth = np.minimum(np.maximum(start, critical), energy)
    for _ in range(60):
        area, top, _, _ = section.geometry(depth)
        head = drive / (area * area)
        rise = np.maximum(1.0 - 2.0 * head * top / area, 1e-6)
        trial = depth + (energy - depth - head) / rise
        trial = np.minimum(np.maximum(trial, critical), energy)
        done = not (np.abs(trial - depth) > 1e-12 * energy).any()
        depth = trial
        if done:
            break
    return depth


def brink_control(
    flow: Array, tail_depth: Array, section: Section
) -> tuple[Array, Array, Array, npt.NDArray[np.bool_]]:
    """Return the depth that controls the end of a channel that falls into another water.

    Critical depth where the tail water is lower than that, else the tail water.

    Args:
        flow: flow [m3/s], 0 and up.
        tail_depth: level of the water below, less the channel's end floor [m]; may be negative.
        section: the cross-sections.

    Returns:
        depth [m], its slope with tail depth [-], its slope with flow [s/m2], and whether the
        fall is free (the tail water has no say).
    """
    critical = critical_depth(flow, section)
    is_free = np.asarray(tail_depth < critical)
    slope = critical_depth_slope(flow, critical, section)
    free = np.where(is_free, 1.0, 0.0)
    return np.maximum(tail_depth, critical), 1.0 - free, free * slope, is_free


def alternate_depth(flow: Array, depth: Array, section: Section) -> Array:
    """Return the other depth [m] that has the same specific energy.

    Args:
        flow: flow [m3/s], not 0.
        depth: depth [m], above 0, on either side of critical.
        section: the cross-sections.
    """
    running = _running(flow)
    energy = specific_energy(running, depth, section)

    def residual(trial: Array) -> tuple[Array, Array]:
        here = section.geometry(trial)
        head = (running / here.area) ** 2 / (2.0 * GRAVITY)
        return trial + head - energy, 1.0 - 2.0 * head * here.top_width / here.area

    return _other_branch(residual, depth, critical_depth(running, section), energy)


def conjugate_depth(flow: Array, depth: Array, section: Section) -> Array:
    """Return the depth [m] across a hydraulic jump: the other one with the same momentum.

    The channel is level across the jump and has no wall friction over its length.

    Args:
        flow: flow [m3/s], not 0.
        depth: depth [m], above 0, on either side of critical.
        section: the cross-sections.
    """
    running = _running(flow)
    flux = running**2 / GRAVITY
    thrust = flux / section.area(depth) + section.first_moment(depth)

    def residual(trial: Array) -> tuple[Array, Array]:
        here = section.geometry(trial)
        value = flux / here.area + section.first_moment(trial) - thrust
        return value, here.area - flux * here.top_width / here.area**2

    critical = critical_depth(running, section)
    roof = 2.0 * np.maximum(critical, depth)
    for _ in range(60):
        short = residual(roof)[0] < 0.0
        if not np.any(short):
            break
        roof = np.where(short, 2.0 * roof, roof)
    return _other_branch(residual, depth, critical, roof)


def _other_branch(residual: Residual, depth: Array, critical: Array, roof: Array) -> Array:
    """Zero of a U-shaped law on the far side of critical from the depth where it is also zero."""
    deep = np.asarray(depth > critical)
    sign = np.where(deep, -1.0, 1.0)

    def turned(trial: Array) -> tuple[Array, Array]:
        value, slope = residual(trial)
        return sign * value, sign * slope

    low = np.where(deep, 1e-6 * critical, critical)
    high = np.where(deep, critical, np.maximum(roof, critical))
    return _root(turned, low, high, critical**2 / depth)
