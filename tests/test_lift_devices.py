"""Lifts whose flow follows from their device, against a second solution by bracketing.

Closed forms and the scalar referee of tests/referee; nothing here is a snapshot.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from scipy.optimize import brentq

from loopplan.errors import BadFile, NoSolution
from loopplan.physics.air import STANDARD, dry_mass_flow
from loopplan.physics.airlift_column import site
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult
from tests.lift_loop import water
from tests.referee import airlift as referee
from tests.referee.laws import G, curve, friction_factor

HEAD = """
loopplan: 1
farm: {name: Loop of a test}
water: {temperature: 12 degC}
elements:
  sump: {kind: sump, area: 2 m2, floor: -2.2 m, wall top: 1.3 m}
"""
SHAFT = """
    device: airlift
    airlift:
      kind: channel shaft
      floor: -2.2 m
      inlet half: 2 m2
      outlet half: 2 m2
      width: 1.6 m
      outlet sill: 0.7 m
      air: 700 m3/h
"""
AIRLIFT = f"""
  airlift:
    kind: lift{SHAFT}
  head box: {{kind: box, area: 3 m2, floor: -2.2 m, wall top: 2.5 m}}
  way back: {{kind: loss, loss: 300 mm, flow: 900 m3/h}}
flow paths:
  round: [sump, airlift, head box, way back, sump]
"""
POINTS = [(0.0, 0.9), (0.15, 0.7), (0.25, 0.4), (0.32, 0.1)]
CURVE = "[[0 m3/s, 0.9 m], [0.15 m3/s, 0.7 m], [0.25 m3/s, 0.4 m], [0.32 m3/s, 0.1 m]]"
STATES = """
duty states:
  clean: {}
"""


def solved(text: str, tmp_path: Path) -> BudgetResult:
    file = tmp_path / "farm.yaml"
    file.write_text(text)
    return budget(read(file))


def risen(flow: float, level: float, *, rung: float = 1.0) -> float:
    """Level [m] to which the shaft of `SHAFT` lifts a flow from a level, by the referee."""
    air = float(dry_mass_flow(700.0 / 3600.0, STANDARD))

    def excess(lift: float) -> float:
        sizes = referee.ShaftSizes(level + 2.2, 2.0, 2.0, 1.6, 0.5, 0.5, 0.7 + 2.2, lift)
        return referee.shaft(sizes, rung, water()).excess(flow, air)

    if excess(-0.5) < 0.0:
        return level - 0.5  # more water than this air can move at any lift
    return level + float(brentq(excess, -0.5, 1.5, xtol=1e-13))


def lost(flow: float) -> float:
    return 0.3 * (flow / 0.25) ** 2


@pytest.mark.parametrize(
    ("edge", "rung"), [("least air", 0.0), ("expected", 1.0), ("most air", 2.0)]
)
def test_airlift_in_a_loop_stands_where_the_referee_has_it(
    edge: str, rung: float, tmp_path: Path
) -> None:
    levels = "levels:\n  - {way: stored volume, in: [sump], volume: 6 m3}\n"
    text = HEAD + AIRLIFT.replace("air: 700", f"edge: {edge}\n      air: 700") + levels + STATES
    result = solved(text, tmp_path)
    flow = brentq(lambda q: risen(q, 0.8, rung=rung) - 0.8 - lost(q), 0.02, 0.6, xtol=1e-12)
    (state,) = result.lifts[0].states
    assert state.flow == pytest.approx(flow, rel=1e-6)
    assert state.head == pytest.approx(lost(flow), rel=1e-6)
    assert result.states[0].residuals.row <= 1e-4


def test_more_air_and_deeper_water_move_more(tmp_path: Path) -> None:
    def flow(volume: float, air: float) -> float:
        levels = f"levels:\n  - {{way: stored volume, in: [sump], volume: {volume} m3}}\n"
        text = HEAD + AIRLIFT.replace("air: 700", f"air: {air}") + levels + STATES
        return solved(text, tmp_path).lifts[0].states[0].flow

    assert flow(6.0, 700.0) < flow(6.0, 900.0) < flow(6.4, 900.0)


def test_stalled_airlift_is_named(tmp_path: Path) -> None:
    sill = "{kind: weir, crest: 1.6 m, width: 1 m}"
    text = HEAD + AIRLIFT.replace("air: 700", "air: 60")
    text = text.replace("{kind: loss, loss: 300 mm, flow: 900 m3/h}", sill)
    text += "levels:\n  - {way: stored volume, in: [sump], volume: 6 m3}\n"
    with pytest.raises(NoSolution, match="the airlift stalls") as caught:
        solved(text + STATES, tmp_path)
    assert caught.value.element == "airlift"


def test_airlift_and_pump_in_series_stand_where_the_referee_has_them(tmp_path: Path) -> None:
    pump = f"""
  pump:
    kind: lift
    device: propeller pump
    propeller pump: {{curve: {CURVE}, measured at: flange, column: 500 mm, column length: 3 m,
                     bend: 0.3, flap loss: 0.4, entry: 0.05}}
  high box: {{kind: box, area: 3 m2, floor: -2.2 m, wall top: 4.5 m}}
"""
    text = HEAD + AIRLIFT.replace("  way back:", pump.lstrip("\n") + "  way back:")
    text = text.replace("loss: 300 mm", "loss: 900 mm").replace(
        "head box, way back", "head box, pump, high box, way back"
    )
    text += "levels:\n  - {way: stored volume, in: [sump, head box, high box], volume: 26 m3}\n"
    result = solved(text + STATES, tmp_path)
    rises = curve(POINTS)
    viscosity = float(site(12.0).viscosity)

    def column(q: float) -> float:
        v = q / (math.pi / 4 * 0.5**2)
        f = friction_factor(v * 0.5 / viscosity, 1e-4 / 0.5)
        return (0.05 + 0.3 + 0.4 + 1.0 + f * 3.0 / 0.5) * v * v / (2 * G)

    def levels(q: float) -> tuple[float, float, float]:
        def stored(low: float) -> float:
            middle = risen(q, low)
            high = middle + rises(q) - column(q)
            return 2 * (low + 2.2) + 3 * (middle + 2.2) + 3 * (high + 2.2) - 26.0

        low = float(brentq(stored, -0.5, 2.0, xtol=1e-12))
        middle = risen(q, low)
        return low, middle, middle + rises(q) - column(q)

    def miss(q: float) -> float:
        low, _, high = levels(q)
        return high - low - 0.9 * (q / 0.25) ** 2

    flow = float(brentq(miss, 0.05, 0.3, xtol=1e-11))
    found = {lift.element: lift.states[0] for lift in result.lifts}
    assert set(found) == {"airlift", "pump"}
    low, middle, high = levels(flow)
    for lift, before, after in (("airlift", low, middle), ("pump", middle, high)):
        assert found[lift].flow == pytest.approx(flow, rel=1e-6)
        assert found[lift].level_before == pytest.approx(before, abs=1e-6)
        assert found[lift].level_after == pytest.approx(after, abs=1e-6)
    # Static lift and what its column takes: the pump gives both, and each is told once.
    assert found["pump"].head == pytest.approx(rises(flow), rel=1e-6)
    assert found["pump"].added == pytest.approx(column(flow), rel=1e-5)
    assert result.states[0].residuals.row <= 1e-4


def test_tube_in_a_loop_falls_freely_from_its_end(tmp_path: Path) -> None:
    tube = """
  airlift:
    kind: lift
    device: airlift
    airlift: {kind: tube, bore: 150 mm, tubes: 4, injection depth: 1.2 m, injection level: -0.4 m,
              outlet level: 0.95 m, foot: 0 m, roughness: 0.0015 mm, air: 60 m3/h}
"""
    start = AIRLIFT.index("  head box")
    text = HEAD + tube.lstrip("\n") + AIRLIFT[start:].replace("loss: 300 mm", "loss: 20 mm")
    text += "levels:\n  - {way: stored volume, in: [sump], volume: 6 m3}\n"
    result = solved(text + "duty states:\n  clean: {}\n", tmp_path)
    air = float(dry_mass_flow(60.0 / 3600.0, STANDARD)) / 4.0
    moved = referee.tube(0.15, 1.2, 0.15, water()).water_moved(air, 1e-4, 0.2)
    assert result.lifts[0].states[0].flow == pytest.approx(4.0 * moved, rel=1e-6)


@pytest.mark.parametrize(
    ("drawn", "words"),
    [
        ("diffuser height: 3.2 m", "diffusers stand 3.2 m above the floor"),
        ("partition gap: 3.4 m", "the partition ends above the water"),
        ("dry reserve: 3.6 m", "leaves no depth for water"),
        ("coverage: 120 %", "at most 100 %"),
        ("floor: ", ""),
    ],
)
def test_what_cannot_be_built_is_refused(drawn: str, words: str, tmp_path: Path) -> None:
    shaft = AIRLIFT.replace("      floor: -2.2 m\n", "") if drawn == "floor: " else AIRLIFT
    if words:
        shaft = shaft.replace("      outlet sill", f"      {drawn}\n      outlet sill")
    levels = "levels:\n  - {way: stored volume, in: [sump], volume: 6 m3}\n"
    with pytest.raises(BadFile, match=words or "needs the level of its floor") as error:
        solved(HEAD + shaft + levels, tmp_path)
    assert all(problem.cure for problem in error.value.problems)
