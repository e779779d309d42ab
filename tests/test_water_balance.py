"""The water balance: what leaves, by which way it is counted, and the indices of recirculation.

Expected values are closed form: volumes over time, areas times depths, water in is water out.
"""

from __future__ import annotations

import math

import pytest

from loopplan.declare import Element
from loopplan.elements import KINDS
from loopplan.errors import BadFile
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult, StateResult
from loopplan.studies.water_results import WaterBalance
from tests.test_scenarios import NAMES
from tests.test_scenarios import solved as shipped

DAY = 86400.0
LOOP = """\
loopplan: 1
farm: {name: Water balance}
water: {temperature: 12 degC}
STOCK
elements:
  tank: {kind: round tank, count: 2, diameter: 6 m, floor: 0 m, wall top: 1.6 m,
    outlet: {kind: weir, crest: 1.2 m, width: 1.5 m}}
  drum: {kind: drum filter, count: 2, axis: 0.7 m, diameter: 1.2 m, drum width: 1.5 m,
    clean loss: 60 mm, flow: 150 m3/h, trigger: 100 mm, greatest differential: 250 mm,
    sill crest: 0.55 m, sill width: 1.5 m, area: 2 m2, floor: -0.5 m, wall top: 1.5 m DRUM}
  pit: {kind: box, area: 3 m2, floor: -1 m, wall top: 1 m}
  bed: {kind: media bed, area: 9 m2, depth: 1 m, media size: 8 mm, porosity: 45 % BED}
  sump: {kind: sump, area: 5 m2, floor: -1 m, wall top: 1 m}
  pump: {kind: lift, flow: 200 m3/h}
  riser: {kind: pipe, length: 10 m, diameter: 300 mm}
  well: {kind: make-up, flow: 5 m3/h}
  spillway: {kind: overflow, crest: 0.2 m, width: 1 m SILL}
MORE
flow paths:
  loop: [tank, drum, pit, bed, sump, pump, riser, tank]
  new water: [well, sump]
  surplus: [sump, spillway]
PATHS
duty states: {clean: {}, fouled: {condition: fouled}}
"""
"""An invented loop with 120 m3/d of new water; the capitals stand for what is changed."""


def solve(**parts: str) -> BudgetResult:
    text = LOOP
    for name in ("STOCK", "DRUM", "BED", "SILL", "MORE", "PATHS"):
        text = text.replace(name, parts.get(name.lower(), ""))
    return budget(read(text, "balance.yaml"))


def state(name: str = "clean", **parts: str) -> StateResult:
    return next(s for s in solve(**parts).states if s.name == name)


def balance(name: str = "clean", **parts: str) -> WaterBalance:
    return state(name, **parts).balance


def lost(water: WaterBalance) -> dict[tuple[str, str], float]:
    """Mean flow of each loss [m3/d]."""
    return {(loss.place, loss.what): DAY * loss.flow for loss in water.losses}


def test_nothing_is_lost_that_is_not_stated() -> None:
    water = balance()
    assert water.losses == ()
    assert water.surplus == water.replacement
    assumed = {(place, field): value for place, field, value, _ in solve().assumed}
    assert assumed["water lost", "evaporation"] == assumed["water lost", "leakage"] == "none"


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_that_loses_water_says_what_it_is(kind: str) -> None:
    cls = KINDS[kind]
    loses = cls.waste is not Element.waste
    assert loses is (cls.waste_kind in {"wash water", "purge", "sludge"})
    assert bool(cls.waste_kind) is loses


def test_a_drum_loses_its_wash_water_for_the_share_of_time_in_which_it_washes() -> None:
    fields = ", wash flow: 2 m3/h, wash share: 10 %, wash share fouled: 40 %"
    place = "drum", "wash water"
    # Two drums, 2 m3/h each, 24 h, the share of time.
    assert lost(balance(drum=fields)) == {place: pytest.approx(9.6)}
    assert lost(balance("fouled", drum=fields)) == {place: pytest.approx(38.4)}


@pytest.mark.parametrize("size", ["wash volume: 6 m3", "wash flow: 36 m3/h, wash time: 10 min"])
def test_a_bed_loses_its_washes_of_a_day(size: str) -> None:
    found = lost(balance(bed=f", {size}, washes a day: 1.5"))
    assert found == {("bed", "wash water"): pytest.approx(9.0)}


def test_sludge_is_drawn_off_each_drain() -> None:
    drains = (
        "  drains: {kind: centre drain, count: 2, plate diameter: 500 mm, free area: 30 %,\n"
        "    diameter: 200 mm, length: 4 m, sludge flow: 0.5 m3/d}\n"
    )
    found = balance(more=drains, paths="  floor: [tank, drains, pit]\n")
    assert lost(found) == {("drains", "sludge"): pytest.approx(1.0)}


def test_evaporation_is_depth_a_day_times_the_surface_of_all_basins() -> None:
    found = state(stock="water lost: {evaporation rate: 4 mm/d}")
    surface = 2.0 * math.pi / 4.0 * 6.0**2 + 2.0 * 2.0 + 3.0 + 5.0
    assert lost(found.balance) == {("farm", "evaporation"): pytest.approx(0.004 * surface)}
    stated = balance(stock="water lost: {evaporation rate: 4 mm/d, evaporation area: 500 m2}")
    assert lost(stated) == {("farm", "evaporation"): pytest.approx(2.0)}
    whole = balance(stock="water lost: {evaporation: 2 m3/d}")
    assert lost(whole) == {("farm", "evaporation"): pytest.approx(2.0)}


def test_leakage_is_a_share_of_the_water_of_the_system() -> None:
    found = state(stock="water lost: {leakage share: 0.5 %}")
    held = sum(row.volume for row in found.levels)
    in_pipe = math.pi / 4.0 * 0.3**2 * 10.0
    assert found.balance.volume == pytest.approx(held + in_pipe, rel=1e-9)
    assert lost(found.balance) == {("farm", "leakage"): pytest.approx(0.005 * (held + in_pipe))}
    whole = balance(stock="water lost: {leakage: 1.5 m3/d}")
    assert lost(whole) == {("farm", "leakage"): pytest.approx(1.5)}


def test_a_channel_holds_water_too() -> None:
    channel = "  race: {kind: channel, length: 20 m, width: 1 m, floor up: -0.5 m, floor down: "
    channel += "-0.5 m, wall top: 1 m}\n  far: {kind: box, area: 2 m2, floor: -1 m, wall top: 1 m}"
    channel += "\n  side pump: {kind: lift, flow: 40 m3/h}\n"
    found = state(more=channel, paths="  side: [pit, race, far, side pump, tank]\n")
    rows = {row.element: row for row in found.rows}
    depths = [row + 0.5 for row in (rows["race"].level_before, rows["race"].level_after)]
    held = sum(row.volume for row in found.levels) + math.pi / 4.0 * 0.3**2 * 10.0
    # Its two ends are nearly level, so that the mean of their sections is the mean section.
    assert found.balance.volume - held == pytest.approx(20.0 * sum(depths) / 2.0, rel=2e-3)


def test_means_leave_the_solved_loop_alone_and_exits_do_not() -> None:
    plain, by_mean = state(), state(drum=", wash flow: 2 m3/h, wash share: 50 %")
    assert by_mean.levels == plain.levels
    exit_ = "  trough: {kind: discharge, flow: 2 m3/h, carries: wash water}\n"
    by_exit = state(more=exit_, paths="  wash: [pit, trough]\n")
    levels = [{r.element: r.level for r in s.levels}["sump"] for s in (plain, by_exit)]
    assert levels[1] < levels[0]
    # Either way it is the same water, counted once.
    assert by_mean.balance.lost == pytest.approx(by_exit.balance.lost, rel=1e-9)
    assert by_mean.balance.surplus == pytest.approx(by_exit.balance.surplus, rel=1e-9)
    assert [loss.averaged for loss in by_mean.balance.losses] == [True]
    assert [loss.averaged for loss in by_exit.balance.losses] == [False]
    # The overflow carries what the mean does not know yet, and just the rest behind an exit.
    assert dict(by_mean.balance.exchanges)["spillway"] == pytest.approx(5.0 / 3600.0)
    assert dict(by_exit.balance.exchanges)["spillway"] == pytest.approx(3.0 / 3600.0)
    assert by_exit.balance.yielding == pytest.approx(by_exit.balance.surplus, rel=1e-9)


def test_an_overflow_may_carry_wash_water() -> None:
    water = balance(sill=", carries: wash water")
    assert lost(water) == {("spillway", "wash water"): pytest.approx(120.0)}
    assert water.surplus == pytest.approx(0.0, abs=1e-12)
    assert water.yielding == 0.0


def test_an_exit_of_each_kind_is_named_by_what_it_carries() -> None:
    more = "".join(
        f"  exit {n}: {{kind: discharge, flow: {n + 1} m3/d, carries: {what}}}\n"
        for n, what in enumerate(("surplus", "wash water", "purge", "sludge"))
    )
    paths = "".join(f"  out {n}: [sump, exit {n}]\n" for n in range(4))
    assert lost(balance(more=more, paths=paths)) == {
        ("exit 1", "wash water"): pytest.approx(2.0),
        ("exit 2", "purge"): pytest.approx(3.0),
        ("exit 3", "sludge"): pytest.approx(4.0),
    }


def test_stated_exits_and_means_must_find_room() -> None:
    more = "  sewer: {kind: discharge, flow: 4 m3/h}\n"
    paths = "  sewer: [sump, sewer]\n"
    room = balance(more=more, paths=paths, stock="water lost: {leakage: 24 m3/d}")
    assert room.shortfall == pytest.approx(0.0, abs=1e-12)
    short = balance(more=more, paths=paths, stock="water lost: {leakage: 36 m3/d}")
    assert DAY * short.shortfall == pytest.approx(12.0)


def test_without_new_water_whatever_is_lost_is_too_much() -> None:
    text = LOOP.replace("STOCK", "water lost: {evaporation: 1 m3/d}")
    for name in ("DRUM", "BED", "SILL", "MORE", "PATHS"):
        text = text.replace(name, "")
    for line in ("  well: {kind: make-up, flow: 5 m3/h}\n", "  new water: [well, sump]\n",
                 "  spillway: {kind: overflow, crest: 0.2 m, width: 1 m }\n",
                 "  surplus: [sump, spillway]\n"):  # fmt: skip
        assert line in text
        text = text.replace(line, "")
    text += "levels: [{way: stored volume, in: [sump], volume: 6 m3}]\n"
    result = budget(read(text, "closed.yaml"))
    water = result.states[0].balance
    assert "wash-beyond-replacement" in {f.code for f in result.findings}
    assert water.passes is None
    assert water.exchanged_a_day == 0.0


def test_the_indices_are_what_they_are_defined_as() -> None:
    water = balance(stock="stock: {feed: 60 kg/d, yearly production: 20 t}")
    # The well joins in the sump, which the pump's flow and what spills pass: 200 + 5 m3/h.
    assert 3600.0 * water.circulation == pytest.approx(205.0)
    assert water.passes == pytest.approx(41.0)
    assert water.reused_share == pytest.approx(200.0 / 205.0)
    assert water.exchanged_a_day == pytest.approx(120.0 / water.volume)
    assert water.water_per_feed == pytest.approx(2.0)
    assert water.feed_per_water == pytest.approx(0.5)
    assert water.water_per_fish == pytest.approx(120.0 * 365.0 / 20000.0)


def test_no_index_is_made_up_for_what_is_not_stated() -> None:
    water = balance()
    assert water.water_per_feed is water.feed_per_water is water.water_per_fish is None


@pytest.mark.parametrize("name", NAMES)
def test_shipped_farms_lose_water_and_their_make_up_covers_it(name: str) -> None:
    for found in shipped(name)[2].states:
        water = found.balance
        assert water.losses
        assert all(loss.flow > 0.0 for loss in water.losses)
        assert water.lost + water.surplus == pytest.approx(water.replacement, rel=1e-12)
        by_exit = water.lost - water.averaged
        # What the exits that give way let go makes room for the means, and the rest is surplus.
        assert water.yielding + by_exit == pytest.approx(water.discharge, rel=1e-9)
        assert 0.0 < water.surplus < water.replacement
        assert water.shortfall == 0.0


@pytest.mark.parametrize(
    ("section", "key", "cure"),
    [
        ("{evaporation: 2 m3/d, evaporation rate: 3 mm/d}", "evaporation", "give `evaporation`"),
        ("{leakage: 2 m3/d, leakage share: 1 %}", "leakage", "give `leakage`"),
        ("{evaporation area: 20 m2}", "evaporation area", "add `evaporation rate"),
        ("{evaporation rate: 3 mm}", "evaporation rate", "mm/d"),
        ("{seepage: 2 m3/d}", "seepage", "leakage"),
    ],
)
def test_bad_water_lost_is_told(section: str, key: str, cure: str) -> None:
    with pytest.raises(BadFile) as caught:
        solve(stock=f"water lost: {section}")
    (problem,) = caught.value.problems
    assert problem.key == f"water lost: {key}"
    assert problem.line == 4
    assert cure in problem.cure


@pytest.mark.parametrize(
    ("fields", "key"),
    [
        (", wash flow: 30 m3/h, washes a day: 1", "wash flow"),
        (", wash time: 10 min, washes a day: 1", "wash flow"),
        (", wash volume: 3 m3, wash flow: 30 m3/h, wash time: 5 min, washes a day: 1",
         "wash volume"),
        (", wash volume: 3 m3", "washes a day"),
        (", washes a day: 1", "washes a day"),
    ],
)  # fmt: skip
def test_half_a_wash_is_told(fields: str, key: str) -> None:
    with pytest.raises(BadFile) as caught:
        solve(bed=fields)
    (problem,) = caught.value.problems
    assert problem.key == f"elements: bed: {key}"


def test_what_is_out_of_service_is_not_washed() -> None:
    states = {state.name: state for state in shipped("large-farm")[2].states}
    usual, out = states["clean"].balance, states["one out: moving bed 1"].balance
    missing = {loss.place for loss in usual.losses} - {loss.place for loss in out.losses}
    assert missing == {"drums 1"}
    (wash,) = (loss.flow for loss in usual.losses if loss.place == "drums 1")
    # What is not washed is left as surplus, but for what leaks and dries at other levels.
    other = sum(loss.flow for loss in out.losses if loss.place == "farm") - sum(
        loss.flow for loss in usual.losses if loss.place == "farm"
    )
    assert out.surplus == pytest.approx(usual.surplus + wash - other, rel=1e-9)
