"""Findings about duty states: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS, Finding, Severity
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from tests.duty_loop import LOOP
from tests.test_findings_fire import Pair

PUMP = "pump: {kind: lift, flow: 180 m3/h}"
CURVE = "pump: {kind: lift, curve: [[0 m3/h, 4 m], [200 m3/h, 1 m]]}"
OWN = "duty states:\n  clean: {}\n"
SUMP = "area: 15 m2, floor: -0.80 m, wall top: 1.60 m"

PAIRS = [
    Pair("flow-share-idle", "pump", PUMP, CURVE, PUMP),
    # At half as much flow again the tank alone takes up more than half a square metre holds.
    Pair("sump-swing-dry", "sump", SUMP, SUMP.replace("15", "0.5"), SUMP),
    # At half the flow the sump takes what they give up, and rises from 0.40 m by some centimetres.
    Pair("sump-swing-over", "sump", SUMP, SUMP.replace("1.60", "0.45"), SUMP),
    Pair("lift-stands-still", "weak", "WEAK", "1.2 m", "3.5 m"),
    Pair("state-left-out", "farm", "SHARED", "own", "shared"),
]
STATES = {
    "flow-share-idle": OWN + "  low: {flow: 60 %}\n",
    "sump-swing-dry": OWN + "  peak: {flow: 150 %}\n",
    "sump-swing-over": OWN + "  low: {flow: 50 %}\n",
}

TWO_PUMPS = """\
loopplan: 1
farm: {name: Two pumps}
water: {temperature: 12 degC}
elements:
  tank: {kind: round tank, diameter: 6 m, floor: 0 m, wall top: 2.2 m,
    outlet: {kind: weir, crest: 1.6 m, width: 1 m}}
  sump: {kind: sump, area: 15 m2, floor: -0.8 m, wall top: 1.6 m}
  strong: {kind: lift, curve: [[0 m3/h, 4 m], [200 m3/h, 2 m]]}
  valve 1: {kind: check valve, diameter: 200 mm}
  weak: {kind: lift, curve: [[0 m3/h, WEAK], [200 m3/h, 0.5 m]]}
  valve 2: {kind: check valve, diameter: 200 mm}
  riser: {kind: pipe, length: 20 m, diameter: 200 mm}
  well: {kind: make-up, flow: 3 m3/h}
  spillway: {kind: overflow, crest: 0.4 m, width: 1 m}
flow paths:
  loop: [tank, sump, strong, valve 1, riser, tank]
  second: [sump, weak, valve 2, riser]
  new: [well, sump]
  surplus: [sump, spillway]
duty states: {clean: {}}
"""
"""An invented loop in which two pumps feed one riser."""

TWO_TANKS = """\
loopplan: 1
farm: {name: Two tanks}
water: {temperature: 12 degC}
elements:
  box: {kind: box, area: 6 m2, floor: 0 m, wall top: 2.4 m}
  feed 1: {kind: pipe, length: 5 m, diameter: 200 mm}
  feed 2: {kind: pipe, length: 5 m, diameter: 200 mm}
  tank 1: {kind: round tank, diameter: 6 m, floor: 0 m, wall top: 2.2 m}
  tank 2: {kind: round tank, diameter: 6 m, floor: 0 m, wall top: 2.2 m}
LIFTS
  well: {kind: make-up, flow: 3 m3/h}
  spillway: {kind: overflow, crest: 1.8 m, width: 1 m}
flow paths:
PATHS
  new: [well, box]
  surplus: [box, spillway]
"""
"""An invented loop of two tanks that a box feeds, with a pump each or one for both."""

OWN_PUMPS = (
    "  pump 1: {kind: lift, flow: 100 m3/h}\n  pump 2: {kind: lift, flow: 100 m3/h}",
    "  one: [box, feed 1, tank 1, pump 1, box]\n  two: [box, feed 2, tank 2, pump 2, box]",
)
SHARED_PUMP = (
    "  sump: {kind: sump, area: 6 m2, floor: 0 m, wall top: 2.2 m}\n"
    "  pipe 1: {kind: pipe, length: 5 m, diameter: 200 mm}\n"
    "  pipe 2: {kind: pipe, length: 5 m, diameter: 200 mm}\n"
    "  pump: {kind: lift, flow: 100 m3/h}",
    "  one: [box, feed 1, tank 1, pipe 1, sump, pump, box]\n"
    "  two: [box, feed 2, tank 2, pipe 2, sump]",
)


def findings(pair: Pair, new: str) -> list[Finding]:
    if pair.code == "lift-stands-still":
        text = TWO_PUMPS.replace(pair.old, new)
    elif pair.code == "state-left-out":
        elements, paths = OWN_PUMPS if new == "own" else SHARED_PUMP
        text = TWO_TANKS.replace("LIFTS", elements).replace("PATHS", paths)
    else:
        assert LOOP.count(pair.old) == 1
        text = LOOP.replace(pair.old, new).replace(OWN, STATES[pair.code])
    found = budget(read(text, "duty.yaml")).findings
    # What only runs over an overflow is a note.
    return [f for f in found if f.severity is not Severity.NOTE or f.code == "flow-share-idle"]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p.code)
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert pair.code not in {f.code for f in findings(pair, pair.quiet)}
    (found,) = [f for f in findings(pair, pair.fires) if f.code == pair.code]
    assert found.place == pair.place
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.cure and found.source and found.message and found.state


def test_a_lift_that_stands_still_is_told_what_stands_against_it() -> None:
    (pair,) = [p for p in PAIRS if p.code == "lift-stands-still"]
    found = next(f for f in findings(pair, "1.2 m") if f.code == pair.code)
    # Its valve bears the rest of what the strong pump holds in the riser.
    assert found.limit == pytest.approx(1.2, rel=1e-12)
    assert found.value is not None and found.value > 1.2
    result = budget(read(TWO_PUMPS.replace("WEAK", "1.2 m"), "two.yaml"))
    strong, weak = result.lifts
    assert (strong.states[0].runs, weak.states[0].runs) == (True, False)
    assert weak.states[0].flow == pytest.approx(0.0, abs=1e-12)
    # It makes no difference whether the other is there at all.
    alone = budget(read(TWO_PUMPS.replace("WEAK", "1.0 m"), "two.yaml")).lifts[0].states[0]
    assert strong.states[0].flow == pytest.approx(alone.flow, rel=1e-9)


def test_the_state_that_is_left_out_says_why() -> None:
    (pair,) = [p for p in PAIRS if p.code == "state-left-out"]
    (found,) = [f for f in findings(pair, "own") if f.code == pair.code]
    assert found.state == "one out: tank 1"
    assert "'pump 1' has no way round" in found.message


def test_a_share_that_a_changed_speed_answers_is_not_idle() -> None:
    states = OWN + "  low: {flow: 60 %, change: {pump: {speed: 80 %}}}\n"
    text = LOOP.replace(PUMP, CURVE).replace(OWN, states)
    assert "flow-share-idle" not in {f.code for f in budget(read(text, "x.yaml")).findings}


def test_what_runs_over_an_overflow_is_a_note() -> None:
    text = LOOP.replace(OWN, STATES["sump-swing-over"])
    (found,) = [f for f in budget(read(text, "x.yaml")).findings if f.code == "sump-swing-over"]
    assert (found.severity, found.state) == (Severity.NOTE, "low")
    assert "run over" in found.message
