"""The budget as a folder of CSV files: SI units in the headers, a stable order."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from typing import Any

from loopplan.report.as_json import budget_document, rounded
from loopplan.report.power_json import POWER_HEADER, power_rows
from loopplan.report.swing_json import SWING_HEADER, swing_rows
from loopplan.report.water_json import (
    INDEX_HEADER,
    LOSS_HEADER,
    index_rows,
    loss_rows,
    water_rows,
)
from loopplan.studies.results import BudgetResult

# A text that begins like a formula would be run by a spreadsheet that opens the file.
_FORMULA = ("=", "+", "-", "@")


def budget_csv(result: BudgetResult) -> dict[str, str]:
    """Return name and content of each file; the numbers are those of the JSON document."""
    document: dict[str, Any] = rounded(budget_document(result))
    states = document["states"]
    return {
        "budget.csv": table_text({"state": s["name"], **row} for s in states for row in s["rows"]),
        "levels.csv": table_text(
            {"state": s["name"], **row} for s in states for row in s["levels"]
        ),
        "lifts.csv": table_text(_lifts(document["lifts"]), _LIFT),
        "water.csv": table_text(water_rows(states)),
        "findings.csv": table_text(finding_rows(document["findings"]), FINDING),
        "residuals.csv": table_text(
            {"state": name, **_with_units(left)} for name, left in document["residuals"].items()
        ),
        "sheet.csv": table_text(_sheet(document["sheet"]), _SHEET),
        "assumed.csv": table_text(document["assumed"], _ASSUMED),
        "shares.csv": table_text(_share_rows(document["shares"]), _SHARE),
        "water_losses.csv": table_text(loss_rows(states), LOSS_HEADER),
        "water_indices.csv": table_text(index_rows(states), INDEX_HEADER),
        "sump_swings.csv": table_text(swing_rows(document["sump_swings"]), SWING_HEADER),
        "power_off.csv": table_text(power_rows(document["power_off"]), POWER_HEADER),
    }


FINDING = (
    "code", "severity", "place", "state", "also", "value", "limit", "unit", "message", "cure",
    "source",
)  # fmt: skip
"""Columns of a table of findings."""
_SHARE = (
    "kind", "state", "spread", "element", "flow_m3_s", "share_of_mean", "share_of_usual", "sill",
    "sill_error_m", "change_by_sill_error", "nozzle", "nozzle_error", "change_by_nozzle_error",
)  # fmt: skip
_ASSUMED = ("place", "field", "value", "source")
_SHEET = ("state", "item", "law", "formula", "part", "name", "value", "unit")
_LIFT = (
    "element", "asked", "device", "reason", "remarks", "state", "flow_m3_s", "level_before_m",
    "level_after_m", "static_m", "added_m", "pressure_m", "head_m", "runs",
)  # fmt: skip


def _share_rows(sets: Iterable[Mapping[str, Any]]) -> Iterable[dict[str, Any]]:
    for shares in sets:
        about = {key: shares[key] for key in ("kind", "state", "spread", "nozzle_error")}
        for share in shares["shares"]:
            yield {**about, **share}


def finding_rows(findings: Iterable[Mapping[str, Any]]) -> Iterable[dict[str, Any]]:
    """Yield the rows of a table of findings out of a document's part."""
    for finding in findings:
        yield {**finding, "also": ", ".join(finding["also"])}


def _lifts(lifts: Iterable[Mapping[str, Any]]) -> Iterable[dict[str, Any]]:
    for lift in lifts:
        about = {key: lift[key] for key in ("element", "asked", "device", "reason")}
        about["remarks"] = "; ".join(lift["remarks"])
        for state in lift["states"]:
            yield {**about, **state}


def _with_units(left: Mapping[str, Any]) -> dict[str, Any]:
    units = {"law_head": "law_head_m", "head_budget": "head_budget_m", "row": "row_m"}
    units |= {"water_balance": "water_balance_share", "law_flow": "law_flow_share"}
    return {units.get(key, key): value for key, value in left.items()}


def _sheet(lines: Iterable[Mapping[str, Any]]) -> Iterable[dict[str, Any]]:
    """Each input, note, source and result of a head item on a line of its own."""
    for line in lines:
        about = {key: line[key] for key in ("state", "item", "law", "formula")}
        for given in line["inputs"]:
            yield {**about, "part": "input", **given}
        for part in ("note", "source"):
            for text in line[f"{part}s"]:
                yield {**about, "part": part, "name": text, "value": None, "unit": ""}
        for key in ("head_before_m", "head_after_m", "loss_m"):
            name = key.removesuffix("_m").replace("_", " ")
            yield {**about, "part": "result", "name": name, "value": line[key], "unit": "m"}


def table_text(rows: Iterable[Mapping[str, Any]], header: tuple[str, ...] = ()) -> str:
    """Write rows under a header; without one the keys of the first row are it."""
    listed = list(rows)
    keys = header or tuple(listed[0] if listed else ())
    file = io.StringIO()
    writer = csv.DictWriter(file, keys, lineterminator="\n", restval="")
    writer.writeheader()
    writer.writerows({key: _cell(value) for key, value in row.items()} for row in listed)
    return file.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, str) and len(value) > 1 and value.startswith(_FORMULA):
        return f"'{value}"
    return value
