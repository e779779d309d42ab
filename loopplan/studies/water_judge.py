"""Findings about the water balance: what the losses leave of the replacement."""

from __future__ import annotations

from collections.abc import Iterable

from loopplan.declare import DAY
from loopplan.findings import Finding, find
from loopplan.limits import Limits
from loopplan.studies.results import StateResult
from loopplan.studies.water_results import WaterBalance


def judge_water(state: StateResult, limits: Limits) -> Iterable[Finding]:
    """Yield findings about the water that leaves the loop in one duty state."""
    water = state.balance
    yield from _counted_twice(state)
    if not water.losses:
        return
    if water.lost > water.replacement * (1.0 + 1e-9):
        yield find(
            "wash-beyond-replacement",
            "farm",
            state=state.name,
            value=water.lost,
            limit=water.replacement,
            unit="m3/s",
            message=f"{_parts(water)} take {DAY * water.lost:.1f} m3/d, and "
            f"{DAY * water.replacement:.1f} m3/d are new",
        )
        return
    share = water.lost / water.replacement
    if water.shortfall > 1e-9 * water.replacement:
        yield find(
            "make-up-short",
            "farm",
            state=state.name,
            value=water.shortfall,
            limit=0.0,
            unit="m3/s",
            message=f"stated exits and {_parts(water)} together ask for "
            f"{DAY * water.shortfall:.1f} m3/d more than the make-up of "
            f"{DAY * water.make_up:.1f} m3/d brings",
        )
    if share > limits.lost_share_most:
        yield find(
            "wash-takes-replacement",
            "farm",
            state=state.name,
            value=share,
            limit=limits.lost_share_most,
            unit="",
            message=f"{_parts(water)} take {100.0 * share:.0f} % of the replacement; "
            f"{DAY * water.surplus:.1f} m3/d are left to drain as surplus",
        )


def _parts(water: WaterBalance) -> str:
    """Name the losses there are, the greatest first."""
    sums: dict[str, float] = {}
    for loss in water.losses:
        sums[loss.what] = sums.get(loss.what, 0.0) + loss.flow
    names = sorted(sums, key=lambda what: -sums[what])
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _counted_twice(state: StateResult) -> Iterable[Finding]:
    """An exit of the solved loop, and a stated mean, that carry the same thing."""
    stated: dict[str, list[str]] = {}
    for loss in state.balance.losses:
        if loss.averaged:
            stated.setdefault(loss.what, []).append(loss.place)
    for loss in state.balance.losses:
        if not loss.averaged and loss.what in stated:
            yield find(
                "water-counted-twice",
                loss.place,
                state=state.name,
                value=loss.flow,
                unit="m3/s",
                message=f"{loss.what} leaves by it at {3600.0 * loss.flow:.2f} m3/h, and is stated "
                f"at {', '.join(stated[loss.what])} as well; both are counted",
            )
