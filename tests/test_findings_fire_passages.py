"""Findings of one-way passages, inlets and the make-up: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS, Finding
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from tests.test_findings_fire import Pair, at

LOOP = """\
loopplan: 1
farm: {name: Outfall}
water: {temperature: 12 degC}
elements:
  well: {kind: make-up, flow: 200 m3/h}
  box: {kind: box, area: 4 m2, floor: -1 m, wall top: 3 m}
  drain: {kind: pipe, length: 40 m, diameter: 250 mm, inlet level: -0.6 m, crown: -0.2 m}
  chamber: {kind: box, area: 2 m2, floor: -1 m, wall top: 3 m}
  flap: {kind: flap valve, diameter: 300 mm, opening head: 30 mm, k: 1.5}
  sea: {kind: open water, level: 0 m}
  spill: {kind: overflow, crest: 0.60 m, width: 1 m}
flow paths: {down: [well, box, drain, chamber, flap, sea], surplus: [chamber, spill]}
duty states: {clean: {}}
"""
"""An invented outfall through a flap; nothing is to be said about its passages."""

OUTLET = "flow: 200 m3/h"
PAIRS = [
    Pair("one-way-shut", "flap", "level: 0 m", "level: 0.69 m", "level: 0.57 m"),
    Pair("air-at-inlet", "drain", "inlet level: -0.6 m", "inlet level: -0.3 m",
         "inlet level: -0.5 m"),
    Pair("air-gap-short", "well", OUTLET, OUTLET + ", outlet diameter: 100 mm, outlet level: 0.5 m",
         OUTLET + ", outlet diameter: 100 mm, outlet level: 0.6 m"),
    Pair("float-shut", "well", OUTLET, OUTLET + ", float level: 0.3 m",
         OUTLET + ", float level: 0.4 m"),
    Pair("pipe-not-full", "drain", "crown: -0.2 m", "crown: 0.2 m", "crown: 0.1 m"),
    Pair("siphon-vacuum", "drain", "crown: -0.2 m", "crown: 7.2 m", "crown: 7.1 m"),
]  # fmt: skip


def findings(old: str, new: str) -> list[Finding]:
    assert LOOP.count(old) == 1
    return list(budget(read(LOOP.replace(old, new), "outfall.yaml")).findings)


def test_nothing_is_said_of_the_passages_as_they_are() -> None:
    assert {f.code for f in findings(OUTLET, OUTLET)} & {p.code for p in PAIRS} == set()


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: f"{p.code} at {p.place}")
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert at(findings(pair.old, pair.quiet), pair) == []
    (found,) = at(findings(pair.old, pair.fires), pair)
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.state == "clean"
    assert found.cure and found.source and found.message
    assert found.value is not None and found.value != found.limit
