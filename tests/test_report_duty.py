"""What the reports say of duty states: what is shut, what the others carry, the sump's swing."""

from __future__ import annotations

import csv
import io
import json

import pytest

from loopplan.report.as_csv import budget_csv
from loopplan.report.as_json import budget_json
from loopplan.report.terminal import View, terminal_text
from loopplan.report.words import main_path_loss
from loopplan.studies.budget import budget_of
from loopplan.studies.results import BudgetResult
from tests.duty_loop import solved

STATES = "  out: {out of service: [gate 2]}\n  low: {flow: 50 %}\n"


@pytest.fixture(scope="module")
def result() -> BudgetResult:
    return budget_of(solved(states=STATES))


def test_a_person_sees_what_is_shut_and_cut_off(result: BudgetResult) -> None:
    lines = terminal_text(result, View(states=("out",))).splitlines()
    assert [line.split() for line in lines if line.startswith("  gate 2")] == [
        ["gate", "2", "shut"]
    ]
    assert sum("bed 2 (cut off)" in line for line in lines) == 1
    told = " ".join(" ".join(lines).split())
    assert (
        "out: without bed 2 each unit carries, of its usual flow: bed 1 150 %, bed 3 150 %" in told
    )
    usual = terminal_text(result)
    assert "shut" not in usual.split("Shares")[0] and "(cut off)" not in usual


def test_the_swing_is_told_in_a_sentence(result: BudgetResult) -> None:
    (swing,) = result.swings
    told = " ".join(terminal_text(result).split())
    assert f"{swing.low.level:.3f} m ({swing.low.state})" in told
    assert f"{swing.high.level:.3f} m (low)" in told
    assert f"{swing.spilled:.2f} m3" in told


def test_json_and_csv_hold_the_same(result: BudgetResult) -> None:
    document = json.loads(budget_json(result))
    out = document["states"][1]
    assert {row["element"] for row in out["rows"] if row["shut"]} == {"gate 2", "sill 2"}
    assert {row["element"] for row in out["levels"] if row["isolated"]} == {"bed 2"}
    (swing,) = document["sump_swings"]
    rows = list(csv.DictReader(io.StringIO(budget_csv(result)["sump_swings.csv"])))
    assert [float(row["level_m"]) for row in rows] == [s["level_m"] for s in swing["levels"]]
    assert [row["state"] for row in rows] == ["clean", "out", "low"]
    assert swing["swing_m"] == pytest.approx(
        max(s["level_m"] for s in swing["levels"]) - min(s["level_m"] for s in swing["levels"])
    )


def test_a_shut_part_of_the_main_path_is_gone_round() -> None:
    # Closed form: what a lift gains is lost on any way round, also where the drawn one is shut.
    found = budget_of(solved(states="  out: {out of service: [gate 1]}\n"))
    state = next(state for state in found.states if state.name == "out")
    assert any(row.shut and row.path == state.rows[0].path for row in state.rows)
    (lift,) = found.lifts
    head = next(point.head for point in lift.states if point.state == "out")
    assert main_path_loss(state) == pytest.approx(head, abs=1e-6)
