"""A round tank with two drains: shares by head, closed forms of each part."""

from __future__ import annotations

import math

import pytest

from loopplan.errors import BadFile
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult, Row

G = 9.80665

TEXT = """\
loopplan: 1
farm: {name: Dual drains}
water: {temperature: 12 degC}
elements:
  tank: {kind: round tank, count: 4, diameter: 8 m, floor: 0 m, wall top: 2.2 m}
  floor drain: {kind: centre drain, count: 4, plate diameter: 400 mm, free area: 30 %,
    diameter: 150 mm, length: 10 m, friction factor: 0.02, rim: 1.70 m, rim diameter: 400 mm}
  wall drain: {kind: side box, count: 4, opening width: 1.2 m, opening height: 0.5 m,
    invert: 1.20 m, free area: 35 %, crest: 1.70 m, width: 1.2 m, form: coefficient,
    discharge coefficient: 0.60}
  gutter: {kind: box, area: 4 m2, floor: 0 m, wall top: 2 m}
  sieve: {kind: loss, loss: 60 mm, flow: 500 m3/h}
  sump: {kind: sump, area: 10 m2, floor: -1 m, wall top: 2 m}
  pump: {kind: lift, flow: 600 m3/h}
  well: {kind: make-up, flow: 6 m3/h}
  spill: {kind: overflow, form: V-notch, angle: 60 deg, crest: 1.1 m}
flow paths:
  floor: [pump, tank, floor drain, gutter, sieve, sump, pump]
  wall: [tank, wall drain, gutter]
  new: [well, sump]
  out: [sump, spill]
duty states: {clean: {}, fouled: {condition: fouled}}
"""
"""Four invented tanks."""


def solved(*changes: tuple[str, str]) -> BudgetResult:
    text = TEXT
    for old, new in changes:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return budget(read(text, "tanks.yaml"))


def rows(result: BudgetResult, state: int = 0) -> dict[tuple[str, str], Row]:
    return {(r.element, r.part): r for r in result.states[state].rows}


def test_the_shares_add_up_and_both_ways_lose_the_same_head() -> None:
    result = solved()
    for state in (0, 1):
        found = rows(result, state)
        plate, sill = found["floor drain", "screen plate"], found["wall drain", "sill"]
        assert plate.flow + sill.flow == pytest.approx(600.0 / 3600.0)
        assert plate.flow > 0.0 and sill.flow > 0.0
        floor = sum(r.loss for (name, _), r in found.items() if name == "floor drain")
        wall = sum(r.loss for (name, _), r in found.items() if name == "wall drain")
        assert floor == pytest.approx(wall, abs=1e-9)
    assert max(s.residuals.row for s in result.states) < 1e-9


def test_floor_drain_by_hand() -> None:
    result = solved()
    for state, closed in ((0, 0.0), (1, 0.4)):
        found = rows(result, state)
        flow = found["floor drain", "screen plate"].flow / 4.0
        # Closed form: holes as orifices, 0.62 of 30 % of the plate.
        jet = flow / (0.62 * 0.30 * (1.0 - closed) * math.pi / 4.0 * 0.40**2)
        loss = jet**2 / (2.0 * G)
        assert found["floor drain", "screen plate"].loss == pytest.approx(loss, rel=1e-9)
        # Closed form: f L/D, sharp entrance 0.5, one velocity head into the box.
        speed = flow / (math.pi / 4.0 * 0.15**2)
        pipe = (0.02 * 10.0 / 0.15 + 0.5 + 1.0) * speed**2 / (2.0 * G)
        assert found["floor drain", "drain pipe"].loss == pytest.approx(pipe, rel=1e-2)
        # Closed form: round rim as a sill, 2/3 0.60 sqrt(2g) pi D h^1.5.
        rate = 2.0 / 3.0 * 0.60 * math.sqrt(2.0 * G) * math.pi * 0.40
        head = (flow / rate) ** (2.0 / 3.0)
        assert found["floor drain", "rim"].head_before == pytest.approx(1.70 + head, abs=1e-6)


def test_side_box_by_hand() -> None:
    result = solved()
    for state, closed in ((0, 0.0), (1, 0.4)):
        found = rows(result, state)
        screen = found["wall drain", "screen"]
        flow = screen.flow / 4.0
        assert screen.head_after > 1.70, "the opening is drowned in this loop"
        area = 1.2 * 0.35 * (1.0 - closed) * 0.5
        loss = (flow / (0.62 * area)) ** 2 / (2.0 * G)
        assert screen.loss == pytest.approx(loss, rel=1e-6)
        head = (flow / (2.0 / 3.0 * 0.60 * math.sqrt(2.0 * G) * 1.2)) ** (2.0 / 3.0)
        assert found["wall drain", "sill"].head_before == pytest.approx(1.70 + head, abs=1e-6)


def test_a_blinded_wall_screen_sends_more_through_the_floor() -> None:
    usual = rows(solved())["floor drain", "rim"].flow
    blinded = rows(
        solved(("free area: 35 %", "free area: 35 %, blinded: 70 %, blinded fouled: 80 %"))
    )
    assert blinded["floor drain", "rim"].flow > 1.05 * usual


def test_without_a_rim_the_drain_ends_in_the_gutter() -> None:
    without = rows(solved((", rim: 1.70 m, rim diameter: 400 mm", "")))
    assert ("floor drain", "rim") not in without
    # The pipe then feels the gutter's level, far below the rim.
    assert without["floor drain", "drain pipe"].flow > 1.5 * rows(solved())["floor drain",
                                                                            "rim"].flow  # fmt: skip


def test_the_drain_pipe_can_be_named_by_size() -> None:
    found = solved(("diameter: 150 mm, length", "size: PE 160 SDR 26, length"))
    speed = rows(found)["floor drain", "drain pipe"]
    # Closed form: bore 160 - 2 x 6.2 mm.
    area = math.pi / 4.0 * 0.1476**2
    assert speed.velocity == pytest.approx(speed.flow / 4.0 / area)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("plate diameter: 400 mm", "plate diameter: 140 mm", "narrower than the drain pipe"),
        ("rim: 1.70 m, ", "", "level of the rim is missing"),
        ("diameter: 150 mm, ", "", "bore of the pipe is missing"),
        ("width: 1.2 m, form", "form", "length of its crest"),
        ("free area: 30 %", "free area: 30 %, blinded: 50 %", "less is closed when fouled"),
    ],
)
def test_refusals(old: str, new: str, said: str) -> None:
    with pytest.raises(BadFile, match=said):
        solved((old, new))
