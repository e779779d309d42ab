"""The budget as a versioned JSON document: SI units, named in the keys."""

from __future__ import annotations

import json
import math
from typing import Any

from loopplan.report.power_json import power_document
from loopplan.report.water_json import INDEX_DEFINITIONS, water_document
from loopplan.report.words import device_remarks
from loopplan.studies.results import (
    BudgetResult,
    LevelRow,
    LiftResult,
    LiftState,
    Residuals,
    Row,
    SheetLine,
    StateResult,
)
from loopplan.studies.share_results import SILL_ERROR, Cure, Cures, ShareSet

SCHEMA = "loopplan.budget/1"
"""Name and version of the document; it may gain keys within a version."""
_DIGITS = 9


def budget_json(result: BudgetResult) -> str:
    """Return the budget as JSON text that repeats byte for byte.

    Numbers are SI, rounded to nine significant digits. Raises ValueError for a number that is
    not finite.
    """
    document = rounded(budget_document(result))
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def budget_document(result: BudgetResult) -> dict[str, Any]:
    """Return the budget as plain data, not yet rounded."""
    return {
        "schema": SCHEMA,
        "farm": result.farm,
        "note": result.note,
        "file": result.file,
        "residuals": {state.name: _residuals(state.residuals) for state in result.states},
        "states": [_state(state) for state in result.states],
        "water_indices": dict(INDEX_DEFINITIONS),
        "lifts": [_lift(lift) for lift in result.lifts],
        "findings": [finding.as_dict() for finding in result.findings],
        "assumed": [
            {"place": place, "field": field, "value": value, "source": source}
            for place, field, value, source in result.assumed
        ],
        "sources": [{"key": key, "text": text} for key, text in result.sources],
        "sheet": [_sheet_line(line) for line in result.sheet],
        "shares": [_shares(shares) for shares in result.shares],
        "share_cures": [_cures(cures) for cures in result.cures],
        "power_off": None if result.power_off is None else power_document(result.power_off),
    }


def _shares(shares: ShareSet) -> dict[str, Any]:
    return {
        "kind": shares.kind,
        "state": shares.state,
        "spread": shares.spread,
        "sill_error_m": SILL_ERROR,
        "shares": [
            {
                "element": share.element,
                "flow_m3_s": share.flow,
                "share_of_mean": share.share,
                "sill": share.sill,
                "change_by_sill_error": share.error,
            }
            for share in shares.shares
        ],
    }


def _cures(cures: Cures) -> dict[str, Any]:
    return {
        "elements": list(cures.elements),
        "state": cures.state,
        "channel": cures.channel,
        "lift": cures.lift,
        "spread": cures.spread,
        "limit": cures.limit,
        "widen": _cure(cures.widen),
        "throttle": _cure(cures.throttle),
    }


def _cure(cure: Cure | None) -> dict[str, Any] | None:
    if cure is None:
        return None
    return {
        "elements": list(cure.elements),
        "what": cure.what,
        "before_m": cure.before,
        "after_m": cure.after,
        "spread": cure.spread,
        "lift_head_change_m": cure.head,
    }


def _residuals(left: Residuals) -> dict[str, Any]:
    return {
        "water_balance": left.water_balance,
        "law_head": left.law_head,
        "law_flow": left.law_flow,
        "head_budget": left.head_budget,
        "row": left.row,
        "iterations": left.iterations,
    }


def _state(state: StateResult) -> dict[str, Any]:
    return {
        "name": state.name,
        "condition": state.condition,
        "temperature_degC": state.temperature,
        "rows": [_row(row) for row in state.rows],
        "levels": [_level(row) for row in state.levels],
        "water": water_document(state.balance),
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "path": row.path,
        "element": row.element,
        "part": row.part,
        "kind": row.kind,
        "law": row.law,
        "flow_m3_s": row.flow,
        "units": row.units,
        "head_before_m": row.head_before,
        "head_after_m": row.head_after,
        "level_before_m": row.level_before,
        "level_after_m": row.level_after,
        "velocity_m_s": row.velocity,
        "loss_m": row.loss,
        "friction_m": row.friction,
        "local_m": row.local,
        "fall_m": row.fall,
        "device_m": row.device,
        "useful_m": row.useful,
        "share": row.share,
        "running_m": row.running,
        "mismatch_m": row.mismatch,
        "bypass": row.bypass,
    }


def _level(row: LevelRow) -> dict[str, Any]:
    return {
        "element": row.element,
        "kind": row.kind,
        "units": row.units,
        "floor_m": row.floor,
        "level_m": row.level,
        "wall_top_m": row.wall_top,
        "freeboard_m": row.freeboard,
        "depth_m": row.depth,
        "area_m2": row.area,
        "volume_m3": row.volume,
        "turnover_s": None if row.turnover is None else 60.0 * row.turnover,
    }


def _lift(lift: LiftResult) -> dict[str, Any]:
    return {
        "element": lift.element,
        "asked": lift.asked,
        "device": lift.device,
        "reason": lift.reason,
        "against": [{"device": device, "reason": reason} for device, reason in lift.against],
        "remarks": list(device_remarks(lift)),
        "head_least_m": lift.head_least,
        "head_most_m": lift.head_most,
        "states": [_lift_state(state) for state in lift.states],
    }


def _lift_state(state: LiftState) -> dict[str, Any]:
    return {
        "state": state.state,
        "flow_m3_s": state.flow,
        "level_before_m": state.level_before,
        "level_after_m": state.level_after,
        "static_m": state.static,
        "added_m": state.added,
        "pressure_m": state.pressure,
        "head_m": state.head,
    }


def _sheet_line(line: SheetLine) -> dict[str, Any]:
    return {
        "state": line.state,
        "item": line.item,
        "law": line.law,
        "formula": line.formula,
        "inputs": [
            {"name": name, "value": value, "unit": unit} for name, value, unit in line.inputs
        ],
        "notes": list(line.notes),
        "sources": list(line.sources),
        "loss_m": line.loss,
        "head_before_m": line.head_before,
        "head_after_m": line.head_after,
    }


def rounded(value: Any) -> Any:
    """Round every float, so that the last bits of another machine do not show."""
    if isinstance(value, dict):
        return {key: rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [rounded(item) for item in value]
    if isinstance(value, float) and math.isfinite(value):
        return float(f"{value:.{_DIGITS}g}") + 0.0
    return value
