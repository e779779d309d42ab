"""A small invented loop with three filter lines side by side, for tests of duty states."""

from __future__ import annotations

from loopplan.loop.solution import Solved, solve_scenario
from loopplan.scenario.models import Scenario
from loopplan.scenario.reader import read

LOOP = """\
loopplan: 1
farm: {name: Three lines}
water: {temperature: 12 degC}
elements:
  tank:
    kind: round tank
    diameter: 6 m
    floor: 0 m
    wall top: 2.20 m
    outlet: {kind: weir, crest: 1.60 m, width: 1.0 m, crest height: 1.6 m}
  head: {kind: box, area: 3 m2, floor: 0 m, wall top: 2.20 m}
  gate 1: {kind: opening, invert: 0.20 m, height: 300 mm, width: 400 mm}
  bed 1: {kind: box, area: 4 m2, floor: 0 m, wall top: 2.20 m}
  sill 1: {kind: weir, crest: 0.90 m, width: 1.0 m}
  gate 2: {kind: opening, invert: 0.20 m, height: 300 mm, width: 400 mm}
  bed 2: {kind: box, area: 4 m2, floor: 0 m, wall top: 2.20 m}
  sill 2: {kind: weir, crest: 0.90 m, width: 1.0 m}
  gate 3: {kind: opening, invert: 0.20 m, height: 300 mm, width: 400 mm}
  bed 3: {kind: box, area: 4 m2, floor: 0 m, wall top: 2.20 m}
  sill 3: {kind: weir, crest: 0.90 m, width: 1.0 m}
  sump: {kind: sump, area: 15 m2, floor: -0.80 m, wall top: 1.60 m}
  pump: {kind: lift, flow: 180 m3/h}
  well: {kind: make-up, flow: 6 m3/h}
  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}
flow paths:
  line 1: [tank, head, gate 1, bed 1, sill 1, sump, pump, tank]
  line 2: [head, gate 2, bed 2, sill 2, sump]
  line 3: [head, gate 3, bed 3, sill 3, sump]
  new water: [well, sump]
  surplus: [sump, spillway]
duty states:
  clean: {}
"""
"""An invented loop of a tank, three lines of a gate, a bed and a sill, a sump and a pump."""


def scenario(*changes: tuple[str, str], states: str = "") -> Scenario:
    """The loop with texts changed, and more duty states below `clean`."""
    text = LOOP + states
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return read(text, "lines.yaml")


def solved(*changes: tuple[str, str], states: str = "") -> Solved:
    """The same, solved."""
    return solve_scenario(scenario(*changes, states=states))


def flow(found: Solved, name: str, state: int) -> float:
    """Flow of the only branch of an element [m3/s]."""
    (j,) = [j for j, b in enumerate(found.compiled.graph.branches) if b.element == name]
    return float(found.flows[j, state])


def level(found: Solved, name: str, state: int) -> float:
    """Level of a basin [m]."""
    (i,) = [i for i, n in enumerate(found.compiled.graph.nodes) if n.basin and n.basin[0] == name]
    return float(found.heads[i, state])
