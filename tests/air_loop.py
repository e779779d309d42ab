"""A small loop with an airlift, an aerated box and one header, for tests of the air supply.

Invented. The sump keeps its level of 0.8 m (its water is stated), so that the airlift stands in
2.5 m of water; the level of the head box follows from the flow.
"""

from __future__ import annotations

from functools import cache

from loopplan.scenario.models import Scenario
from loopplan.scenario.reader import read
from loopplan.studies.air import air_supply
from loopplan.studies.air_results import AirResult, HeaderCase, UserAir

LOOP = """\
loopplan: 1
farm: {name: Loop of a test}
water: {temperature: 12 degC}
elements:
  sump: {kind: sump, area: 2 m2, floor: -2.2 m, wall top: 1.3 m}
  airlift:
    kind: lift
    device: airlift
    airlift:
      kind: channel shaft
      floor: -2.2 m
      inlet half: 2 m2
      outlet half: 2 m2
      width: 1.6 m
      outlet sill: 0.7 m
      air: 700 m3/h
      diffuser loss: 2 kPa
  head box: {kind: box, area: 3 m2, floor: -2.2 m, wall top: 2.5 m}
  way back: {kind: loss, loss: 300 mm, flow: 900 m3/h}
flow paths:
  round: [sump, airlift, head box, way back, sump]
levels:
  - {way: stored volume, in: [sump], volume: 6 m3}
duty states:
  clean: {}
  fouled: {change: {way back: {loss: 360 mm}}}
air supply:
  header:
    blower:
      class: rotary lobe
      air: 1200 m3/h
      rated pressure: 45 kPa
      running: 1
      standby: 1
      inlet temperature: 25 degC
      relief valve: yes
      check valve: yes
    main pipe: {diameter: 200 mm, length: 30 m, rise: 0.4 m}
    users:
      airlift:
        branch: {diameter: 150 mm, length: 5 m}
      head box:
        air: 200 m3/h
        level: -1.0 m
        diffuser loss: 1.5 kPa
        loss exponent: 1.3
        branch: {diameter: 100 mm, length: 12 m}
      wash:
        air: 150 m3/h
        depth: 1.2 m
        diffuser loss: 1 kPa
        takes air: at times
        branch: {diameter: 100 mm, length: 20 m}
"""


def text(*changes: tuple[str, str]) -> str:
    """The file with some of its text changed; each must be there."""
    found = LOOP
    for old, new in changes:
        assert old in found, old
        found = found.replace(old, new)
    return found


def scenario(*changes: tuple[str, str]) -> Scenario:
    return read(text(*changes).encode())


@cache
def supply(*changes: tuple[str, str]) -> AirResult:
    return air_supply(scenario(*changes))


def case(result: AirResult, name: str, header: str = "header") -> HeaderCase:
    (found,) = [h for h in result.headers if h.header == header]
    (at,) = [c for c in found.cases if c.case == name]
    return at


def user(result: AirResult, state: str, name: str) -> UserAir:
    (found,) = [u for u in case(result, state).users if u.user == name]
    return found


def water(result: AirResult, state: str) -> float:
    """Water that the airlift moves [m3/s]."""
    return dict(result.lifts[0].flows)[state]
