"""The power-off study as plain data, for the JSON document and the CSV table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from loopplan.studies.poweroff_results import PlaceAtRest, PowerCase, PowerOff

POWER_HEADER = (
    "state", "stuck_flap", "element", "kind", "units", "running_level_m", "stop_level_m",
    "running_volume_m3", "stop_volume_m3", "gives_m3", "takes_m3", "over_wall_m3", "wall_top_m",
    "freeboard_m", "oxygen_least_s", "oxygen_most_s",
)  # fmt: skip
"""Columns of the CSV table: one row for each basin and channel of each case."""


def power_document(power: PowerOff) -> dict[str, Any]:
    """Return the study as plain data, SI units named in the keys."""
    stuck = power.worst_stuck
    return {
        "usable_oxygen_kg_m3": power.usable_oxygen,
        "consumption_least_kg_kg_s": power.consumption[0],
        "consumption_most_kg_kg_s": power.consumption[1],
        "worst_state": power.worst.state,
        "worst_stuck_flap": None if stuck is None else stuck.stuck,
        "cases": [_case(case) for case in (*power.cases, *power.stuck)],
    }


def _case(case: PowerCase) -> dict[str, Any]:
    return {
        "state": case.state,
        "stuck_flap": case.stuck,
        "over_walls_m3": case.over_walls,
        "leaves": [{"place": place, "volume_m3": volume} for place, volume in case.leaves],
        "pipes_m3": case.pipes,
        "start_needs_m3": case.start,
        "start_held_m3": case.held,
        "start_short_m3": case.short,
        "suctions": [
            {
                "lift": s.lift,
                "basin": s.basin,
                "stop_level_m": s.stop_level,
                "least_level_m": s.least_level,
            }
            for s in case.suctions
        ],
        "basins": [_place(place) for place in case.places],
    }


def _place(place: PlaceAtRest) -> dict[str, Any]:
    least, most = place.oxygen or (None, None)
    return {
        "element": place.element,
        "kind": place.kind,
        "units": place.units,
        "running_level_m": place.running_level,
        "stop_level_m": place.stop_level,
        "running_volume_m3": place.running_volume,
        "stop_volume_m3": place.stop_volume,
        "gives_m3": max(place.drained, 0.0),
        "takes_m3": max(-place.drained, 0.0),
        "over_wall_m3": place.over_wall,
        "wall_top_m": place.wall_top,
        "freeboard_m": place.freeboard,
        "oxygen_least_s": least,
        "oxygen_most_s": most,
    }


def power_rows(power: Mapping[str, Any] | None) -> Iterable[dict[str, Any]]:
    """Yield the rows of the CSV table out of the document's part."""
    for case in power["cases"] if power else ():
        for place in case["basins"]:
            yield {"state": case["state"], "stuck_flap": case["stuck_flap"], **place}
