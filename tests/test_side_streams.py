"""A share of flow is of the lifts that make the water go round, not of pressure side streams."""

from __future__ import annotations

import pytest

from loopplan.report.words import main_path_loss, path_losses
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult


def farm(main: str = "flow: 300 m3/h", wash: str = "needed pressure: 40 m", more: str = "") -> str:
    """An invented tank with a main lift and a pump that washes something."""
    return f"""
loopplan: 1
farm: {{name: washed}}
water: {{temperature: 12 degC}}
elements:
  tank: {{kind: round tank, diameter: 6 m, floor: 0 m, wall top: 1.8 m,
    outlet: {{kind: weir, crest: 1.2 m, width: 2 m}}}}
  sump: {{kind: sump, area: 9 m2, floor: -1 m, wall top: 1.5 m}}
  main lift: {{kind: lift, {main}}}
  wash pump: {{kind: lift, flow: 10 m3/h}}
  wash nozzles: {{kind: loss, loss: 40 m, flow: 10 m3/h, {wash}}}
flow paths:
  loop: [tank, sump, main lift, tank]
  wash: [sump, wash pump, wash nozzles, tank]
levels: [{{way: outside level, at: sump, level: 0.4 m}}]
duty states:
  usual: {{}}
  winter: {{flow: 50 % {more}}}
"""


def run(written: str) -> BudgetResult:
    return budget(read(written.encode(), "farm.yaml"))


def flows(result: BudgetResult, lift: str) -> list[float]:
    found = next(r for r in result.lifts if r.element == lift)
    return [state.flow * 3600.0 for state in found.states]


def test_a_wash_pump_does_not_follow_the_season() -> None:
    result = run(farm())
    assert flows(result, "main lift") == pytest.approx([300.0, 150.0])
    assert flows(result, "wash pump") == pytest.approx([10.0, 10.0])
    assert "nozzle-pressure-short" not in {f.code for f in result.findings}


def test_a_state_may_change_the_wash_pump_by_name() -> None:
    result = run(farm(more=", change: {wash pump: {flow: 4 m3/h}}"))
    assert flows(result, "wash pump") == pytest.approx([10.0, 4.0])


def test_a_side_stream_at_the_pressure_of_a_low_head_pump_follows() -> None:
    result = run(farm(wash="needed pressure: 4.9 m"))
    assert flows(result, "wash pump") == pytest.approx([10.0, 5.0])
    result = run(farm(wash="needed pressure: 5.1 m"))
    assert flows(result, "wash pump") == pytest.approx([10.0, 10.0])


def test_the_greater_lift_follows_even_if_it_drives_nozzles() -> None:
    # Where the lift with the pressure need is the one that makes the water go round.
    result = run(farm(main="flow: 6 m3/h"))
    assert flows(result, "wash pump") == pytest.approx([10.0, 5.0])
    assert flows(result, "main lift") == pytest.approx([6.0, 3.0])


def test_the_summary_tells_what_the_main_path_loses() -> None:
    (usual, _) = run(farm()).states
    losses = path_losses(usual)
    assert losses["wash"] == pytest.approx(40.0)
    assert main_path_loss(usual) == losses["loop"] < 1.5


def test_a_path_ends_at_the_level_of_the_basin_that_it_leads_to() -> None:
    # What leaves the tank over its sill is told by the path that goes on from there.
    rows = run(farm()).states[0].rows
    assert [r.element for r in rows if r.path == "wash"] == ["wash pump", "wash nozzles"]
    assert [(r.element, r.part) for r in rows if r.path == "loop"] == [
        ("tank", "outlet"),
        ("main lift", ""),
    ]
