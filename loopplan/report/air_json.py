"""The air study as a versioned JSON document and as CSV: SI units, named in the keys."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from loopplan.report.as_csv import FINDING, finding_rows, table_text
from loopplan.report.as_json import rounded
from loopplan.report.words import NOT_VALIDATED
from loopplan.studies.air_results import AirResult, HeaderCase, HeaderResult, UserAir
from loopplan.studies.lift_sheet_results import Band

SCHEMA = "loopplan.air/1"
"""Name and version of the document; it may gain keys within a version."""

AIR_STATES = {
    "free": "20 degC, 101.325 kPa, dry",
    "normal": "0 degC, 101.325 kPa, dry",
    "inlet": "as the blower draws it in, behind its filter",
}


def air_json(result: AirResult) -> str:
    """Return the study as JSON text that repeats byte for byte."""
    document = rounded(air_document(result))
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def air_document(result: AirResult) -> dict[str, Any]:
    """Return the study as plain data, not yet rounded."""
    return {
        "schema": SCHEMA,
        "farm": result.farm,
        "note": result.note,
        "file": result.file,
        "altitude_m": result.altitude,
        "air_states": AIR_STATES,
        "airlifts": NOT_VALIDATED,
        "cases": list(result.cases),
        "left_out": list(result.left_out),
        "agreement": {"rounds": len(result.history), "change_by_round": list(result.history)},
        "headers": [_header(header) for header in result.headers],
        "lifts": [
            {
                "lift": lift.lift,
                "header": lift.header,
                "driven_by_its_air": lift.driven,
                "water": [{"case": case, "flow_m3_s": flow} for case, flow in lift.flows],
            }
            for lift in result.lifts
        ],
        "one_blower_out": [
            {
                "header": out.header,
                "standby": out.standby,
                "left_running": out.left,
                "lifts": [
                    {"lift": lift, "before_m3_s": before, "after_m3_s": after}
                    for lift, before, after in out.lifts
                ],
            }
            for out in result.outs
        ],
        "ways": [
            {
                "way": way.name,
                "blowers": way.blowers,
                "electric_W": way.electric,
                "energy_a_year_J": way.energy,
                "cost_a_year": way.cost,
            }
            for way in result.ways
        ],
        "running_time_a_year_s": result.hours,
        "currency": result.currency,
        "findings": [finding.as_dict() for finding in result.findings],
        "assumed": [
            {"place": place, "field": field, "value": value, "source": source}
            for place, field, value, source in result.assumed
        ],
        "sources": [{"key": key, "text": text} for key, text in result.sources],
    }


def _header(header: HeaderResult) -> dict[str, Any]:
    least, most = header.velocity_range or (None, None)
    return {
        "header": header.header,
        "class": header.blower_class,
        "running": header.running,
        "standby": header.standby,
        "rated_air_m3_s": header.rated_air,
        "rated_pressure_Pa": header.rated_pressure,
        "motor_W": header.motor,
        "atmosphere_Pa": header.atmosphere,
        "speed": header.speed,
        "speed_asked": header.speed_asked,
        "speed_stated": header.speed_stated,
        "least_speed": header.least_speed,
        "least_air_m3_s": header.least_air,
        "deepest_m": header.deepest,
        "stands_far": header.far,
        "rule_head_m": header.rule_head,
        "rule_pressure_Pa": header.rule_pressure,
        "starting_pressure_Pa": header.starting,
        "starting_user": header.standing,
        "main_bore_m": header.bore,
        "main_velocity_least_m_s": least,
        "main_velocity_most_m_s": most,
        "cases": [_case(case) for case in header.cases],
    }


def _case(case: HeaderCase) -> dict[str, Any]:
    return {
        "case": case.case,
        "running": case.running,
        "free_air_m3_s": case.free,
        "inlet_air_m3_s": case.inlet,
        "normal_air_m3_s": case.normal,
        "header_pressure_Pa": case.header,
        "main_loss_Pa": case.main_loss,
        "delivery_pressure_Pa": case.delivery,
        "rise_Pa": case.rise,
        "margin_Pa": case.margin,
        **_band("temperature", "degC", case.temperature),
        "ideal_W": case.ideal,
        **_band("shaft", "W", case.shaft),
        **_band("electric", "W", case.electric),
        "main_velocity_m_s": case.velocity,
        "users": [_user(user) for user in case.users],
    }


def _band(name: str, unit: str, band: Band) -> dict[str, float]:
    return {
        f"{name}_{unit}": band.value,
        f"{name}_least_{unit}": band.least,
        f"{name}_most_{unit}": band.most,
    }


def _user(user: UserAir) -> dict[str, Any]:
    return {
        "user": user.user,
        "on": user.on,
        "stated_free_air_m3_s": user.stated,
        "free_air_m3_s": user.free,
        "inlet_air_m3_s": user.inlet,
        "normal_air_m3_s": user.normal,
        "depth_m": user.depth,
        "column_Pa": user.column,
        "diffuser_loss_Pa": user.diffuser,
        "branch_loss_Pa": user.pipe,
        "valve_loss_Pa": user.valve,
        "branch_velocity_m_s": user.velocity,
    }


def air_csv(result: AirResult) -> dict[str, str]:
    """Return name and content of each file; the numbers are those of the JSON document."""
    document: dict[str, Any] = rounded(air_document(result))
    return {
        "headers.csv": table_text(_header_rows(document)),
        "users.csv": table_text(_user_rows(document)),
        "lifts.csv": table_text(_lift_rows(document), ("lift", "header", "case", "flow_m3_s")),
        "ways.csv": table_text(document["ways"]),
        "findings.csv": table_text(finding_rows(document["findings"]), FINDING),
    }


def _header_rows(document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for header in document["headers"]:
        about = {key: value for key, value in header.items() if key != "cases"}
        for case in header["cases"]:
            own = {key: value for key, value in case.items() if key != "users"}
            own["running_in_case"] = own.pop("running")
            yield {**about, **own}


def _user_rows(document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for header in document["headers"]:
        for case in header["cases"]:
            for user in case["users"]:
                yield {"header": header["header"], "case": case["case"], **user}


def _lift_rows(document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for lift in document["lifts"]:
        for water in lift["water"]:
            yield {"lift": lift["lift"], "header": lift["header"], **water}
