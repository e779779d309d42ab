"""Drum filters: levels that swing between clean and washed, bypass, findings, wash water."""

from __future__ import annotations

import pytest

from loopplan.elements.drum import DrumFilter
from loopplan.errors import BadFile
from loopplan.physics.weirs import weir_coefficients, weir_head
from loopplan.report.terminal import terminal_text
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult, Row, StateResult

DRUM_LOOP = """\
loopplan: 1
farm: {name: Drum loop}
water: {temperature: 12 degC}
elements:
  tank: {kind: round tank, diameter: 6 m, floor: 0 m, wall top: 2.2 m,
    outlet: {kind: weir, crest: 1.60 m, width: 1.0 m}}
  drum: {kind: drum filter, axis: 1.0 m, diameter: 1.2 m, drum width: 1.5 m, clean loss: 60 mm,
    flow: 300 m3/h, trigger: 200 mm, greatest differential: 250 mm, sill crest: 0.95 m,
    sill width: 1.5 m, bypass crest: 1.42 m, bypass width: 1.5 m, wash flow: 10 m3/h,
    area: 2 m2, floor: 0.2 m, wall top: 1.7 m}
  sump: {kind: sump, area: 5 m2, floor: -0.80 m, wall top: 1.60 m}
  pump: {kind: lift, flow: 300 m3/h}
  riser: {kind: pipe, length: 10 m, diameter: 300 mm}
  well: {kind: make-up, flow: 6 m3/h}
  spillway: {kind: overflow, form: V-notch, angle: 60 deg, crest: 0.70 m}
flow paths:
  loop: [tank, drum, sump, pump, riser, tank]
  new water: [well, sump]
  surplus: [sump, spillway]
duty states:
  clean: {}
  fouled: {condition: fouled}
  low: {flow: 50 %, condition: fouled}
  heavy: {flow: 200 %, condition: fouled}
"""
"""An invented loop."""


def solved(*changes: tuple[str, str]) -> BudgetResult:
    text = DRUM_LOOP
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return budget(read(text, "drum.yaml"))


def row(state: StateResult, part: str) -> Row:
    (found,) = [r for r in state.rows if r.element == "drum" and r.part == part]
    return found


def level(state: StateResult) -> float:
    (found,) = [r.level for r in state.levels if r.element == "drum"]
    return found


def behind(flow: float) -> float:
    """Level behind the drum by the sill's own formula, free fall (closed form of the law)."""
    c = weir_coefficients("sharp", width=1.5, crest_height=0.75)
    return 0.95 + float(weir_head(flow, c.c0, c.c1, c.kh, c.exponent))


def codes(result: BudgetResult, state: str = "") -> set[str]:
    return {
        f.code
        for f in result.findings
        if f.place == "drum" and (not state or state in (f.state, *f.also))
    }


def test_upstream_level_swings_between_clean_loss_and_trigger() -> None:
    clean, fouled, low, heavy = solved().states
    full = 300.0 / 3600.0
    # Closed form: 60 mm at the stated flow; 4 x 60 mm at twice it is more than the trigger.
    assert level(clean) == pytest.approx(behind(full) + 0.060, abs=1e-6)
    assert level(fouled) == pytest.approx(behind(full) + 0.200, abs=1e-6)
    assert level(low) == pytest.approx(behind(0.5 * full) + 0.200, abs=1e-6)
    assert level(heavy) == pytest.approx(behind(2.0 * full) + 0.240, abs=1e-6)


def test_a_bypass_sill_that_is_not_reached_stays_dry_and_is_not_spent_twice() -> None:
    for state in solved().states:
        side = row(state, "bypass sill")
        assert side.dry
        assert side.flow == pytest.approx(0.0, abs=1e-9)
        through = [r for r in state.rows if r.path == "loop"]
        # Round the loop all that is lost is lifted back.
        assert through[-1].running == pytest.approx(0.0, abs=1e-6)


def test_a_dry_bypass_sill_prints_no_loss() -> None:
    lines = terminal_text(solved(), width=120).splitlines()
    told = [line for line in lines if "bypass sill" in line]
    assert told
    # The name, no flow, two levels, and the running sum; no loss and no share of it.
    cells = [line.split("bypass sill")[1].split() for line in told]
    assert all(len(found) == 4 and found[0] == "0" for found in cells), told


def test_a_low_bypass_takes_what_the_trigger_does_not_let_through() -> None:
    result = solved(("bypass crest: 1.42 m", "bypass crest: 1.15 m"))
    state = result.states[1]
    screen, side = row(state, "screen"), row(state, "bypass sill")
    assert side.flow > 0.01
    assert screen.flow + side.flow == pytest.approx(300.0 / 3600.0, rel=1e-6)
    assert screen.loss == pytest.approx(0.200, abs=1e-6)
    assert screen.head_after == pytest.approx(behind(screen.flow), abs=1e-6)
    assert max(abs(r.mismatch) for r in state.rows) < 1e-6


def test_bypass_is_told_with_what_runs_over_it() -> None:
    assert "bypass-flows" not in codes(solved())
    result = solved(("bypass crest: 1.42 m", "bypass crest: 1.20 m"))
    assert "bypass-flows" in codes(result, "fouled")
    assert "bypass-flows" not in codes(result, "clean")
    (found,) = [f for f in result.findings if f.code == "bypass-flows"]
    assert "may never start" not in found.message
    result = solved(("bypass crest: 1.42 m", "bypass crest: 1.10 m"))
    (found,) = [f for f in result.findings if f.code == "bypass-flows"]
    assert "may never start" in found.message


def test_a_drum_too_deep_in_water() -> None:
    # Inside, 70 % of 1.2 m above its bottom at 0.4 m is 1.24 m; heavy flow stands above it.
    result = solved()
    (found,) = [f for f in result.findings if f.code == "drum-drowned"]
    assert found.limit == pytest.approx(1.24)
    assert "drum-drowned" not in codes(result, "clean")
    assert "drum-drowned" not in codes(solved(("axis: 1.0 m", "axis: 1.2 m")))


def test_a_drum_too_deep_on_its_outside() -> None:
    lower = ("axis: 1.0 m", "axis: 0.6 m, wet inside: 100 %")
    (found,) = [f for f in solved(lower).findings if f.code == "drum-drowned"]
    assert "outside" in found.message
    # 60 % of 1.2 m above the bottom of the drum at the floor.
    assert found.limit == pytest.approx(0.72)
    higher = ("axis: 1.0 m", "axis: 0.6 m, wet inside: 100 %, wet outside: 100 %")
    assert "drum-drowned" not in codes(solved(higher), "clean")


def test_a_sill_that_the_level_after_it_drowns() -> None:
    assert "weir-drowned" not in codes(solved())
    assert "weir-drowned" in codes(solved(("60 deg, crest: 0.70 m", "60 deg, crest: 0.93 m")))


def test_differential_above_the_greatest() -> None:
    assert "drum-differential" not in codes(solved())
    result = solved(("greatest differential: 250 mm", "greatest differential: 230 mm"))
    assert "drum-differential" in codes(result, "heavy")
    assert "drum-differential" not in codes(result, "fouled")


def test_clean_loss_above_the_trigger_means_washing_without_end() -> None:
    result = solved()
    assert "drum-overloaded" in codes(result, "heavy")
    assert "drum-overloaded" not in codes(result, "fouled")


def test_loading_of_the_wet_area() -> None:
    # At the axis half the circumference is wet: pi/2 x 1.2 m x 1.5 m, 2.83 m2 (closed form).
    drum = read(DRUM_LOOP, "x").elements["drum"]
    assert isinstance(drum, DrumFilter)
    assert drum._wet_area(1.0) == pytest.approx(3.141592653589793 / 2.0 * 1.2 * 1.5)
    assert drum._wet_area(3.0) == pytest.approx(3.141592653589793 * 1.2 * 1.5)
    assert drum._wet_area(0.0) == 0.0
    more = "trigger: 200 mm, greatest loading: %s m/h"
    assert "screen-overloaded" in codes(solved(("trigger: 200 mm", more % 90)), "clean")
    assert "screen-overloaded" not in codes(solved(("trigger: 200 mm", more % 100)), "clean")


def test_wash_water_is_the_time_share_of_the_nozzles_flow() -> None:
    scenario = read(DRUM_LOOP, "drum.yaml")
    drum = scenario.elements["drum"]
    clean, fouled = (s.conditions for s in scenario.states[:2])
    assert drum.waste(clean) == pytest.approx(0.15 * 10.0 / 3600.0)
    assert drum.waste(fouled) == pytest.approx(10.0 / 3600.0)
    assert scenario.elements["tank"].waste(clean) == 0.0


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("greatest differential: 250 mm", "greatest differential: 150 mm"),
        ("sill crest: 0.95 m", "sill crest: 0.30 m"),
        ("bypass width: 1.5 m, ", ""),
        ("bypass crest: 1.42 m", "bypass crest: 1.80 m"),
        ("floor: 0.2 m, wall top: 1.7 m", "floor: 1.8 m, wall top: 1.7 m"),
    ],
)
def test_what_cannot_be_built_is_refused(old: str, new: str) -> None:
    with pytest.raises(BadFile):
        solved((old, new))
