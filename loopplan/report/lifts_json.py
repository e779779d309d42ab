"""The study of lifts as a versioned JSON document and as CSV: SI units, named in the keys."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from loopplan.report.as_csv import table_text
from loopplan.report.as_json import rounded
from loopplan.report.words import NOT_VALIDATED
from loopplan.studies.lift_sheet_results import (
    AirCurve,
    AirPoint,
    Band,
    DeviceResult,
    DeviceState,
    Gas,
    LiftSheet,
    LiftStudy,
    PumpPoint,
    Slower,
)

SCHEMA = "loopplan.lifts/1"
"""Name and version of the document; it may gain keys within a version."""


def lifts_json(study: LiftStudy) -> str:
    """Return the study as JSON text that repeats byte for byte."""
    document = rounded(lifts_document(study))
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def lifts_document(study: LiftStudy) -> dict[str, Any]:
    """Return the study as plain data, not yet rounded."""
    return {
        "schema": SCHEMA,
        "farm": study.farm,
        "file": study.file,
        "currency": study.currency,
        "airlifts": NOT_VALIDATED,
        "air_is": "free air, 20 degC and 101.325 kPa",
        "lifts": [_sheet(sheet) for sheet in study.sheets],
        "findings": [finding.as_dict() for finding in study.findings],
        "assumed": [
            {"place": place, "field": field, "value": value, "source": source}
            for place, field, value, source in study.assumed
        ],
        "sources": [{"key": key, "text": text} for key, text in study.sources],
    }


def lifts_csv(study: LiftStudy) -> dict[str, str]:
    """Return name and content of each file; the numbers are those of the JSON document."""
    document: dict[str, Any] = rounded(lifts_document(study))
    return {
        "devices.csv": table_text(_even(_device_rows(document))),
        "device_states.csv": table_text(_even(_state_rows(document))),
        "slower_pumps.csv": table_text(_rows(document, "slower"), _SLOWER),
        "operating_curves.csv": table_text(_rows(document, "operating_points"), _CURVE),
    }


_CURVE = (
    "lift", "device", "air_m3_s", "water_m3_s: value", "water_m3_s: least", "water_m3_s: most",
)  # fmt: skip
_SLOWER = ("lift", "device", "speed_share", "flow_m3_s", "power_W", "energy_J_m3")


def _device_rows(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            "lift": sheet["lift"],
            "recommended": sheet["recommended"],
            **_flat({key: value for key, value in device.items() if key not in _TABLES}),
        }
        for sheet in document["lifts"]
        for device in sheet["devices"]
    ]


_TABLES = ("states", "slower", "operating_points")
"""Keys of a device that are tables of their own."""


def _rows(document: dict[str, Any], table: str) -> list[dict[str, Any]]:
    return [
        {"lift": sheet["lift"], "device": device["device"], **_flat(row)}
        for sheet in document["lifts"]
        for device in sheet["devices"]
        for row in device[table] or ()
    ]


def _state_rows(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {"lift": sheet["lift"], "device": device["device"], **_flat(state)}
        for sheet in document["lifts"]
        for device in sheet["devices"]
        for state in device["states"]
    ]


def _even(rows: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Give each row the columns of all: what a device lacks has none of its own."""
    columns = dict.fromkeys(key for row in rows for key in row)
    groups = {key.rpartition(": ")[0] for key in columns}
    for row in rows:
        yield {key: row.get(key) for key in columns if key not in groups}


def _flat(nested: dict[str, Any]) -> dict[str, Any]:
    """Return one level of keys: what lies deeper is named after what it lies in."""
    flat: dict[str, Any] = {}
    for key, value in nested.items():
        if isinstance(value, list):
            flat[key] = "; ".join(value)
        elif isinstance(value, dict):
            flat |= {f"{key}: {inner}": x for inner, x in _flat(value).items()}
        elif key not in _MAYBE:
            flat[key] = value
    return flat


_MAYBE = ("airlift", "pump", "gas", "operating_curve")
"""Keys that hold a group of values or nothing."""


def _sheet(sheet: LiftSheet) -> dict[str, Any]:
    return {
        "lift": sheet.element,
        "state": sheet.state,
        "flow_m3_s": sheet.flow,
        "head_m": sheet.head,
        "recommended": sheet.recommended or None,
        "words": sheet.words,
        "asked": sheet.fixed,
        "asked_costs": sheet.fixed_costs,
        "crossover_m": sheet.crossover,
        "crossover_words": sheet.crossover_words,
        "practice": [vars(row) for row in sheet.practice],
        "devices": [_device(device) for device in sheet.devices],
    }


def _device(device: DeviceResult) -> dict[str, Any]:
    return {
        "device": device.device,
        "serves": device.feasible,
        "reason": device.reason,
        "energy_a_year_J": _band(device.energy),
        "cost_a_year": device.cost,
        "standby": device.standby,
        "gas": _gas(device.gas),
        "operating_curve": _curve(device.curve),
        "operating_points": None if device.curve is None else _points(device.curve),
        "slower": None if device.slower is None else [_slower(row) for row in device.slower],
        "states": [_state(state) for state in device.states],
    }


def _curve(curve: AirCurve | None) -> dict[str, Any] | None:
    if curve is None:
        return None
    return {
        "lift_m": curve.lift,
        "peak_found": curve.peaks,
        "peak_air_m3_s": _band(curve.peak_air),
        "peak_water_m3_s": _band(curve.peak_water),
        "peak_gas_speed_m_s": curve.peak_gas,
        "searched_to_gas_m_s": curve.most_gas,
        "data_to_gas_m_s": curve.gas_in_data,
    }


def _points(curve: AirCurve) -> list[dict[str, Any]]:
    return [
        {"air_m3_s": air, "water_m3_s": _band(water)}
        for air, water in zip(curve.air, curve.water, strict=True)
    ]


def _slower(row: Slower) -> dict[str, float | None]:
    return {
        "speed_share": row.share,
        "flow_m3_s": row.flow,
        "power_W": row.power,
        "energy_J_m3": row.power / row.flow if row.flow > 0.0 else None,
    }


def _gas(gas: Gas | None) -> dict[str, Any] | None:
    if gas is None:
        return None
    return {
        "oxygen_kg_s": _band(gas.oxygen),
        "carbon_dioxide_kg_s": _band(gas.carbon_dioxide),
        "other_aeration_W": gas.instead,
        "remarks": list(gas.remarks),
    }


def _state(state: DeviceState) -> dict[str, Any]:
    return {
        "state": state.state,
        "flow_m3_s": state.flow,
        "static_m": state.static,
        "head_m": state.head,
        "serves": state.feasible,
        "against": list(state.against),
        "power_W": _band(state.power),
        "energy_J_m3": state.per_m3,
        "airlift": _air(state.detail) if isinstance(state.detail, AirPoint) else None,
        "pump": _pump(state.detail) if isinstance(state.detail, PumpPoint) else None,
    }


def _air(air: AirPoint) -> dict[str, Any]:
    return {
        "air_m3_s": _band(air.air),
        "water_m3_s": _band(air.water),
        "air_normal_m3_s": air.air_normal,
        "air_inlet_m3_s": air.air_inlet,
        "air_to_water": _band(air.ratio),
        "gas_fraction": air.gas_fraction,
        "gas_speed_m_s": air.gas_speed,
        "water_speed_m_s": air.water_speed,
        "submergence_ratio": air.submergence,
        "static_efficiency": air.static_efficiency,
        "total_efficiency": air.total_efficiency,
        "blower_pressure_Pa": air.pressure,
        "stall_lift_m": _band(air.stall),
        "stall_margin_m": air.margin,
        "flow_lost_per_cm": air.lost_per_cm,
        "reserve_over_mixture_m": air.reserve,
        "downward_m_s": air.downward,
        "total_gas_pressure": _band(air.gas_pressure),
    }


def _pump(pump: PumpPoint) -> dict[str, Any]:
    return {
        "flow_of_one_m3_s": pump.flow,
        "head_of_pump_m": pump.head,
        "setting_m": dict(pump.ends),
        "speed_rpm": pump.speed,
        "speed_share": pump.share,
        "specific_speed": pump.specific_speed,
        "form": pump.form,
        "efficiency": pump.efficiency,
        "efficiency_rests_on": pump.rests_on,
        "shaft_power_W": pump.shaft,
        "motor_W": pump.motor,
        "motor_and_drive_efficiency": pump.drive or None,
        "shut_off_power_W": pump.shut_off,
        "run_out_m3_s": pump.run_out,
        "flow_stops_at_speed_share": pump.stop_share,
        "submergence_needed_m": pump.submergence[0] if pump.submergence else None,
        "submergence_m": pump.submergence[1] if pump.submergence else None,
        "bell_velocity_m_s": pump.bell_velocity,
        "npsh_needed_m": pump.npsh[0] if pump.npsh else None,
        "npsh_m": pump.npsh[1] if pump.npsh else None,
        "remarks": [remark.words for remark in pump.remarks],
    }


def _band(band: Band | None) -> dict[str, float] | None:
    return None if band is None else vars(band)
