"""The study of lifts as text, JSON and CSV: one truth, that fits and validates."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from loopplan.report.lifts_json import SCHEMA, lifts_csv, lifts_json
from loopplan.report.terminal_lifts import lifts_text
from loopplan.scenario.reader import read
from loopplan.shipped import names, scenario_path
from loopplan.studies.lift_sheet_results import AirPoint, LiftStudy, PumpPoint
from loopplan.studies.lift_sheets import lift_study
from tests.lift_loop import air, loss, study
from tests.readme_blocks import loopplan

PRICED = (
    air("oxygen: 7 mg/L, carbon dioxide: 12 mg/L, yearly cost: 900"),
    ("duty states", "prices: {currency: EUR, electricity: 0.15}\nduty states"),
)


@cache
def shipped(name: str) -> LiftStudy:
    return lift_study(read(scenario_path(name)))


def document(found: LiftStudy) -> dict[str, Any]:
    def refuse(text: str) -> None:
        raise AssertionError(text)

    made: dict[str, Any] = json.loads(lifts_json(found), parse_constant=refuse)
    return made


def numbers(value: object) -> list[float]:
    if isinstance(value, dict):
        return [x for inner in value.values() for x in numbers(inner)]
    if isinstance(value, list):
        return [x for inner in value for x in numbers(inner)]
    return [float(value)] if isinstance(value, int | float) else []


@pytest.mark.parametrize("name", names())
def test_json_is_what_the_study_says(name: str) -> None:
    found = shipped(name)
    told = document(found)
    assert told["schema"] == SCHEMA
    assert all(math.isfinite(x) for x in numbers(told))
    for sheet, plain in zip(found.sheets, told["lifts"], strict=True):
        assert plain["lift"] == sheet.element
        assert plain["recommended"] == (sheet.recommended or None)
        for device, other in zip(sheet.devices, plain["devices"], strict=True):
            assert (other["device"], other["serves"]) == (device.device, device.feasible)
            assert (device.energy is None) is (other["energy_a_year_J"] is None)
            if device.energy is not None:
                value = other["energy_a_year_J"]["value"]
                assert value == pytest.approx(device.energy.value, rel=1e-8)
            for state, row in zip(device.states, other["states"], strict=True):
                assert row["state"] == state.state
                assert row["against"] == list(state.against)
                assert (row["airlift"] is None) is not isinstance(state.detail, AirPoint)
                assert (row["pump"] is None) is not isinstance(state.detail, PumpPoint)
                if isinstance(state.detail, AirPoint):
                    value = row["airlift"]["air_m3_s"]["value"]
                    assert value == pytest.approx(state.detail.air.value, rel=1e-8)
                if isinstance(state.detail, PumpPoint):
                    value = row["pump"]["shaft_power_W"]
                    assert value == pytest.approx(state.detail.shaft, rel=1e-8)


@pytest.mark.parametrize("name", names())
def test_csv_is_what_json_says(name: str) -> None:
    found = shipped(name)
    told = document(found)
    files = {key: list(csv.DictReader(io.StringIO(text))) for key, text in lifts_csv(found).items()}
    devices = [(s["lift"], d) for s in told["lifts"] for d in s["devices"]]
    for row, (lift, device) in zip(files["devices.csv"], devices, strict=True):
        assert (row["lift"], row["device"]) == (lift, device["device"])
        energy = device["energy_a_year_J"]
        assert row["energy_a_year_J: value"] == ("" if energy is None else str(energy["value"]))
        if device["gas"]:
            oxygen = device["gas"]["oxygen_kg_s"]["least"]
            assert row["gas: oxygen_kg_s: least"] == str(oxygen)
    states = [(s["lift"], d["device"], x) for s in told["lifts"] for d in s["devices"]
              for x in d["states"]]  # fmt: skip
    for row, (lift, device, state) in zip(files["device_states.csv"], states, strict=True):
        assert (row["lift"], row["device"], row["state"]) == (lift, device, state["state"])
        assert row["against"] == "; ".join(state["against"])
        for key in ("value", "least", "most"):
            power = state["power_W"]
            assert row[f"power_W: {key}"] == ("" if power is None else str(power[key]))
        if state["airlift"]:
            value = str(state["airlift"]["stall_margin_m"])
            assert row["airlift: stall_margin_m"] == value
        if state["pump"]:
            assert row["pump: speed_rpm"] == str(state["pump"]["speed_rpm"])


@pytest.mark.parametrize("width", [80, 100, 120])
@pytest.mark.parametrize("name", names())
def test_no_line_is_too_long_and_no_digit_is_cut(name: str, width: int) -> None:
    narrow, wide = lifts_text(shipped(name), width), lifts_text(shipped(name), 240)
    assert max(len(line) for line in narrow.splitlines()) <= width
    assert "\u2026" not in narrow
    assert told(narrow) <= told(wide)


def told(text: str) -> set[str]:
    """Numbers of the rows of tables, which are those lines with blanks side by side."""
    rows = [line for line in text.splitlines() if re.search(r"\d   *\d", line)]
    return {n for row in rows for n in re.findall(r"\d[\d,.]*", row.replace("-", " "))}


@pytest.mark.parametrize("width", [80, 100, 120])
def test_money_oxygen_and_bands_fit_too(width: int) -> None:
    found = study(*PRICED)
    many = replace(found, currency="dinars of a far away land")
    for each in (found, many):
        text = lifts_text(each, width)
        assert max(len(line) for line in text.splitlines()) <= width
    text = lifts_text(found, width)
    gas = found.sheets[0].devices[0].gas
    assert gas is not None
    assert f"{gas.oxygen.value * 3600.0:.1f}" in text
    assert f"{gas.oxygen.least * 3600.0:.1f}" in text
    assert "kg/h of carbon dioxide" in " ".join(text.split())


def test_text_says_what_it_rests_on() -> None:
    text = lifts_text(study(*PRICED))
    flat = " ".join(text.split())
    assert "not validated at farm size" in flat
    assert "common practice, no source" in flat
    assert "transfer was measured 3.8 to 5.8 m deep" in flat
    assert "a caution, not an all-clear" in flat
    assert "a responsible engineer checks" in flat


def test_a_device_that_cannot_serve_is_told_with_its_reason() -> None:
    text = " ".join(lifts_text(study(air(), loss(0.75))).split())
    assert "airlift: 0.75 m of lift is above the 0.70 m at which airlifts end in practice" in text
    assert "device-cannot-serve" in text


def test_a_farm_without_lift_says_so() -> None:
    empty = replace(study(), sheets=(), findings=())
    assert "The loop has no lift." in lifts_text(empty)
    assert document(empty)["lifts"] == []
    assert lifts_csv(empty)["devices.csv"].strip() == ""


def test_the_command_writes_the_same_and_fails_on_request() -> None:
    run = loopplan("lifts", "trout-channel", "--json")
    assert run.returncode == 0 and run.stderr == ""
    found = replace(shipped("trout-channel"), file="trout-channel.yaml")
    assert run.stdout == lifts_json(found)
    text = loopplan("lifts", "trout-channel")
    assert text.stdout == lifts_text(found, 100)


def test_exit_code_of_a_device_that_cannot_serve(tmp_path: Any) -> None:
    text = scenario_path("smolt-hall").read_text(encoding="utf-8")
    old = "cone pump: {kind: lift, flow: 120 m3/h, device: centrifugal pump"
    file = tmp_path / "hall.yaml"
    file.write_text(text.replace(old, old.replace("centrifugal pump", "airlift")), "utf-8")
    assert loopplan("lifts", str(file)).returncode == 0
    assert loopplan("lifts", str(file), "--fail-on", "severe").returncode == 1
