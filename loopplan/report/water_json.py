"""The water balance as plain data, for the JSON document and the CSV tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from loopplan.studies.water_results import WaterBalance

INDEX_DEFINITIONS = {
    "passes": "circulation over replacement",
    "reused_share": "(circulation - replacement) over circulation, which counts the new water; the "
    "same as internal flow over (internal flow + new water)",
    "exchanged_a_day": "replacement of a day over the water in basins, channels and pipes",
    "water_per_feed_m3_kg": "replacement over feed",
    "feed_per_water_kg_m3": "feed over replacement",
    "water_per_fish_m3_kg": "replacement over fish grown, both of a year",
}
"""What each index of recirculation means; one does not follow from another."""

LOSS_HEADER = ("state", "place", "what", "mean_m3_s", "averaged")
INDEX_HEADER = ("state", "index", "value", "definition")
"""Columns of the CSV tables."""


def water_document(water: WaterBalance) -> dict[str, Any]:
    """Return the balance as plain data, SI units named in the keys."""
    return {
        "circulation_m3_s": water.circulation,
        "make_up_m3_s": water.make_up,
        "discharge_m3_s": water.discharge,
        "replacement_m3_s": water.replacement,
        "passes": water.passes,
        "volume_m3": water.volume,
        "lost_m3_s": water.lost,
        "surplus_m3_s": water.surplus,
        "shortfall_m3_s": water.shortfall,
        "exchanges": [{"place": place, "leaves_m3_s": flow} for place, flow in water.exchanges],
        "losses": [
            {
                "place": loss.place,
                "what": loss.what,
                "mean_m3_s": loss.flow,
                "averaged": loss.averaged,
            }
            for loss in water.losses
        ],
        "indices": {
            "passes": water.passes,
            "reused_share": water.reused_share,
            "exchanged_a_day": water.exchanged_a_day,
            "water_per_feed_m3_kg": water.water_per_feed,
            "feed_per_water_kg_m3": water.feed_per_water,
            "water_per_fish_m3_kg": water.water_per_fish,
        },
    }


def water_rows(states: Iterable[Mapping[str, Any]]) -> Iterable[dict[str, Any]]:
    """Yield one row for each whole state, with an empty place, and one for each exchange."""
    for state in states:
        parts = ("exchanges", "losses", "indices")
        water = {key: value for key, value in state["water"].items() if key not in parts}
        yield {"state": state["name"], "place": "", **water, "leaves_m3_s": None}
        for exchange in state["water"]["exchanges"]:
            yield {"state": state["name"], **dict.fromkeys(water), **exchange}


def loss_rows(states: Iterable[Mapping[str, Any]]) -> Iterable[dict[str, Any]]:
    """Yield one row for each loss of each state."""
    for state in states:
        for loss in state["water"]["losses"]:
            yield {"state": state["name"], **loss}


def index_rows(states: Iterable[Mapping[str, Any]]) -> Iterable[dict[str, Any]]:
    """Yield one row for each index of each state, with its definition."""
    for state in states:
        for index, value in state["water"]["indices"].items():
            definition = INDEX_DEFINITIONS[index]
            yield {"state": state["name"], "index": index, "value": value, "definition": definition}
