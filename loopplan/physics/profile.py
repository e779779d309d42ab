"""Water surface along a prismatic channel: the upstream energy level, with its slopes.

Energy-form standard step (Chow, Open-Channel Hydraulics, 1959, section 10-4, from memory): from
station to station the energy level rises by the mean of the friction slopes at both ends times
the distance. Marched upstream from the downstream depth, which is held at critical where it would
be below (a free brink). No station goes below critical; where the bottom is so steep that the
step would need that, the depth stays critical, the slopes with the downstream depth are 0 from
there on, and the channel is flagged.

Stations crowd toward the downstream end, where the surface bends most: their distance grows first
with the square of the station number (which is how depth leaves critical), then as an exponential
(as the profile forgets its control). In station number the depth is then smooth, so that marches
on every station, every second and every fourth can be combined (Romberg) to far better than any.
All three are marched at once, and the same combination is applied to the slopes.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from loopplan.physics.channels import (
    FLOW_FLOOR,
    Roughness,
    critical_depth,
    critical_depth_slope,
    settled_depth,
)
from loopplan.physics.constants import GRAVITY
from loopplan.physics.sections import Array, Section

MOST_STEPS = 128
"""Largest number of steps that `steps_needed` goes to."""

_GRADING = 5.0
# How far the stations crowd: the first of eight steps is 1/380 of the length.

_WEIGHTS = (64.0 / 45.0, -20.0 / 45.0, 1.0 / 45.0)
# Romberg: cancels the errors in the square and the fourth power of the step.

_NEAR = 1e-5
# Newton stops when its next step is under this share of the depth; that step is then taken on the
# tangent, which leaves about the square of it.


_FILM_FLOW = 1e-6
# Friction fades out below a millilitre a second: no channel is laid out for a film that thin, and
# a channel at rest has to come out level.

Flags = npt.NDArray[np.bool_]


class ChannelState(NamedTuple):
    """Upstream end of a channel for given flow and downstream depth.

    `depth_up` [m]; `energy_up` [m above the datum of the floors]; `d_energy_dflow` [s/m2];
    `d_energy_ddepth_end` [-]; `critical_anywhere` (some station is held at critical, the
    downstream end included); `depths` [m], station by station from the downstream end, on the
    first axis.
    """

    depth_up: Array
    energy_up: Array
    d_energy_dflow: Array
    d_energy_ddepth_end: Array
    critical_anywhere: Flags
    depths: Array


class _Reach(NamedTuple):
    """What a march needs to know of its channels and their flow."""

    section: Section
    drive: Array
    flow: Array
    wall: Array
    exponent: Array
    fittings: Array
    friction_power: Array
    low: Array
    low_slope: Array
    low_energy: Array
    low_friction: Array


class _Slopes(NamedTuple):
    """Slopes of a station's energy and friction slope with flow and with downstream depth."""

    energy_by_flow: Array
    friction_by_flow: Array
    energy_by_end: Array
    friction_by_end: Array


class _Point(NamedTuple):
    """Station laws at a trial depth: energy, energy line slope, and their slopes with depth."""

    energy: Array
    friction: Array
    energy_rate: Array
    friction_rate: Array


def profile_grid(steps: int | Array) -> Array:
    """Return stations as shares of the length [-] from 0 (downstream) to 1, graded to the former.

    Args:
        steps: number of steps [-], a multiple of 4, at least 4; an array has a column of stations
            for each of its elements, those with fewer steps than others filled up with 1.

    Raises:
        ValueError: if the number of steps is no multiple of 4 or under 4.
    """
    if np.any(np.asarray(steps) < 4) or np.any(np.asarray(steps) % 4):
        raise ValueError("the number of steps must be a multiple of 4, at least 4")
    most = int(np.max(steps))
    if np.all(np.asarray(steps) == most):
        number = np.linspace(0.0, 1.0, most + 1)
    else:
        count = np.arange(most + 1.0).reshape(-1, *(1,) * np.ndim(steps))
        number = np.minimum(count / steps, 1.0)
    shares: Array = np.sinh(0.5 * _GRADING * number) ** 2 / np.sinh(0.5 * _GRADING) ** 2
    return shares


def _reach(running: Array, section: Section, roughness: Roughness, fittings: Array) -> _Reach:
    """Gather a march's constants, those of the critical depth among them."""
    low = critical_depth(running, section)
    low_slope = critical_depth_slope(running, low, section)
    drive = running * running / (2.0 * GRAVITY)
    share = running * running / (running * running + _FILM_FLOW**2)
    reach = _Reach(
        section=section,
        drive=drive,
        flow=running,
        wall=share * roughness.coefficient,
        exponent=roughness.exponent,
        fittings=share * fittings,
        friction_power=4.0 - 2.0 * share,
        low=low,
        low_slope=low_slope,
        low_energy=low,
        low_friction=low,
    )
    at_low = _laws(reach, low)
    return reach._replace(low_energy=at_low.energy, low_friction=at_low.friction)


def _half_steps(fractions: Array, length: Array, axes: int) -> Array:
    """Half the size of each step [m], by lane and number; 0 past a lane's last step."""
    steps = fractions.shape[0] - 1
    padding = (1,) * (axes - fractions.ndim + 1)
    stations = 0.5 * length * fractions.reshape(steps + 1, *padding, *fractions.shape[1:])
    halves = np.zeros((3, steps, *stations.shape[1:]))
    for lane, stride in enumerate((1, 2, 4)):
        halves[lane, : steps // stride] = np.diff(stations[::stride], axis=0)
    return halves


def _laws(reach: _Reach, depth: Array) -> _Point:
    """Evaluate specific energy and energy line slope at a depth, with slopes."""
    area, top, perimeter, perimeter_rate = reach.section.geometry(depth)
    head = reach.drive / (area * area)
    widen = top / area
    wall = reach.wall * (perimeter / area) ** reach.exponent
    friction = head * (wall + reach.fittings)
    shrink = reach.exponent * (perimeter_rate / perimeter - widen)
    return _Point(
        depth + head,
        friction,
        1.0 - 2.0 * head * widen,
        head * wall * shrink - 2.0 * friction * widen,
    )


def _slopes(
    reach: _Reach, depth: Array, point: _Point, depth_by_flow: Array, depth_by_end: Array
) -> _Slopes:
    """Turn slopes of the depth at a station into slopes of its energy and friction slope."""
    return _Slopes(
        point.energy_rate * depth_by_flow + 2.0 * (point.energy - depth) / reach.flow,
        point.friction_rate * depth_by_flow + reach.friction_power * point.friction / reach.flow,
        point.energy_rate * depth_by_end,
        point.friction_rate * depth_by_end,
    )


def _carry(
    reach: _Reach, depth: Array, point: _Point, before: _Slopes, half: Array, held: Flags
) -> _Slopes:
    """Slopes at the next station, by differentiating the settled step."""
    stiff = np.maximum(point.energy_rate - half * point.friction_rate, 1e-9)
    direct = 2.0 * (point.energy - depth) - half * reach.friction_power * point.friction
    by_flow = (before.energy_by_flow + half * before.friction_by_flow - direct / reach.flow) / stiff
    by_end = (before.energy_by_end + half * before.friction_by_end) / stiff
    by_flow = np.where(held, reach.low_slope, by_flow)
    by_end = np.where(held, 0.0, by_end)
    return _slopes(reach, depth, point, by_flow, by_end)


def _guess(trail: list[Array], depth: Array, point: _Point, half: Array, gain: Array) -> Array:
    """Guess the next depth: from the last four stations, else from energy as a parabola."""
    if len(trail) == 3:
        return 4.0 * (depth + trail[0 + 1]) - 6.0 * trail[2] - trail[0]
    if len(trail) == 2:
        return 3.0 * (depth - trail[1]) + trail[0]
    rate = np.maximum(point.energy_rate - half * point.friction_rate, 0.0)
    # Second slopes as for a wide channel under Manning: close enough for a guess.
    bend = (6.0 * (1.0 - point.energy_rate) - 29.0 * half * point.friction / depth) / depth
    root = np.sqrt(np.maximum(rate * rate + bend * gain, 0.0))
    return depth + 2.0 * gain / (rate + root + 1e-9)


def _settle(
    reach: _Reach, guess: Array, goal: Array, half: Array, roof: Array
) -> tuple[Array, _Point]:
    """Find depth so that energy less `half` step times friction slope meets `goal`.

    Newton between critical depth and a roof; from the fourth pass on it also keeps a bracket and
    halves it when a step leaves it. Elements that are near enough stand still, so that a result
    does not depend on what else is in the batch.
    """
    low = reach.low
    depth = np.minimum(np.maximum(guess, low), roof)
    for turn in range(60):
        point = _laws(reach, depth)
        miss = goal - point.energy + half * point.friction
        step = miss / np.maximum(point.energy_rate - half * point.friction_rate, 1e-9)
        moving = np.abs(step) > _NEAR * depth
        if not moving.any():
            break
        trial = depth + step
        if turn < 3:
            trial = np.minimum(np.maximum(trial, low), roof)
        else:
            low = np.where(miss > 0.0, depth, low)
            roof = np.where(miss < 0.0, depth, roof)
            trial = np.where((trial < low) | (trial > roof), 0.5 * (low + roof), trial)
        depth = np.where(moving, trial, depth)
    energy, friction, energy_rate, friction_rate = point
    return depth + step, _Point(
        energy + energy_rate * step, friction + friction_rate * step, energy_rate, friction_rate
    )


def channel_upstream(
    flow: Array,
    depth_end: Array,
    section: Section,
    length: Array,
    floor_up: Array,
    floor_down: Array,
    roughness: Roughness,
    local_k: Array,
    fractions: Array,
) -> ChannelState:
    """Return the upstream end of channels for given flow and downstream depth.

    Args:
        flow: flow [m3/s], 0 and up (the caller mirrors a channel that runs backward).
        depth_end: downstream level less `floor_down` [m]; held at critical where lower.
        section: the cross-sections, uniform along each channel.
        length: length [m], above 0.
        floor_up: level of the upstream floor [m].
        floor_down: level of the downstream floor [m].
        roughness: the wall roughness.
        local_k: sum of the coefficients of bends and the like on the velocity head [-], spread
            evenly over the length.
        fractions: stations as shares of the length [-], from `profile_grid`, on the first axis;
            further axes broadcast.

    Returns:
        the upstream end; see `ChannelState`. A flow of 0 gives a level surface. Slopes are those
        of the marched steps themselves; they jump only where a station begins to be held.
    """
    steps = fractions.shape[0] - 1
    shape = np.broadcast_shapes(
        np.shape(flow), np.shape(depth_end), section.width.shape, np.shape(length)
    )
    flow = np.asarray(flow, dtype=float)
    # Rounded off at a millionth of a litre a second, so that no slope is infinite at rest.
    running = np.sqrt(flow * flow + FLOW_FLOOR**2)
    reach = _reach(running, section, roughness, local_k / length)
    fall = (floor_up - floor_down) / length
    halves = _half_steps(fractions, length, len(shape))

    # Lanes on the first axis: every station, every second, every fourth.
    lanes = (3, *shape)
    held = np.broadcast_to(depth_end <= reach.low, lanes)
    depth = np.where(held, reach.low, depth_end)
    point = _laws(reach, depth)
    free = np.where(held, 0.0, 1.0)
    slopes = _slopes(reach, depth, point, (1.0 - free) * reach.low_slope, free)
    trail: list[Array] = []
    depths = np.empty((steps + 1, *shape))
    depths[0] = depth[0]
    ever = held[0]
    ends: list[tuple[Array, Array, Array]] = []
    for number in range(1, steps + 1):
        lanes_left = 3 if 4 * number <= steps else 2 if 2 * number <= steps else 1
        if lanes_left < depth.shape[0]:
            ends.insert(0, (point.energy[-1], slopes.energy_by_flow[-1], slopes.energy_by_end[-1]))
            depth = depth[:lanes_left]
            point = _Point(*(part[:lanes_left] for part in point))
            slopes = _Slopes(*(part[:lanes_left] for part in slopes))
            trail = [part[:lanes_left] for part in trail]
        half = halves[:lanes_left, number - 1]
        lowest = reach.low_energy - half * reach.low_friction
        goal = point.energy + half * point.friction - 2.0 * half * fall
        held = goal <= lowest
        goal = np.maximum(goal, lowest)
        guess = _guess(trail, depth, point, half, goal + half * point.friction - point.energy)
        guess = np.where(held, reach.low, guess)
        trail = [*trail[-2:], depth]
        before = depth, *point, *slopes
        depth, point = _settle(reach, guess, goal, half, goal + half * reach.low_friction)
        slopes = _carry(reach, depth, point, slopes, half, held)
        if fractions.ndim > 1:
            # Those that have arrived stand still.
            there = half == 0.0
            now = (depth, *point, *slopes)
            depth, *kept = (np.where(there, a, b) for a, b in zip(before, now, strict=True))
            point, slopes = _Point(*kept[:4]), _Slopes(*kept[4:])
            held = held & ~there
        depths[number] = depth[0]
        ever = ever | held[0]
    ends.insert(0, (point.energy[0], slopes.energy_by_flow[0], slopes.energy_by_end[0]))

    energy, by_flow, by_end = (
        sum(weight * end[part] for weight, end in zip(_WEIGHTS, ends, strict=True))
        for part in range(3)
    )
    stuck = energy <= reach.low_energy
    energy = np.maximum(energy, reach.low_energy)
    critical_by_flow = 2.0 * (reach.low_energy - reach.low) / running
    return ChannelState(
        settled_depth(energy, reach.drive, section, reach.low, depths[-1]),
        floor_up + energy,
        np.where(stuck, critical_by_flow, by_flow) * (flow / running),
        # Deeper water below never lowers the level above; a coarse march may ring about 0.
        np.where(stuck, 0.0, np.maximum(by_end, 0.0)),
        ever | stuck,
        depths,
    )


def steps_needed(
    flow: Array,
    depth_end: Array,
    section: Section,
    length: Array,
    floor_up: Array,
    floor_down: Array,
    roughness: Roughness,
    local_k: Array,
    tolerance: float = 1e-4,
) -> tuple[npt.NDArray[np.int_], Array]:
    """Return how many steps bring each channel within a tolerance, by the halving check.

    The number is doubled until twice as many steps change the upstream energy level by no more
    than the tolerance. Pass flows and depths that span what the channels will meet.

    Args:
        flow: flow [m3/s], 0 and up.
        depth_end: downstream level less `floor_down` [m].
        section: the cross-sections.
        length: length [m], above 0.
        floor_up: level of the upstream floor [m].
        floor_down: level of the downstream floor [m].
        roughness: the wall roughness.
        local_k: sum of local coefficients on the velocity head [-].
        tolerance: largest change that is let pass [m].

    Returns:
        number of steps [-] of each channel, from 4 to `MOST_STEPS`, and its last change [m]; a
        change above the tolerance says that `MOST_STEPS` was not enough.
    """

    def level(steps: int) -> Array:
        return channel_upstream(
            flow,
            depth_end,
            section,
            length,
            floor_up,
            floor_down,
            roughness,
            local_k,
            profile_grid(steps),
        ).energy_up

    number, coarse = 4, level(4)
    steps = np.full(coarse.shape, MOST_STEPS)
    change = np.full(coarse.shape, np.inf)
    while number < MOST_STEPS and (change > tolerance).any():
        fine = level(2 * number)
        open_ = change > tolerance
        change = np.where(open_, np.abs(fine - coarse), change)
        steps = np.where(open_ & (change <= tolerance), number, steps)
        number, coarse = 2 * number, fine
    return steps, change
