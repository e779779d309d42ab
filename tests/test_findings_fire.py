"""Every declared finding: one loop that brings it forth, and a near one that does not."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from pathlib import Path

import pytest

from loopplan.findings import FINDING_KINDS, Finding
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget

CALM = """\
loopplan: 1
farm: {name: Calm loop}
water: {temperature: 12 degC}
elements:
  tank:
    kind: round tank
    diameter: 6 m
    floor: 0 m
    wall top: 1.60 m
    outlet: {kind: weir, crest: 1.10 m, width: 1.0 m, crest height: 1.1 m}
  channel: {kind: channel, length: 10 m, width: 0.30 m, floor up: 0.50 m, floor down: 0.50 m,
    wall top: 1.50 m}
  lip: {kind: fall, crest: 1.00 m, width: 1 m, needed fall: 4 cm}
  box: {kind: box, area: 4 m2, floor: -0.40 m, wall top: 1.60 m}
  sieve: {kind: screen, width: 1.0 m, floor: 0.40 m, free area: 50 %}
  pit: {kind: box, area: 2 m2, floor: -0.40 m, wall top: 1.60 m}
  drain: {kind: pipe, length: 12 m, diameter: 250 mm, crown: 0.60 m}
  bed: {kind: loss, points: [[60 m3/h, 10 mm], [150 m3/h, 60 mm]]}
  sump: {kind: sump, area: 15 m2, floor: -0.80 m, wall top: 1.60 m}
  pump: {kind: lift, flow: 120 m3/h, device: airlift}
  riser: {kind: loss, loss: 30 mm, flow: 120 m3/h}
  well: {kind: make-up, flow: 6 m3/h}
  spillway: {kind: overflow, form: V-notch, angle: 60 deg, crest: 0.80 m}
flow paths:
  loop: [tank, channel, lip, box, sieve, pit, drain, bed, sump, pump, riser, tank]
  new water: [well, sump]
  surplus: [sump, spillway]
duty states: {clean: {}}
"""
"""An invented loop that nothing is to be said about."""


@dataclass(frozen=True)
class Pair:
    """What is changed of the calm loop, into what that fires, and into what that does not."""

    code: str
    place: str
    old: str
    fires: str
    quiet: str


SEA = "  well: {kind: make-up, flow: 6 m3/h}\n"
LINK = "  link: {kind: pipe, length: 5 m, diameter: 60 mm}\n  sea: {kind: open water, level: %s}\n"
TANK_WALL = "diameter: 6 m\n    floor: 0 m\n    wall top: 1.60 m"
RISER = "{kind: loss, loss: 30 mm, flow: 120 m3/h}"
NOTCH = "form: V-notch, angle: 60 deg, crest: 0.80 m"
JETS = "{kind: nozzles, number: 10, diameter: 40 mm, needed head: %s}"

PAIRS = [
    Pair("velocity-low", "drain", "diameter: 250 mm", "diameter: 385 mm", "diameter: 370 mm"),
    Pair("velocity-low", "channel", "width: 0.30 m", "width: 0.45 m", "width: 0.38 m"),
    Pair("velocity-high", "drain", "diameter: 250 mm", "diameter: 165 mm", "diameter: 170 mm"),
    Pair("velocity-high", "channel", "duty", "limits: {channel velocity high: 19 cm/s}\nduty",
         "limits: {channel velocity high: 20 cm/s}\nduty"),
    Pair("freeboard-short", "tank", TANK_WALL, TANK_WALL.replace("1.60", "1.36"),
         TANK_WALL.replace("1.60", "1.38")),
    Pair("freeboard-short", "channel", "wall top: 1.50 m", "wall top: 1.16 m", "wall top: 1.18 m"),
    Pair("level-above-wall", "tank", TANK_WALL, TANK_WALL.replace("1.60", "1.16"),
         TANK_WALL.replace("1.60", "1.18")),
    Pair("weir-drowned", "tank", "crest: 1.10 m", "crest: 1.06 m", "crest: 1.08 m"),
    Pair("weir-out-of-range", "tank", "width: 1.0 m, crest", "width: 4.0 m, crest",
         "width: 3.0 m, crest"),
    Pair("channel-critical", "channel", "floor up: 0.50 m, floor down: 0.50 m",
         "floor up: 0.92 m, floor down: 0.92 m", "floor up: 0.89 m, floor down: 0.89 m"),
    Pair("channel-overtops", "channel", "wall top: 1.50 m", "wall top: 1.06 m", "wall top: 1.08 m"),
    Pair("channel-overtops", "channel", "width: 0.30 m, floor up: 0.50 m, floor down: 0.50 m,\n"
         "    wall top: 1.50 m", "diameter: 0.58 m, floor up: 0.50 m, floor down: 0.50 m",
         "diameter: 0.62 m, floor up: 0.50 m, floor down: 0.50 m"),
    Pair("pipe-not-full", "drain", "crown: 0.60 m", "crown: 0.92 m", "crown: 0.90 m"),
    Pair("basin-dry", "pit", "area: 2 m2, floor: -0.40 m", "area: 2 m2, floor: 0.97 m",
         "area: 2 m2, floor: 0.94 m"),
    Pair("basin-dry", "sieve", "width: 1.0 m, floor: 0.40 m", "width: 1.0 m, floor: 0.97 m",
         "width: 1.0 m, floor: 0.70 m"),
    Pair("airlift-lift-limit", "pump", "loss: 30 mm", "loss: 220 mm", "loss: 210 mm"),
    Pair("airlift-pressure", "pump", RISER, RISER.replace("}", ", needed pressure: 21 cm}"),
         RISER.replace("}", ", needed pressure: 19 cm}")),
    Pair("exchange-small-level", "spillway", NOTCH, "crest: 0.80 m, width: 90 m",
         "crest: 0.80 m, width: 1 m"),
    Pair("reverse-flow", "link", SEA, SEA + LINK % "1.20 m", SEA + LINK % "0.90 m"),
    Pair("outside-range", "bed", "[150 m3/h, 60 mm]", "[119 m3/h, 60 mm]", "[121 m3/h, 60 mm]"),
    Pair("head-wasted", "tank", "crest: 1.10 m", "crest: 1.13 m", "crest: 1.11 m"),
    Pair("passes-high", "farm", "flow: 6 m3/h", "flow: 0.39 m3/h", "flow: 0.41 m3/h"),
    Pair("nozzle-pressure-short", "tank", "    outlet: {kind: weir", "    inlet: "
         + JETS % "41 cm" + "\n    outlet: {kind: weir", "    inlet: " + JETS % "39 cm"
         + "\n    outlet: {kind: weir"),
    Pair("nozzle-pressure-short", "riser", RISER, RISER.replace("}", ", needed pressure: 31 mm}"),
         RISER.replace("}", ", needed pressure: 29 mm}")),
    Pair("fall-short", "lip", "needed fall: 4 cm", "needed fall: 44 mm", "needed fall: 41 mm"),
]  # fmt: skip


def findings(old: str = "", new: str = "") -> list[Finding]:
    assert not old or CALM.count(old) == 1
    text = CALM.replace(old, new) if old else CALM
    if "sea:" in text:
        text = text.replace("duty states", "  sea side: [pit, link, sea]\nduty states")
    return list(budget(read(text, "calm.yaml")).findings)


def at(found: list[Finding], pair: Pair) -> list[Finding]:
    return [f for f in found if f.code == pair.code and f.place == pair.place]


def test_nothing_is_said_of_a_calm_loop() -> None:
    assert [f.message for f in findings()] == []


def test_every_declared_finding_is_brought_forth() -> None:
    # Each file of this name tells its own pairs, each on a loop of its own.
    names = sorted(p.stem for p in Path(__file__).parent.glob("test_findings_fire*.py"))
    files = [importlib.import_module(f"tests.{name}") for name in names]
    assert {p.code for file in files for p in file.PAIRS} == set(FINDING_KINDS)


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: f"{p.code} at {p.place}")
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert at(findings(pair.old, pair.quiet), pair) == []
    (found,) = at(findings(pair.old, pair.fires), pair)
    kind = FINDING_KINDS[pair.code]
    assert found.severity is kind.severity
    assert found.state == "clean"
    assert found.cure and found.source and found.message
    assert found.value is not None
    if found.limit is not None:
        assert found.value != found.limit


def test_a_finding_in_two_states_is_told_once_where_it_is_worst() -> None:
    text = CALM.replace("diameter: 250 mm", "diameter: 150 mm").replace(
        "{clean: {}}", "{usual: {}, rush: {flow: 110 %}, calm: {flow: 50 %}}"
    )
    found = [f for f in budget(read(text, "x")).findings if f.code == "velocity-high"]
    (only,) = [f for f in found if f.place == "drain"]
    assert (only.state, only.also) == ("rush", ("usual",))
