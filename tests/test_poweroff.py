"""Every lift stops: closed-form cases, volumes that neither come nor go, opposite verdicts.

All expected values are closed form unless said otherwise; the farms are invented.
"""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopplan.errors import LoopplanError
from loopplan.loop.solution import solve_scenario
from loopplan.report.as_csv import budget_csv
from loopplan.report.as_json import budget_json
from loopplan.report.terminal import terminal_text
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget_of
from loopplan.studies.oxygen_reserve import oxygen_time
from loopplan.studies.poweroff import power_off
from loopplan.studies.settle import Rest, Store, Way, settle
from tests.power_loop import TANK_AREA, at, cases, conserved, drop, solved
from tests.random_loops import random_loop

FOLDER = Path(__file__).resolve().parent.parent / "scenarios"
FREE = float("-inf")


def store(floor: float, area: float) -> Store:
    return Store((floor,), (area,))


def both(a: int, b: int, control: float, weight: float = 1.0) -> list[Way]:
    return [Way(a, b, control, weight), Way(b, a, control, weight)]


class TestTwoBasins:
    """Upper basin of 10 m2 at 2.0 m, lower one of 5 m2 at 0.5 m, floors at 0."""

    stores = (store(0.0, 10.0), store(0.0, 5.0))
    levels = (2.0, 0.5)

    def test_weir_drains_to_its_crest(self) -> None:
        rest = settle(self.stores, self.levels, both(0, 1, 1.8))
        assert rest.levels == pytest.approx((1.8, 0.5 + 10.0 * 0.2 / 5.0), abs=1e-12)

    def test_weir_that_drowns_stops_where_the_levels_meet(self) -> None:
        rest = settle(self.stores, self.levels, both(0, 1, 1.2))
        # 22.5 m3 over 15 m2: 1.5 m, above the crest.
        assert rest.levels == pytest.approx((1.5, 1.5), abs=1e-12)

    def test_pipe_equalises(self) -> None:
        rest = settle(self.stores, self.levels, both(0, 1, FREE))
        assert rest.levels == pytest.approx((1.5, 1.5), abs=1e-12)

    def test_a_way_of_one_direction_holds_the_other(self) -> None:
        up = settle(self.stores, self.levels, [Way(1, 0, FREE)])
        assert up.levels == self.levels

    def test_a_basin_empties_to_its_floor_and_no_further(self) -> None:
        stores = (store(0.0, 10.0), store(-9.0, 5.0))
        rest = settle(stores, (2.0, -8.0), both(0, 1, FREE))
        assert rest.levels == pytest.approx((0.0, -4.0), abs=1e-12)

    def test_what_stands_above_a_wall_runs_over_it(self) -> None:
        ways = [*both(0, 1, 1.0), Way(1, None, 1.1, 0.0, "over")]
        rest = settle(self.stores, self.levels, ways)
        # 22.5 m3 less 1.1 m in 15 m2: the upper one meets the lower one's wall.
        assert rest.levels == pytest.approx((1.1, 1.1), abs=1e-12)
        assert rest.left == pytest.approx({"over": 22.5 - 16.5})


def test_a_full_sill_between_passes_on_what_comes() -> None:
    # A box at its brim must not be filled up to the tank first, nor run over its wall.
    stores = (store(0.0, 50.0), store(0.0, 0.1), store(-2.0, 40.0))
    ways = [*both(0, 1, 2.5), *both(1, 2, 1.0), Way(1, None, 1.05, 0.0, "wall")]
    rest = settle(stores, (3.0, 1.0, -1.0), ways)
    assert rest.left == {}
    assert rest.levels == pytest.approx((2.5, 1.0, -1.0 + 25.0 / 40.0), abs=1e-12)


def test_slices_hold_and_give_back_their_volume() -> None:
    one = Store((0.0, 0.5, 1.2), (2.0, 3.0, 1.0))
    assert one.volume(1.5) == pytest.approx(1.0 + 2.1 + 0.3)
    for volume in (0.0, 0.4, 1.0, 2.0, 3.1, 9.0):
        assert one.volume(one.level(volume)) == pytest.approx(volume, abs=1e-12)


LEVEL = st.floats(-3.0, 5.0)


@st.composite
def chains(draw: st.DrawFn) -> tuple[list[Store], list[float], list[Way]]:
    """Basins in a row, each joined to the next, some side joins, flaps, walls, channels."""
    count = draw(st.integers(2, 9))
    stores, levels = [], []
    for _ in range(count):
        floor = draw(LEVEL)
        area = draw(st.floats(0.05, 500.0))
        bottoms, areas = [floor], [area]
        for _ in range(draw(st.integers(0, 3))):
            bottoms.append(bottoms[-1] + draw(st.floats(0.01, 1.0)))
            areas.append(draw(st.floats(0.05, 500.0)))
        stores.append(Store(tuple(bottoms), tuple(areas)))
        levels.append(floor + draw(st.floats(0.0, 4.0)))
    pairs = list(pairwise(range(count)))
    end = st.integers(0, count - 1)
    pairs += [p for p in draw(st.lists(st.tuples(end, end), max_size=4)) if p[0] != p[1]]
    ways = []
    for a, b in pairs:
        control = draw(st.one_of(st.just(FREE), LEVEL))
        weight = draw(st.floats(0.0, 2.0))
        two = both(a, b, control, weight)
        ways += two if draw(st.booleans()) else two[:1]
    for i in range(count):
        if draw(st.booleans()):
            ways.append(Way(i, None, draw(LEVEL), 0.0, f"wall {i}"))
    return stores, levels, ways


def volume(stores: list[Store], levels: tuple[float, ...] | list[float]) -> float:
    return math.fsum(s.volume(z) for s, z in zip(stores, levels, strict=True))


@settings(max_examples=300, deadline=None)
@given(chains())
def test_any_row_of_basins_keeps_its_water_and_comes_to_rest(
    chain: tuple[list[Store], list[float], list[Way]],
) -> None:
    stores, levels, ways = chain
    rest = settle(stores, levels, ways)
    before = volume(stores, levels)
    after = volume(stores, rest.levels) + math.fsum(rest.left.values())
    assert after == pytest.approx(before, rel=1e-9, abs=1e-9)
    assert all(left >= 0.0 for left in rest.left.values())
    for way in ways:
        start = stores[way.start]
        below = FREE if way.end is None else rest.levels[way.end]
        # Nothing can flow any more: at the control, level with what is below, or empty.
        assert rest.levels[way.start] <= max(way.control, below, start.bottoms[0]) + 1e-9
    assert max(rest.levels) <= max(levels) + 1e-9
    again = settle(stores, rest.levels, ways)
    assert again.levels == pytest.approx(rest.levels, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(chains(), st.floats(-500.0, 500.0))
def test_the_datum_does_not_matter(
    chain: tuple[list[Store], list[float], list[Way]], lift: float
) -> None:
    stores, levels, ways = chain
    moved = [Store(tuple(b + lift for b in s.bottoms), s.areas) for s in stores]
    higher = [replace(w, control=w.control + lift) for w in ways]
    here = settle(stores, levels, ways)
    there = settle(moved, [z + lift for z in levels], higher)
    total = volume(stores, here.levels)
    assert volume(moved, there.levels) == pytest.approx(total, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("name", sorted(f.stem for f in FOLDER.glob("*.yaml")))
def test_shipped_scenarios_keep_their_water(name: str) -> None:
    file = FOLDER / f"{name}.yaml"
    found = power_off(solve_scenario(read(file.read_text(encoding="utf-8"), file.name)))
    assert found is not None
    for case in (*found.cases, *found.stuck):
        conserved(case)
        for place in case.places:
            assert place.wall_top is None or place.stop_level <= place.wall_top + 1e-9


@pytest.mark.parametrize("seed", range(16))
def test_invented_farms_keep_their_water(seed: int) -> None:
    try:
        found = power_off(solve_scenario(read(random_loop(seed), "invented.yaml")))
    except LoopplanError:
        pytest.skip("this farm does not close")
    if found is None:
        pytest.skip("this farm has no lift")
    for case in (*found.cases, *found.stuck):
        conserved(case)
        assert all(math.isfinite(p.stop_level) for p in case.places)


class TestLoop:
    def test_a_flap_holds_the_tank_at_its_sill(self) -> None:
        case, _ = cases()
        assert at(case, "tank").stop_level == pytest.approx(1.10, abs=1e-9)
        rise = drop(case) / 5.0
        assert at(case, "sump").stop_level == pytest.approx(0.20 + rise, abs=1e-9)
        assert case.lost == 0.0
        assert at(case, "sump").freeboard == pytest.approx(0.40 - rise, abs=1e-9)

    def test_starting_again_needs_just_what_ran_down(self) -> None:
        case, _ = cases()
        assert case.start == pytest.approx(drop(case), abs=1e-9)
        assert case.held == pytest.approx(5.0 + drop(case), abs=1e-9)
        assert case.short == 0.0

    def test_a_stuck_flap_lets_the_tank_run_back(self) -> None:
        _, case = cases(("wall top: 0.60 m", "wall top: 1.50 m"))
        assert case is not None and case.stuck == "pump"
        # Levels meet: all water of both over both areas.
        tank = at(case, "tank").running_volume
        level = (tank + 5.0 - 0.80 * 5.0) / (TANK_AREA + 5.0)
        assert at(case, "tank").stop_level == pytest.approx(level, abs=1e-9)
        assert at(case, "sump").stop_level == pytest.approx(level, abs=1e-9)
        assert case.pipes == 0.0

    def test_a_lift_without_flap_is_as_a_stuck_one_and_has_none_to_stick(self) -> None:
        _, stuck = cases(("wall top: 0.60 m", "wall top: 1.50 m"))
        case, none = cases(
            ("wall top: 0.60 m", "wall top: 1.50 m"), ("propeller pump", "propeller pump, flap: no")
        )
        assert none is None and stuck is not None
        assert at(case, "tank").stop_level == pytest.approx(at(stuck, "tank").stop_level)

    def test_an_airlift_has_no_flap_unless_one_is_stated(self) -> None:
        wall = ("wall top: 0.60 m", "wall top: 1.50 m")
        open_way, none = cases(wall, ("propeller pump", "airlift"))
        assert none is None
        assert at(open_way, "tank").stop_level == pytest.approx(at(open_way, "sump").stop_level)
        held, stuck = cases(wall, ("propeller pump", "airlift, flap: yes"))
        assert stuck is not None
        assert at(held, "tank").stop_level == pytest.approx(1.10)

    def test_a_siphon_break_ends_the_run_back_and_the_riser_empties(self) -> None:
        wall = ("wall top: 0.60 m", "wall top: 1.50 m")
        _, case = cases(wall, ("propeller pump", "propeller pump, delivery level: 1.05 m"))
        assert case is not None
        assert at(case, "tank").stop_level == pytest.approx(1.05, abs=1e-9)
        pipe = math.pi / 4.0 * 0.25**2 * 10.0
        assert case.pipes == pytest.approx(pipe)
        back = at(case, "tank").drained + pipe
        assert at(case, "sump").stop_level == pytest.approx(0.20 + back / 5.0, abs=1e-9)

    def test_a_pipe_holds_a_basin_at_its_stated_inlet(self) -> None:
        outlet = "{kind: weir, crest: 1.10 m, width: 1.0 m, crest height: 1.1 m}"
        pipe = "{kind: pipe, length: 5 m, diameter: 160 mm%s}"
        case, _ = cases((outlet, pipe % ""))
        # A pipe without a stated inlet lets the levels meet.
        assert at(case, "tank").stop_level == pytest.approx(at(case, "sump").stop_level, abs=1e-9)
        inlet = at(case, "tank").running_level - 0.02
        case, _ = cases((outlet, pipe % f", inlet level: {inlet!r} m"))
        assert at(case, "tank").stop_level == pytest.approx(inlet, abs=1e-9)
        # Both waters stand below the inlet, and the pipe runs empty.
        assert case.pipes == pytest.approx(math.pi / 4.0 * 0.16**2 * 5.0)
        back = 0.02 * TANK_AREA + case.pipes
        assert at(case, "sump").stop_level == pytest.approx(0.20 + back / 5.0, abs=1e-6)

    def test_a_swing_check_valve_is_a_flap(self) -> None:
        changes = (
            ("wall top: 0.60 m", "wall top: 1.50 m"),
            ("propeller pump}", "propeller pump, flap: no}\n"
             "  check: {kind: valve, diameter: 250 mm, type: swing check}"),
            ("pump, riser", "pump, check, riser"),
        )  # fmt: skip
        case, stuck = cases(*changes)
        assert at(case, "tank").stop_level == pytest.approx(1.10)
        assert stuck is not None and stuck.stuck == "check"
        assert at(stuck, "tank").stop_level == pytest.approx(at(stuck, "sump").stop_level)


@pytest.mark.parametrize(("intake", "stop"), [("", 2.0), (", intake level: 2.7 m", 2.7)])
def test_a_stopped_lift_drains_its_box_down_to_its_intake(intake: str, stop: float) -> None:
    """A side stream from a head box: forward through it runs what stands above its intake."""
    changes = (
        ("  riser: ", "  head box: {kind: box, area: 4 m2, floor: 2 m, wall top: 4 m}\n"
         "  lip: {kind: weir, crest: 3.0 m, width: 1 m}\n"
         f"  booster: {{kind: lift, flow: 20 m3/h, device: centrifugal pump{intake}}}\n"
         "  jets: {kind: loss, loss: 10 m, flow: 20 m3/h}\n  riser: "),
        ("wall top: 0.60 m", "wall top: 2.00 m"),
        ("pump, riser, tank]", "pump, riser, head box, lip, tank]\n"
         "  side: [head box, booster, jets, tank]"),
    )  # fmt: skip
    case, _ = cases(*changes)
    assert at(case, "head box").stop_level == pytest.approx(stop, abs=1e-9)
    low = [s.lift for s in case.suctions if s.stop_level <= s.least_level + 1e-9]
    assert low == (["booster"] if not intake else [])
    # Closed form: of the box, only what lies above the intake can be drawn, so nothing.
    own = at(case, "sump")
    assert case.held == pytest.approx(own.stop_volume, abs=1e-9)


def test_trout_channel_runs_back_through_its_gates_as_it_is_said() -> None:
    """No false alarm: an airlift shaft has no flap, and its gates stand under water, so that the
    raceways run back through them into the shaft and out over its overflow."""
    text = (FOLDER / "trout-channel.yaml").read_text(encoding="utf-8")

    def stops(text: str) -> tuple[float, float]:
        power = power_off(solve_scenario(read(text, "trout-channel.yaml")))
        assert power is not None
        level = min(p.stop_level for p in power.cases[0].places if p.element == "raceways A")
        return level, power.cases[0].lost

    # Down to the overflow of the shaft, 0.88 m: each of eight raceways of 62.5 m2 gives a third
    # of a metre and more.
    level, lost = stops(text)
    assert level == pytest.approx(0.88, abs=1e-9)
    assert lost > 8.0 * 62.5 * 0.33
    # Fed over a sill instead of through a gate they would keep their water.
    gate = "inlet: {kind: opening, invert: 0.80 m, height: 200 mm, width: 400 mm}"
    sill = "inlet: {kind: weir, crest: 1.19 m, width: 1.2 m, crest height: 0.7 m}"
    assert text.count(gate) == 4
    level, less = stops(text.replace(gate, sill))
    assert level == pytest.approx(1.19, abs=1e-9)
    assert less < 0.35 * lost


OUTLET = "    outlet: {kind: weir, crest: 1.10 m, width: 1.0 m, crest height: 1.1 m}\n"


@pytest.mark.parametrize(("broken", "stop"), [(", break level: 0.95 m", 0.95), ("", None)])
def test_a_siphon_draws_down_to_its_break(broken: str, stop: float | None) -> None:
    siphon = "{kind: siphon, length: 5 m, diameter: 140 mm, crest: 1.3 m, priming: vacuum pump%s}"
    case, _ = cases(
        (OUTLET, f"  over: {siphon % broken}\n"),
        ("[tank, sump", "[tank, over, sump"),
        ("volume: 5 m3", "volume: 7 m3"),
    )
    level = at(case, "sump").stop_level if stop is None else stop
    # Higher than the break at the start, or the case shows nothing.
    assert at(case, "tank").running_level > 0.97
    assert at(case, "tank").stop_level == pytest.approx(level, abs=1e-9)


def test_a_channel_gives_all_that_stands_above_its_floor() -> None:
    flume = "  flume: {kind: channel, length: 10 m, width: 0.40 m, floor up: 0.80 m, floor down: %s"
    case, _ = cases(
        ("  sump: ", flume % "0.80 m}\n  sump: "),
        ("[tank, sump", "[tank, flume, sump"),
        ("top: 0.60 m", "top: 0.75 m"),
    )
    channel = at(case, "flume")
    assert channel.stop_volume == pytest.approx(0.0, abs=1e-9)
    # Closed form: at its free end it stands at critical depth, (q2/g)^(1/3) of 33.3 L/s on
    # 0.40 m, and higher before.
    critical = ((120.0 / 3600.0 / 0.40) ** 2 / 9.80665) ** (1.0 / 3.0)
    assert 1.0 < channel.running_volume / (critical * 0.40 * 10.0) < 1.6
    back = drop(case) + channel.running_volume
    assert at(case, "sump").stop_level == pytest.approx(0.20 + back / 5.0, abs=1e-9)
    sloped, _ = cases(
        ("  sump: ", flume % "0.90 m}\n  sump: "),
        ("[tank, sump", "[tank, flume, sump"),
        ("top: 0.60 m", "top: 0.75 m"),
    )
    # A floor that rises to 0.90 m keeps a wedge of half of 0.10 m.
    assert at(sloped, "flume").stop_volume == pytest.approx(0.05 * 0.40 * 10.0, rel=1e-3)


@pytest.mark.parametrize(
    ("density", "rate", "usable", "minutes"),
    [(50, 300, 5, 20), (100, 300, 5, 10), (50, 150, 4, 32)],
)
def test_minutes_of_oxygen(density: float, rate: float, usable: float, minutes: float) -> None:
    # Closed form: t = usable / (density of stock x rate); 20, 10 and 32 min.
    seconds = oxygen_time(usable / 1000.0, 1.0, density, rate * 1e-6 / 3600.0)
    assert seconds / 60.0 == pytest.approx(minutes, rel=1e-12)


def test_oxygen_times_of_the_field() -> None:
    # Published: 20 to 32 min at 94 kg/m3 and 6.7 mg/L mean 134 to 214 mg/kg/h, as worked back
    # from Ebeling and Hightower's field report.
    for minutes, rate in ((32.0, 134.0), (20.0, 214.0)):
        seconds = oxygen_time(6.7e-3, 1.0, 94.0, rate * 1e-6 / 3600.0)
        assert seconds / 60.0 == pytest.approx(minutes, rel=0.005)


def test_report_json_and_csv_tell_the_same() -> None:
    result = budget_of(solved(("propeller pump", "propeller pump, flap: no")))
    assert result.power_off is not None
    case = result.power_off.worst
    text = terminal_text(result)
    part = text[text.index("When the power fails") : text.index("Findings, worst first")]
    assert f"{1000.0 * case.over_walls:,.0f} L run over walls (sump)" in part
    assert f"{1000.0 * case.short:,.0f} L short" in " ".join(part.split())
    tank = next(line for line in part.splitlines() if line.startswith("tank"))
    assert f"{at(case, 'tank').stop_level:.3f}" in tank
    told = json.loads(budget_json(result))["power_off"]["cases"]
    rows = list(csv.DictReader(io.StringIO(budget_csv(result)["power_off.csv"])))
    assert [row["element"] for row in rows] == [p.element for p in case.places]
    for row, place in zip(rows, told[0]["basins"], strict=True):
        for key in ("stop_level_m", "gives_m3", "takes_m3", "over_wall_m3", "freeboard_m"):
            assert float(row[key]) == place[key]


def test_report_tells_of_a_stuck_flap_and_of_oxygen() -> None:
    result = budget_of(solved(("elements:\n", "stock: {biomass: 1 t}\nelements:\n")))
    text = terminal_text(result, width=80)
    assert "With the flap of pump stuck open (the only one)" in text
    assert "134 to 300 mg per kg of fish and hour" in " ".join(text.split())
    assert "Nothing runs over a wall" in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_oxygen_is_told_of_a_stocked_tank_only() -> None:
    bare, _ = cases()
    assert all(p.oxygen is None for p in bare.places)
    case, _ = cases(("elements:\n", "stock: {biomass: 1 t}\nelements:\n"))
    tank = at(case, "tank")
    assert at(case, "sump").oxygen is None and tank.oxygen is not None
    # Closed form with what is left in the tank and 5 mg/L.
    assert tank.oxygen[0] == pytest.approx(0.005 * tank.stop_volume / 1000.0 / 300e-6 * 3600.0)
    assert tank.oxygen[1] / tank.oxygen[0] == pytest.approx(300.0 / 134.0)


@pytest.mark.parametrize(
    ("biomass", "consumption"), [(0.0, 1e-7), (1.0, 0.0), (-1.0, 1e-7)]
)  # fmt: skip
def test_oxygen_refuses_what_is_no_stock(biomass: float, consumption: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        oxygen_time(0.005, 1.0, biomass, consumption)


def test_a_rest_is_plain() -> None:
    assert settle([], [], []) == Rest((), {})
