"""Two lifts of one farm whose flow follows from their devices, over unlike duty states.

Only directions are tested, and that heads sum up; the numbers are held against a second solution in
tests/test_lift_devices.py.
"""

from __future__ import annotations

from functools import cache

import pytest

from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.lift_sheet_results import AirPoint, PumpPoint
from loopplan.studies.lift_sheets import lift_study
from loopplan.studies.results import LiftState

FARM = """\
loopplan: 1
farm: {name: Farm of two lifts}
water: {temperature: 12 degC}
elements:
  sump: {kind: sump, area: 2 m2, floor: -2.2 m, wall top: 1.3 m}
  airlift:
    kind: lift
    count: 2
    device: airlift
    airlift: {kind: channel shaft, floor: -2.2 m, inlet half: 2 m2, outlet half: 2 m2,
              depth: 4 m, dry reserve: 1 m, outlet sill: 0.4 m, air: 400 m3/h}
  head box: {kind: box, area: 3 m2, floor: -2.2 m, wall top: 2.5 m}
  pump:
    kind: lift
    count: 2
    device: propeller pump
    propeller pump: {speed: 480 rpm, curve: [[0 m3/h, 0.9 m], [270 m3/h, 0.7 m],
                     [450 m3/h, 0.4 m], [580 m3/h, 0.1 m]]}
  high box: {kind: box, area: 3 m2, floor: -2.2 m, wall top: 4.5 m}
  way back: {kind: loss, loss: 900 mm, flow: 900 m3/h}
flow paths:
  round: [sump, airlift, head box, pump, high box, way back, sump]
levels: [{way: outside level, at: sump, level: 0.8 m}]
duty states:
  clean: {}
  pump out: {out of service: [pump]}
  shaft out: {out of service: [airlift]}
  pump slow: {change: {pump: {speed: 85 %}}}
  blower slow: {change: {airlift: {airlift: {kind: channel shaft, floor: -2.2 m, inlet half: 2 m2,
    outlet half: 2 m2, depth: 4 m, dry reserve: 1 m, outlet sill: 0.4 m, air: 300 m3/h}}}}
  low water: {levels: {sump: 0.6 m}}
"""
LESS = ("pump out", "shaft out", "pump slow", "blower slow", "low water")


@cache
def states() -> dict[str, dict[str, LiftState]]:
    found = budget(read(FARM, "two.yaml"))
    assert all(state.residuals.row <= 1e-4 for state in found.states)
    return {lift.element: {s.state: s for s in lift.states} for lift in found.lifts}


@pytest.mark.parametrize("state", LESS)
def test_each_carries_less_water_through_both(state: str) -> None:
    air, pump = states()["airlift"], states()["pump"]
    # Low water lowers the levels behind the shaft as well, so that little of the flow is lost.
    least = 0.999 if state == "low water" else 0.99
    assert 0.0 < air[state].flow < least * air["clean"].flow
    assert air[state].flow == pytest.approx(pump[state].flow, rel=1e-9)


@pytest.mark.parametrize("state", ["clean", *LESS])
def test_both_heads_are_what_the_way_back_takes(state: str) -> None:
    air, pump = states()["airlift"][state], states()["pump"][state]
    # 0.9 m at 900 m3/h, with the square of the flow.
    assert air.head + pump.head == pytest.approx(0.9 * (air.flow * 4.0) ** 2, rel=1e-5)
    assert air.level_after == pytest.approx(pump.level_before, abs=1e-9)


def test_the_lift_that_is_weakened_gives_up_head_to_the_other() -> None:
    air, pump = states()["airlift"], states()["pump"]
    for state in ("pump out", "pump slow"):
        assert air[state].head > air["clean"].head
        assert pump[state].head < pump["clean"].head
    for state in ("shaft out", "blower slow", "low water"):
        assert air[state].head < air["clean"].head
        assert pump[state].head > pump["clean"].head


def test_sheets_tell_the_same_states() -> None:
    study = lift_study(read(FARM, "two.yaml"))
    for sheet in study.sheets:
        (mine,) = [d for d in sheet.devices if d.device == sheet.fixed]
        for state in mine.states:
            solved = states()[sheet.element][state.state]
            assert state.flow == pytest.approx(solved.flow, rel=1e-9)
            assert isinstance(state.detail, AirPoint | PumpPoint)
            assert state.power is not None and state.power.value > 0.0
    air, pump = (
        {s.state: s for d in sheet.devices if d.device == sheet.fixed for s in d.states}
        for sheet in study.sheets
    )
    for found, out in ((air, "shaft out"), (pump, "pump out")):
        clean, one = found["clean"].power, found[out].power
        assert clean is not None and one is not None and one.value < clean.value
    slow, usual = pump["pump slow"].detail, pump["clean"].detail
    assert isinstance(slow, PumpPoint) and isinstance(usual, PumpPoint)
    assert (slow.share, usual.share) == (0.85, 1.0)
    # Less water over the diffusers, less pressure, and less margin to stalling.
    low, full = air["low water"].detail, air["clean"].detail
    assert isinstance(low, AirPoint) and isinstance(full, AirPoint)
    assert low.pressure < full.pressure
    assert low.stall.value < full.stall.value
