"""The swing of the sumps as plain data, for the JSON document and the CSV table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from loopplan.studies.swing_results import SumpSwing

SWING_HEADER = (
    "element", "state", "level_m", "given_m3", "usual_level_m", "need_m", "floor_m",
    "overflow_m", "wall_top_m", "spilled_m3", "refilled_level_m",
)  # fmt: skip
"""Columns of the CSV table: one row for each duty state of each sump."""


def swing_document(swing: SumpSwing) -> dict[str, Any]:
    """Return the swing of one sump as plain data, SI units named in the keys."""
    return {
        "element": swing.element,
        "lifts": list(swing.lifts),
        "usual_level_m": swing.usual,
        "floor_m": swing.floor,
        "need_m": swing.need,
        "overflow_m": swing.overflow,
        "wall_top_m": swing.wall_top,
        "lowest_state": swing.low.state,
        "highest_state": swing.high.state,
        "swing_m": swing.swing,
        "spilled_m3": swing.spilled,
        "refilled_level_m": swing.refilled,
        "unsolved": list(swing.unsolved),
        "levels": [
            {"state": s.state, "level_m": s.level, "given_m3": s.given} for s in swing.levels
        ],
    }


def swing_rows(swings: Iterable[Mapping[str, Any]]) -> Iterable[dict[str, Any]]:
    """Yield the rows of the CSV table out of the document's part."""
    for swing in swings:
        about = {key: swing[key] for key in SWING_HEADER if key in swing}
        for level in swing["levels"]:
            yield {**about, **level}
