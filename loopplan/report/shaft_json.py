"""The study of a shaft as a versioned JSON document and as CSV: SI units, named in the keys."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from loopplan.report.as_csv import table_text
from loopplan.report.as_json import rounded
from loopplan.report.shaft_words import FREE_AIR, UNTUNED
from loopplan.report.words import NOT_VALIDATED
from loopplan.studies.shaft_results import (
    AirCell,
    AtWork,
    Band,
    NeedCurve,
    OperatingPoint,
    Operation,
    ShaftStudy,
)

SCHEMA = "loopplan.shaft/1"
"""Name and version of the document; it may gain keys within a version."""


def shaft_json(study: ShaftStudy) -> str:
    """Return the study as JSON text that repeats byte for byte."""
    document = rounded(shaft_document(study))
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def shaft_document(study: ShaftStudy) -> dict[str, Any]:
    """Return the study as plain data, not yet rounded."""
    case = study.case
    return {
        "schema": SCHEMA,
        "airlifts": NOT_VALIDATED,
        "tuning": UNTUNED,
        "air_is": FREE_AIR,
        "shaft": {
            "flow_m3_s": case.flow,
            "lifts_m": list(case.lifts),
            "outlet_halves_m2": list(case.outlet_halves),
            "inlet_half_m2": case.inlet_half,
            "depth_m": case.depth,
            "dry_reserve_m": case.dry_reserve,
            "diffusers_m": case.diffusers,
            "gap_m": case.gap,
            "coverage": case.coverage,
            "temperature_degC": case.temperature,
            "salinity_g_kg": case.salinity,
            "altitude_m": case.altitude,
        },
        "practice_air_to_water": list(study.practice),
        "gas_in_data_m_s": study.gas_in_data,
        "lift_limits_m": list(study.lift_limits),
        "bubble_rise_m_s": study.bubble_rise,
        "air_need": [_cell(cell) for cell in study.cells],
        "air_against_outlet_half": [_curve(curve) for curve in study.curves],
        "water_against_air": _operation(study.operation),
        "assumed": list(study.assumed),
        "sources": [{"key": key, "text": text} for key, text in study.sources],
    }


def shaft_csv(study: ShaftStudy) -> dict[str, str]:
    """Return name and content of each file; the numbers are those of the JSON document."""
    document: dict[str, Any] = rounded(shaft_document(study))
    run = document["water_against_air"]
    about = {key: run[key] for key in ("lift_m", "outlet_half_m2")}
    return {
        "air_need.csv": table_text(_flat(cell) for cell in document["air_need"]),
        "air_against_outlet_half.csv": table_text(
            {"lift_m": curve["lift_m"], **_flat(point)}
            for curve in document["air_against_outlet_half"]
            for point in curve["points"]
        ),
        "least_air.csv": table_text(_least_rows(document)),
        "water_against_air.csv": table_text({**about, **_flat(p)} for p in run["points"]),
    }


def _least_rows(document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for curve in document["air_against_outlet_half"]:
        least = {k: v for k, v in curve["least"].items() if k != "searched_m2"}
        yield {"lift_m": curve["lift_m"], **_flat(least)}


def _flat(row: dict[str, Any]) -> dict[str, Any]:
    """Give each value of a band a column of its own."""
    flat: dict[str, Any] = {}
    for key, value in row.items():
        if isinstance(value, dict):
            flat |= {f"{key}_{edge}": value[edge] for edge in value}
        else:
            flat[key] = "; ".join(value) if isinstance(value, list) else value
    return flat


def _band(band: Band) -> dict[str, float | None]:
    return asdict(band)


def _cell(cell: AirCell) -> dict[str, Any]:
    return {
        "lift_m": cell.lift,
        "outlet_half_m2": cell.outlet_half,
        "air_to_water": _band(cell.air_to_water),
        "off_practice": _band(cell.deviation),
        "short_m": _band(cell.short),
        "reserve_over_mixture_m": cell.reserve,
        "downward_m_s": cell.down,
        "gas_speed_m_s": cell.gas_velocity,
        "remarks": list(cell.remarks),
    }


def _curve(curve: NeedCurve) -> dict[str, Any]:
    least = curve.least
    return {
        "lift_m": curve.lift,
        "least": {
            "found": least.found,
            "outlet_half_m2": _band(least.outlet_half),
            "air_to_water": _band(least.air_to_water),
            "air_to_water_there": _band(least.band),
            "searched_m2": list(least.searched),
        },
        "points": [
            {"outlet_half_m2": area, "air_to_water": _band(band)} for area, band in curve.points
        ],
    }


def _point(point: OperatingPoint) -> dict[str, Any]:
    return {
        "air_m3_s": point.air,
        "air_to_water": point.air_to_water,
        "water_m3_s": _band(point.water),
        "gas_fraction": point.gas_fraction,
        "gas_speed_m_s": point.gas_velocity,
        "water_speed_m_s": point.water_velocity,
        "stall_lift_m": _band(point.stall),
        "lost_per_cm_m3_s": point.lost_per_cm,
        "static_efficiency": point.static_efficiency,
        "total_efficiency": point.total_efficiency,
        "wire_efficiency": point.wire_efficiency,
        "wire_power_W": point.wire_power,
        "wire_energy_J_m3": point.wire_energy,
    }


def _operation(run: Operation) -> dict[str, Any]:
    return {
        "lift_m": run.lift,
        "outlet_half_m2": run.outlet_half,
        "points": [_point(point) for point in run.points],
        "peak": {
            "found": run.peak.found,
            "air_m3_s": _band(run.peak.air),
            "water_m3_s": _band(run.peak.water),
            "searched_to_gas_m_s": run.peak.most_gas,
        },
        "at_flow": None if run.at_work is None else _work(run.at_work),
        "practice_pressure_near_m": run.rule_near,
        "practice_pressure_far_m": run.rule_far,
    }


def _work(work: AtWork) -> dict[str, Any]:
    return {
        **_point(work.point),
        "air_normal_m3_s": work.air_normal,
        "air_inlet_m3_s": work.air_inlet,
        "submergence_ratio": work.submergence_ratio,
        "driving_head_m": work.driving_head,
        "losses_m": dict(work.losses),
        "injection_pressure_Pa": work.injection_pressure,
        "injection_head_m": work.injection_head,
        "reserve_over_mixture_m": work.reserve,
        "downward_m_s": work.down,
    }
