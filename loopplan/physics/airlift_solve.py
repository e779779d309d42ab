"""An airlift solved each way: air for a water flow, water for an air flow, lift at stall.

Every search is by bracketing, over whole batches, and ends in a number: where no answer exists
the result says so beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from loopplan.physics._check import Array, Flags, Numbers
from loopplan.physics._roots import bracketed_root, highest
from loopplan.physics.airlift_column import Riser, Site, balance
from loopplan.physics.constants import GRAVITY
from loopplan.physics.two_phase import Closure

LEAST_GAS = 1e-4
"""Superficial gas velocity at the surface [m/s] from which air flows are searched."""

_SEARCH = 40
"""Points of a search over air flows."""


@dataclass(frozen=True)
class AirNeed:
    """Air that a water flow at a lift takes.

    Attributes:
        dry_air: least dry air [kg/s]; where it is not possible, the air at which it comes nearest.
        possible: whether any air flow does it.
        short: height [m] that the column stays under the lip at best; 0 where possible.
    """

    dry_air: Array
    possible: Flags
    short: Array


@dataclass(frozen=True)
class WaterMoved:
    """Water that an air flow moves at a lift.

    Attributes:
        flow: water flow [m3/s], 0 where the air does not reach the lip.
        moves: whether water moves.
    """

    flow: Array
    moves: Flags


@dataclass(frozen=True)
class Peak:
    """The most water that an airlift can move at a lift.

    Attributes:
        dry_air: dry air there [kg/s].
        flow: water flow there [m3/s].
        inside: whether more air than that brings less water. False: flow still rises at the
            largest gas velocity that is searched.
    """

    dry_air: Array
    flow: Array
    inside: Flags


@dataclass(frozen=True)
class OperatingCurve:
    """Water by air at one lift.

    Attributes:
        dry_air: dry air [kg/s], rising, on a first axis; ends past the peak.
        flow: water flow [m3/s]; 0 where the air does not reach the lip.
        peak: the most water.
    """

    dry_air: Array
    flow: Array
    peak: Peak


def _air_per_velocity(riser: Riser, site: Site) -> Array:
    """Dry air [kg/s] per superficial gas velocity [m/s] at the surface."""
    one = site.gas_flow(1.0, np.asarray(site.atmosphere))
    return np.asarray(np.asarray(riser.units) * riser.area / one)


def _velocities(riser: Riser, shape: tuple[int, ...]) -> Array:
    """Logarithms of the gas velocities to search, each on a row over the batch."""
    steps = np.linspace(np.log(LEAST_GAS), np.log(riser.most_gas), _SEARCH)
    return np.broadcast_to(steps.reshape((-1,) + (1,) * len(shape)), (_SEARCH, *shape))


def _row(rows: Array, index: npt.NDArray[np.intp]) -> Array:
    """Take from each column the row that `index` names."""
    return np.asarray(np.take_along_axis(rows, index[None], axis=0)[0])


def least_air(riser: Riser, site: Site, flow: Numbers, lift: Numbers, closure: Closure) -> AirNeed:
    """Least air that moves a water flow up a lift.

    Where two air flows move the same water (left and right of the peak) this is the smaller.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        flow: water flow [m3/s], 0 and up.
        lift: outlet level less inlet level [m].
        closure: drift flux of the gas.

    Returns:
        The air, and whether any air flow does it.

    Source: `zuber-findlay-1965`; search after `chandrupatla-1997`.
    """
    per = _air_per_velocity(riser, site)

    def margin(log_gas: Array) -> Array:
        return balance(riser, site, flow, per * np.exp(log_gas), lift, closure).margin

    still = balance(riser, site, flow, 0.0, lift, closure).margin
    rows = _velocities(riser, still.shape)
    values = margin(rows)
    enough = values >= 0.0
    found = enough.any(axis=0)
    first = np.where(found, enough.argmax(axis=0), values.argmax(axis=0))
    left, right = _row(rows, np.maximum(first - 1, 0)), _row(rows, first)
    if not found.all():
        # The hump between the points of the search.
        beyond = _row(rows, np.minimum(first + 1, _SEARCH - 1))
        top = highest(margin, left, beyond, 30)
        ended = first == _SEARCH - 1
        right = np.where(found, right, np.where(ended, right, top))
    best = margin(right)
    possible = best >= 0.0
    # Already enough at the least gas: the answer is next to none.
    low = np.where(margin(left) >= 0.0, right, left)
    root = np.where(possible, bracketed_root(margin, low, right), right)
    dry_air = np.where(still >= 0.0, 0.0, per * np.exp(root))
    possible = possible | (still >= 0.0)
    return AirNeed(dry_air, possible, np.where(possible, 0.0, -best))


def water_moved(
    riser: Riser, site: Site, dry_air: Numbers, lift: Numbers, closure: Closure
) -> WaterMoved:
    """Water that an air flow moves up a lift.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        dry_air: dry air [kg/s], 0 and up.
        lift: outlet level less inlet level [m].
        closure: drift flux of the gas.

    Returns:
        The water flow: 0 where the air does not lift water to the lip.

    Source: `zuber-findlay-1965`; search after `chandrupatla-1997`.
    """

    def margin(flow: Array) -> Array:
        return balance(riser, site, flow, dry_air, lift, closure).margin

    at_rest = margin(np.asarray(0.0))
    # At this flow the velocity head alone eats up the whole depth.
    fastest = np.sqrt(2.0 * GRAVITY * np.maximum(riser.submergence, 0.0))
    high = np.broadcast_to(riser.units * np.asarray(riser.area) * fastest, at_rest.shape)
    root = bracketed_root(margin, np.zeros(at_rest.shape), high)
    moves = at_rest > 0.0
    return WaterMoved(np.where(moves, root, 0.0), moves)


def peak_water(riser: Riser, site: Site, lift: Numbers, closure: Closure) -> Peak:
    """Return the peak of the operating curve at a lift.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        lift: outlet level less inlet level [m].
        closure: drift flux of the gas.

    Returns:
        Air and water at the peak.

    Source: `zuber-findlay-1965`; golden section.
    """
    per = _air_per_velocity(riser, site)

    def water(log_gas: Array) -> Array:
        return water_moved(riser, site, per * np.exp(log_gas), lift, closure).flow

    shape = balance(riser, site, 0.0, 0.0, lift, closure).margin.shape
    rows = _velocities(riser, shape)
    values = water(rows)
    best = values.argmax(axis=0)
    low = _row(rows, np.maximum(best - 1, 0))
    high = _row(rows, np.minimum(best + 1, _SEARCH - 1))
    top = highest(water, low, high, 20)
    flow = water(top)
    inside = (best < _SEARCH - 1) & (flow > values[-1])
    top = np.where(flow >= _row(values, best), top, _row(rows, best))
    return Peak(per * np.exp(top), np.maximum(flow, _row(values, best)), inside)


def operating_curve(
    riser: Riser, site: Site, lift: Numbers, closure: Closure, points: int = 60
) -> OperatingCurve:
    """Return the whole operating curve at a lift.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        lift: outlet level less inlet level [m].
        closure: drift flux of the gas.
        points: points of the curve, evenly spaced from no air to twice the air of the peak, or
            to the largest gas velocity that is searched.

    Returns:
        Water by air, and the peak.

    Source: as `loopplan.physics.airlift_solve.water_moved`.
    """
    peak = peak_water(riser, site, lift, closure)
    most = np.minimum(2.0 * peak.dry_air, _air_per_velocity(riser, site) * riser.most_gas)
    air = np.linspace(np.zeros_like(most), most, points)
    return OperatingCurve(air, water_moved(riser, site, air, lift, closure).flow, peak)


def greatest_lift(
    riser: Riser, site: Site, flow: Numbers, dry_air: Numbers, closure: Closure
) -> Array:
    """Lift up to which an air flow moves a water flow; at no flow, the lift at stall.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        flow: water flow [m3/s], 0 and up.
        dry_air: dry air [kg/s], 0 and up.
        closure: drift flux of the gas.

    Returns:
        Lift [m]: outlet level less inlet level. Where the air does not even bring the flow over
        the sill, the least lift that is searched: outlet level at the injector.

    Source: `zuber-findlay-1965`; search after `chandrupatla-1997`.
    """

    def margin(lift: Array) -> Array:
        return balance(riser, site, flow, dry_air, lift, closure).margin

    shape = margin(np.asarray(0.0)).shape
    deep = np.broadcast_to(np.asarray(riser.submergence, dtype=np.float64), shape)
    # With C0 = 1 and no drift a column would be all gas; with closures in use it stands less
    # than ten times as high as still water.
    low, high = -deep, 10.0 * deep
    root = bracketed_root(margin, low, high)
    return np.where(margin(low) < 0.0, low, root)
