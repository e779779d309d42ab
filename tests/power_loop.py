"""A small invented loop for tests of a stop of every lift."""

from __future__ import annotations

import math
from functools import cache

from loopplan.loop.solution import Solved, solve_scenario
from loopplan.scenario.reader import read
from loopplan.studies.poweroff import power_off
from loopplan.studies.poweroff_results import PlaceAtRest, PowerCase


def conserved(case: PowerCase) -> None:
    given_up = math.fsum(p.drained for p in case.places) + case.pipes
    scale = max(math.fsum(p.running_volume for p in case.places), 1.0)
    assert abs(given_up - case.lost) <= 1e-9 * scale


LOOP = """\
loopplan: 1
farm: {name: Small loop}
water: {temperature: 12 degC}
elements:
  tank:
    kind: round tank
    diameter: 6 m
    floor: 0 m
    wall top: 1.60 m
    outlet: {kind: weir, crest: 1.10 m, width: 1.0 m, crest height: 1.1 m}
  sump: {kind: sump, area: 5 m2, floor: -0.80 m, wall top: 0.60 m}
  pump: {kind: lift, flow: 120 m3/h, device: propeller pump}
  riser: {kind: pipe, length: 10 m, diameter: 250 mm}
flow paths:
  loop: [tank, sump, pump, riser, tank]
levels: [{way: stored volume, in: [sump], volume: 5 m3}]
duty states: {clean: {}}
"""
"""An invented loop of a tank, a sump and a pump; 5 m3 in the sump stand at 0.20 m."""
TANK_AREA = math.pi / 4.0 * 36.0


@cache
def solved(*changes: tuple[str, str]) -> Solved:
    text = LOOP
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return solve_scenario(read(text, "loop.yaml"))


def cases(*changes: tuple[str, str]) -> tuple[PowerCase, PowerCase | None]:
    found = power_off(solved(*changes))
    assert found is not None
    for case in (*found.cases, *found.stuck):
        conserved(case)
    return found.worst, found.worst_stuck


def at(case: PowerCase, name: str) -> PlaceAtRest:
    (only,) = [p for p in case.places if p.element == name]
    return only


def drop(case: PowerCase) -> float:
    """What the tank holds over its sill [m3]."""
    return (at(case, "tank").running_level - 1.10) * TANK_AREA
