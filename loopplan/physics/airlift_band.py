"""The band of a channel airlift: its answer by several closures, and where diffusers put it.

Three edges are solved: the least air, what is expected, the most air. With diffusers over the
whole plan they stand on the rungs 0, 1 and 2 of `loopplan.physics.two_phase_ladder.graded` (evenly
spread, large duct, circulating column). The share of the plan that diffusers leave free moves
all three toward the plume, by one rung as coverage goes to nothing. That rule is our judgement;
it has no source, and none of this is validated at farm size.
"""

from __future__ import annotations

from functools import partial

import numpy as np

from loopplan.physics._check import Array, Numbers, within
from loopplan.physics.airlift_column import Balance, Riser, Site, balance
from loopplan.physics.airlift_solve import (
    AirNeed,
    WaterMoved,
    greatest_lift,
    least_air,
    water_moved,
)
from loopplan.physics.two_phase import Closure, evenly_spread
from loopplan.physics.two_phase_ladder import CLOSURES, graded

EDGES = ("least air", "expected", "most air")
"""Names of the first axis of every result here."""


def edge_rung(edge: Numbers, coverage: Numbers) -> Array:
    """Rung of the ladder on which an edge of the band stands.

    Args:
        edge: 0 least air, 1 expected, 2 most air [-].
        coverage: share of the outlet half's plan that diffusers cover [-], 0 to 1.

    Returns:
        Rung for `loopplan.physics.two_phase_ladder.graded` [-].

    Raises:
        ValueError: if the coverage is outside its range.

    Source: as `edge_closure`.
    """
    return np.asarray(edge + 1.0 - within("coverage", coverage, 0.0, 1.0))[()]


def single_edge_closure(edge: Numbers, coverage: Numbers) -> Closure:
    """Closure of one edge of the band.

    Args:
        edge: 0 least air, 1 expected, 2 most air [-].
        coverage: share of the outlet half's plan that diffusers cover [-], 0 to 1.

    Returns:
        The closure, for use in `loopplan.physics.airlift_solve`.

    Raises:
        ValueError: if the coverage is outside its range.

    Source: as `edge_closure`.
    """
    return partial(graded, edge_rung(edge, coverage))


def edge_closure(coverage: Numbers, batch_axes: int = 0) -> Closure:
    """Closure of the three edges on a first axis.

    Args:
        coverage: share of the outlet half's plan that diffusers cover [-], 0 to 1.
        batch_axes: axes of the batch that the three edges are put before.

    Returns:
        The closure, for use in `loopplan.physics.airlift_solve`.

    Raises:
        ValueError: if the coverage is outside its range.

    Source: `zuber-findlay-1965`, `hibiki-ishii-2003`, `heijnen-vant-riet-1984`, `zehner-1986`.
    """
    rungs = np.arange(3.0).reshape((3,) + (1,) * batch_axes)
    return single_edge_closure(rungs, coverage)


def _axes(riser: Riser, site: Site, coverage: Numbers, *values: Numbers) -> int:
    """Axes of the batch of a riser, its site and what it is asked for."""
    flow = sum((0.0 * np.asarray(value) for value in (coverage, *values)), np.asarray(0.0))
    return int(balance(riser, site, flow, 0.0, 0.0, evenly_spread).margin.ndim)


def air_band(riser: Riser, site: Site, flow: Numbers, lift: Numbers, coverage: Numbers) -> AirNeed:
    """Air that a water flow takes, at the three edges.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        flow: water flow [m3/s].
        lift: outlet level less inlet level [m].
        coverage: share of the plan that diffusers cover [-], 0 to 1.

    Returns:
        Air needs on a first axis of three (`EDGES`).

    Source: as `edge_closure`.
    """
    closure = edge_closure(coverage, _axes(riser, site, coverage, flow, lift))
    return least_air(riser, site, flow, lift, closure)


def water_band(
    riser: Riser, site: Site, dry_air: Numbers, lift: Numbers, coverage: Numbers
) -> WaterMoved:
    """Water that an air flow moves, at the three edges: the most water first.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        dry_air: dry air [kg/s].
        lift: outlet level less inlet level [m].
        coverage: share of the plan that diffusers cover [-], 0 to 1.

    Returns:
        Water flows on a first axis of three (`EDGES`).

    Source: as `edge_closure`.
    """
    closure = edge_closure(coverage, _axes(riser, site, coverage, dry_air, lift))
    return water_moved(riser, site, dry_air, lift, closure)


def lift_band(
    riser: Riser, site: Site, flow: Numbers, dry_air: Numbers, coverage: Numbers
) -> Array:
    """Greatest lift [m] of an air flow at a water flow, at the three edges: the highest first.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        flow: water flow [m3/s]; 0 for the lift at stall.
        dry_air: dry air [kg/s].
        coverage: share of the plan that diffusers cover [-], 0 to 1.

    Returns:
        Lifts [m] on a first axis of three (`EDGES`).

    Source: as `edge_closure`.
    """
    closure = edge_closure(coverage, _axes(riser, site, coverage, flow, dry_air))
    return greatest_lift(riser, site, flow, dry_air, closure)


def balance_band(
    riser: Riser, site: Site, flow: Numbers, dry_air: Numbers, lift: Numbers, coverage: Numbers
) -> Balance:
    """Balances at the three edges.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        flow: water flow [m3/s].
        dry_air: dry air [kg/s], one for all edges or on a first axis of three.
        lift: outlet level less inlet level [m].
        coverage: share of the plan that diffusers cover [-], 0 to 1.

    Returns:
        Balances on a first axis of three (`EDGES`).

    Source: as `edge_closure`.
    """
    closure = edge_closure(coverage, _axes(riser, site, coverage, flow, lift))
    return balance(riser, site, flow, dry_air, lift, closure)


def air_by_closure(riser: Riser, site: Site, flow: Numbers, lift: Numbers) -> dict[str, AirNeed]:
    """Air that a water flow takes by each single closure.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        flow: water flow [m3/s].
        lift: outlet level less inlet level [m].

    Returns:
        Air needs (`AirNeed`, dry air [kg/s]) by the name of the closure. The two for developed
        flow are for comparison only: no shaft is developed.

    Source: `zuber-findlay-1965`, `hibiki-ishii-2003`, `heijnen-vant-riet-1984`,
    `akita-yoshida-1973`, `zehner-1986`, `ishii-1977`.
    """
    return {name: least_air(riser, site, flow, lift, closure) for name, closure in CLOSURES.items()}
