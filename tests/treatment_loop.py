"""An invented loop with one of each kind of treatment; nothing is to be said of its parts."""

from __future__ import annotations

from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult, Row, StateResult

TREATMENT = """\
loopplan: 1
farm: {name: Treatment loop}
water: {temperature: 12 degC}
elements:
  tank: {kind: round tank, diameter: 6 m, floor: 0 m, wall top: 2.2 m,
    outlet: {kind: weir, crest: 1.60 m, width: 1.0 m}}
  drum: {kind: drum filter, axis: 1.1 m, diameter: 1.2 m, drum width: 1.5 m, clean loss: 60 mm,
    flow: 300 m3/h, trigger: 200 mm, greatest differential: 250 mm, sill crest: 0.95 m,
    sill width: 1.5 m, bypass crest: 1.35 m, bypass width: 1.5 m,
    area: 2 m2, floor: 0.2 m, wall top: 1.7 m}
  settler: {kind: settling basin, length: 15 m, width: 9 m, floor: -1 m, wall top: 1.2 m,
    sludge flow: 12 m3/d, outlet: {kind: weir, crest: 0.80 m, width: 3 m}}
  sump: {kind: sump, area: 5 m2, floor: -0.80 m, wall top: 1.60 m}
  pump: {kind: lift, flow: 300 m3/h}
  cone: {kind: oxygen cone, level: 6.2 m, needed pressure: 2 m, loss: 300 mm, flow: 300 m3/h}
  tower: {kind: degasser, plate: 6.0 m, rim: 6.4 m, area: 2 m2, holes: 200,
    hole diameter: 20 mm, needed fall: 1.0 m, packing height: 0.9 m}
  catch: {kind: box, area: 4 m2, floor: 3.6 m, wall top: 5.4 m}
  siphon: {kind: siphon, length: 8 m, diameter: 300 mm, crest: 4.95 m, priming: vacuum pump,
    break level: 4.2 m}
  pit: {kind: box, area: 3 m2, floor: 3.6 m, wall top: 5.2 m}
  lamps: {kind: UV unit, form: open, width: 1 m, depth: 0.8 m, floor: 3.8 m, loss: 50 mm,
    flow: 300 m3/h, lamp top: 4.3 m}
  well end: {kind: box, area: 3 m2, floor: 3.6 m, wall top: 5.2 m}
  standpipe: {kind: standpipe, rim: 4.4 m, diameter: 450 mm, length: 2 m}
  lower: {kind: box, area: 3 m2, floor: 1.6 m, wall top: 3.6 m}
  feed: {kind: pipe, length: 3 m, diameter: 300 mm}
  oxygenator: {kind: low-head oxygenator, plate: 2.6 m, rim: 3.0 m, area: 2 m2, holes: 250,
    hole diameter: 20 mm, needed fall: 0.6 m}
  well: {kind: make-up, flow: 6 m3/h}
  spillway: {kind: overflow, form: V-notch, angle: 60 deg, crest: 0.50 m}
flow paths:
  loop: [tank, drum, settler, sump, pump, cone, tower, catch, siphon, pit, lamps, well end,
    standpipe, lower, feed, oxygenator, tank]
  new water: [well, sump]
  surplus: [sump, spillway]
duty states: {clean: {}}
"""

Q = 300.0 / 3600.0
"""Flow of the loop [m3/s]."""


def solved(*changes: tuple[str, str]) -> BudgetResult:
    """Solve the loop with some of its text changed."""
    text = TREATMENT
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return budget(read(text, "treatment.yaml"))


def row(state: StateResult, element: str, part: str = "") -> Row:
    """Return one row of the budget."""
    (found,) = [r for r in state.rows if r.element == element and r.part == part]
    return found


def level(state: StateResult, element: str) -> float:
    """Return the level of a basin [m]."""
    (found,) = [r.level for r in state.levels if r.element == element]
    return found
