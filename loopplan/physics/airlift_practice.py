"""The common-practice shaft beside the practice rule for air, and the outlet area of least air.

The rule (installed free air 1 to 1.5 volumes per volume of water, margin included) is printed
beside what is computed and is not used in computing it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Flags, Numbers
from loopplan.physics._roots import highest
from loopplan.physics.air import STANDARD, volume_flow
from loopplan.physics.airlift_band import air_band
from loopplan.physics.airlift_column import Site
from loopplan.physics.airlift_shaft import Shaft
from loopplan.physics.airlift_solve import least_air
from loopplan.physics.two_phase import Closure

PRACTICE_AIR = (1.0, 1.5)
"""Installed free air per water by volume [-], margin included. Common practice, no source."""

PRACTICE_AREAS = (0.5, 1.0, 2.0, 4.0, 6.0)
PRACTICE_LIFTS = (0.2, 0.3, 0.5, 0.7)


SILL_WATER = 0.5
"""Water over the outlet sill of the shaft of common practice [m]: assumed, no source."""


def practice_shaft(
    outlet_area: Numbers,
    lift: Numbers,
    *,
    inlet_area: Numbers | None = None,
    depth: float = 3.5,
    dry_reserve: float = 0.5,
    diffuser_height: float = 0.5,
    partition_gap: float = 0.5,
) -> Shaft:
    """Shaft of common practice: 3.5 m deep, 3.0 m of water, diffusers and partition at 0.5 m.

    Assumed besides: the outlet half square, the inlet half as wide, and as large where it is not
    stated, the outlet as wide as the partition, its sill 0.5 m under the outlet level.

    Args:
        outlet_area: plan area of the outlet half [m2].
        lift: outlet level less inlet level [m].
        inlet_area: plan area of the inlet half [m2]; as the outlet half if left out.
        depth: floor to wall top [m].
        dry_reserve: wall above the running water of the inlet half [m].
        diffuser_height: floor to diffusers [m].
        partition_gap: floor to lower edge of the partition [m].

    Returns:
        The shaft.

    Source: `trade-practice`.
    """
    width = np.sqrt(np.asarray(outlet_area, dtype=np.float64))
    running = depth - dry_reserve
    return Shaft(
        depth=depth,
        inlet_level=running,
        inlet_area=outlet_area if inlet_area is None else inlet_area,
        outlet_area=outlet_area,
        partition_width=width,
        partition_gap=partition_gap,
        diffuser_height=diffuser_height,
        sill_height=running - SILL_WATER + np.asarray(lift),
        sill_width=width,
    )


@dataclass(frozen=True)
class PracticeRow:
    """One row of the table.

    Attributes:
        outlet_area: plan area of the outlet half [m2].
        lift: lift [m].
        air_to_water: free air over water [-] at least, expected, at most; None where no air
            flow does it.
        deviation: how far each lies above (+) or below (-) the range of practice [-]; 0 inside.
        short: height that the column stays under the lip at best [m]; 0 where it is lifted.
    """

    outlet_area: float
    lift: float
    air_to_water: tuple[float | None, ...]
    deviation: tuple[float | None, ...]
    short: tuple[float, ...]


def from_practice(air_to_water: float) -> float:
    """Tell how far a ratio lies outside the range of practice.

    Args:
        air_to_water: free air over water by volume [-].

    Returns:
        Distance [-]: above the range positive, below it negative, inside it 0.

    Source: `trade-practice`.
    """
    low, high = PRACTICE_AIR
    return max(air_to_water - high, 0.0) + min(air_to_water - low, 0.0)


def practice_table(
    site: Site,
    flow: float,
    coverage: float = 1.0,
    areas: Sequence[float] = PRACTICE_AREAS,
    lifts: Sequence[float] = PRACTICE_LIFTS,
    shaft_of: Callable[[Array, Array], Shaft] = practice_shaft,
) -> list[PracticeRow]:
    """Air need of a shaft by area and lift, beside the rule.

    Args:
        site: water and atmosphere.
        flow: water flow [m3/s].
        coverage: share of the outlet half's plan that diffusers cover [-], 0 to 1.
        areas: plan areas of the outlet half [m2].
        lifts: lifts [m].
        shaft_of: shaft for outlet areas [m2] and lifts [m]; that of common practice if left out.

    Returns:
        Rows, areas [m2] within lifts [m].

    Source: `trade-practice` for the rule; the values are computed without it.
    """
    lift, area = (x.ravel() for x in np.meshgrid(lifts, areas, indexing="ij"))
    need = air_band(shaft_of(area, lift), site, flow, lift, coverage)
    ratios = volume_flow(need.dry_air, STANDARD) / flow
    rows = []
    for i in range(area.size):
        found = tuple(
            float(ratio) if possible else None
            for ratio, possible in zip(ratios[:, i], need.possible[:, i], strict=True)
        )
        away = tuple(None if ratio is None else from_practice(ratio) for ratio in found)
        short = tuple(float(height) for height in need.short[:, i])
        rows.append(PracticeRow(float(area[i]), float(lift[i]), found, away, short))
    return rows


@dataclass(frozen=True)
class BestArea:
    """Outlet half that takes the least air.

    Attributes:
        area: its plan area [m2].
        dry_air: dry air there [kg/s].
        possible: whether any area that was searched does it.
        inside: whether air rises on both sides of it: losses to the left, slip to the right.
    """

    area: Array
    dry_air: Array
    possible: Flags
    inside: Flags


def best_outlet_area(
    shaft_of: Callable[[Array], Shaft],
    site: Site,
    flow: Numbers,
    lift: Numbers,
    closure: Closure,
    smallest: float = 0.1,
    largest: float = 30.0,
) -> BestArea:
    """Find the plan area of the outlet half that takes the least air.

    Args:
        shaft_of: shaft for an outlet area [m2]; arrays of areas come on a first axis.
        site: water and atmosphere.
        flow: water flow [m3/s].
        lift: outlet level less inlet level [m].
        closure: drift flux of the gas.
        smallest: least area that is searched [m2].
        largest: largest area that is searched [m2].

    Returns:
        The area, its air, and whether it is a minimum.

    Source: search by the golden section; as `loopplan.physics.airlift_solve.least_air`.
    """

    def merit(log_area: Array) -> Array:
        need = least_air(shaft_of(np.exp(log_area)), site, flow, lift, closure)
        # Where it is not possible, the less short the better, and worse than all that is.
        good = -np.log(np.maximum(need.dry_air, 1e-12))
        return np.where(need.possible, good, -1e3 - need.short)

    shape = np.broadcast_shapes(np.shape(flow), np.shape(lift))
    steps = np.linspace(np.log(smallest), np.log(largest), 25)
    rows = np.broadcast_to(steps.reshape((-1,) + (1,) * len(shape)), (25, *shape))
    best = np.argmax(merit(rows), axis=0)
    spots = np.exp(
        highest(merit, steps[np.maximum(best - 1, 0)], steps[np.minimum(best + 1, 24)], 20)
    )
    need = least_air(shaft_of(spots), site, flow, lift, closure)
    inside = (best > 0) & (best < 24) & need.possible
    return BestArea(spots, need.dry_air, need.possible, inside)
