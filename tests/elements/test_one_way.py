"""Flap valves and check valves between two waters, against closed forms."""

from __future__ import annotations

import math

import pytest

from loopplan.errors import BadFile
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult, Row

G = 9.80665

TEXT = """\
loopplan: 1
farm: {name: Outfall}
water: {temperature: 12 degC}
elements:
  box: {kind: box, area: 4 m2, floor: 0 m, wall top: 3 m}
  flap: {kind: flap valve, diameter: 300 mm, opening head: 30 mm, k: 1.5}
  sea: {kind: open water, level: 0.90 m}
  well: {kind: make-up, flow: 200 m3/h}
  spill: {kind: overflow, crest: 2.00 m, width: 1 m}
flow paths:
  new: [well, box]
  out: [box, flap, sea]
  surplus: [box, spill]
duty states: {clean: {}}
"""
"""An invented outfall: make-up leaves through a flap, or over a sill when the sea is high."""


def solved(*changes: tuple[str, str]) -> BudgetResult:
    text = TEXT
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return budget(read(text, "outfall.yaml"))


def row(result: BudgetResult, name: str = "flap") -> Row:
    return next(r for r in result.states[0].rows if r.element == name)


@pytest.mark.parametrize("flow", [15.0, 50.0, 200.0])
def test_open_flap(flow: float) -> None:
    found = row(solved(("flow: 200", f"flow: {flow}")))
    speed = flow / 3600.0 / (math.pi / 4.0 * 0.09)
    # Closed form: opening head plus K v2/2g.
    assert found.loss == pytest.approx(0.030 + 1.5 * speed**2 / (2.0 * G), abs=1e-9)
    assert found.flow == pytest.approx(flow / 3600.0)
    assert abs(found.mismatch) < 1e-9


@pytest.mark.parametrize("sea", ["2.3 m", "2.9 m"])
def test_shut_flap_holds_the_sea_back(sea: str) -> None:
    result = solved(("level: 0.90 m", f"level: {sea}"))
    assert abs(row(result).flow) < 1e-9
    assert row(result, "spill").flow == pytest.approx(200.0 / 3600.0)
    assert result.states[0].residuals.row < 1e-9
    (said,) = [f for f in result.findings if f.code == "one-way-shut"]
    assert said.place == "flap"
    assert "reverse-flow" not in {f.code for f in result.findings}


def test_it_opens_when_the_level_before_it_is_high_enough() -> None:
    said = {f.code for f in solved().findings}
    assert "one-way-shut" not in said


def test_a_stuck_flap_lets_the_sea_in() -> None:
    result = solved(("level: 0.90 m", "level: 2.50 m"), ("k: 1.5", "k: 1.5, leak: 100 %"))
    found = row(result)
    speed = math.sqrt(2.0 * G * (found.head_after - found.head_before) / 1.5)
    assert found.flow == pytest.approx(-math.pi / 4.0 * 0.09 * speed)
    assert row(result, "spill").flow == pytest.approx(200.0 / 3600.0 - found.flow)
    assert "reverse-flow" in {f.code for f in result.findings}


def test_check_valve_takes_the_loss_of_a_swing_check_by_its_size() -> None:
    from loopplan.physics.fittings import fitting_k

    result = solved(
        ("kind: flap valve, diameter: 300 mm, opening head: 30 mm, k: 1.5",
         "kind: check valve, diameter: 300 mm")
    )  # fmt: skip
    speed = 200.0 / 3600.0 / (math.pi / 4.0 * 0.09)
    k = fitting_k("swing check", diameter=0.3).value
    assert row(result).loss == pytest.approx(k * speed**2 / (2.0 * G), rel=1e-9)
    assert any(a[:2] == ("flap", "opening head") for a in result.assumed)


def test_a_size_beyond_the_table_is_refused() -> None:
    with pytest.raises(BadFile, match="state its loss coefficient"):
        solved(("diameter: 300 mm, opening head: 30 mm, k: 1.5",
                "diameter: 1500 mm, opening head: 30 mm"))  # fmt: skip


PUMPS = """\
loopplan: 1
farm: {name: Two pumps}
water: {temperature: 12 degC}
elements:
  sump: {kind: sump, area: 4 m2, floor: 0 m, wall top: 3 m}
  first: {kind: lift, curve: [[0 m3/h, 4 m], [100 m3/h, 3 m], [200 m3/h, 1 m]]}
  second: {kind: lift, curve: [[0 m3/h, 2.5 m], [100 m3/h, 1.5 m], [200 m3/h, 0.5 m]]}
  valve a: {kind: check valve, diameter: 150 mm}
  valve b: {kind: check valve, diameter: 150 mm}
  main: {kind: pipe, length: 20 m, diameter: 150 mm}
  tank: {kind: round tank, diameter: 6 m, floor: 0 m, wall top: 6 m}
  lip: {kind: weir, crest: 3.6 m, width: 1 m}
flow paths:
  one: [sump, first, valve a, main, tank, lip, sump]
  two: [sump, second, valve b, main]
levels: [{way: outside level, at: sump, level: 1.0 m}]
duty states: {clean: {}}
"""
"""An invented pair of pumps of which the weaker cannot lift its water into the common main."""


def test_the_weaker_of_two_pumps_is_shut_off_by_its_check_valve() -> None:
    # The weaker lift carries nothing, and that is said of the lift.
    result = budget(read(PUMPS, "pumps.yaml"))
    (found,) = [f for f in result.findings if f.code == "lift-stands-still"]
    assert found.place == "second"
    flows = {r.element: r.flow for r in result.states[0].rows}
    assert flows["valve b"] == pytest.approx(0.0, abs=1e-9 * flows["main"])
    assert flows["main"] == pytest.approx(flows["valve a"], rel=1e-9)
    # With a lower tank both carry.
    result = budget(read(PUMPS.replace("crest: 3.6 m", "crest: 1.8 m"), "pumps.yaml"))
    flows = {r.element: r.flow for r in result.states[0].rows}
    assert flows["valve a"] > flows["valve b"] > 0.0
    assert flows["main"] == pytest.approx(flows["valve a"] + flows["valve b"])


@pytest.mark.parametrize(("sea", "shut"), [("0.90 m", False), ("2.3 m", True)])
def test_valve_of_type_swing_check_is_a_check_valve(sea: str, shut: bool) -> None:
    """Closed form: the same as the kind that is made for it, shut and open."""
    flap = "{kind: flap valve, diameter: 300 mm, opening head: 30 mm, k: 1.5}"
    level = ("level: 0.90 m", f"level: {sea}")
    valve = solved(level, (flap, "{kind: valve, diameter: 300 mm, type: swing check}"))
    check = solved(level, (flap, "{kind: check valve, diameter: 300 mm}"))
    assert row(valve).flow == pytest.approx(row(check).flow, abs=1e-12)
    assert row(valve).loss == pytest.approx(row(check).loss, abs=1e-9)
    assert (abs(row(valve).flow) < 1e-9) is shut
    assert ("one-way-shut" in {f.code for f in valve.findings}) is shut
    assert "reverse-flow" not in {f.code for f in valve.findings}


def test_swing_check_off_its_table_is_refused() -> None:
    flap = "{kind: flap valve, diameter: 300 mm, opening head: 30 mm, k: 1.5}"
    with pytest.raises(BadFile) as caught:
        solved((flap, "{kind: valve, diameter: 2 mm, type: swing check}"))
    (said,) = caught.value.problems
    assert "check valve" in said.cure
