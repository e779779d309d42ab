"""The air supply: closed forms, conservation, and a second solution by bracketing."""

from __future__ import annotations

import pytest
from scipy.optimize import brentq

from loopplan.errors import NoSolution, Refused
from loopplan.physics.air import STANDARD, dry_mass_flow
from loopplan.physics.airlift_column import site
from loopplan.physics.blower_classes import AIR_PIPE_MATERIALS, BLOWERS
from loopplan.scenario.air import AirLine, Blower
from loopplan.scenario.reader import read
from loopplan.studies.air import air_supply
from loopplan.studies.air_results import AirResult
from loopplan.studies.budget import budget
from tests.air_loop import LOOP, case, supply, text, user, water
from tests.referee import airlift as referee
from tests.referee.air import (
    FREE,
    STATED,
    before,
    blown,
    divided,
    hot_of,
    inlet,
    need,
    through_main,
)
from tests.referee.laws import G

WASH = "clean, air to wash"


def backs_of(result: AirResult, state: str, names: tuple[str, ...]) -> dict[str, float]:
    return {name: 101325.0 + user(result, state, name).column for name in names}


def valves(result: AirResult) -> tuple[dict[str, float], float]:
    """Loss coefficients of the valves of those that are on in the first state, and the speed."""
    first = case(result, "clean")
    hot, backs = first.temperature.value, backs_of(result, "clean", ("airlift", "head box"))
    header = max(need(n, STATED[n], back, hot, 0.0) for n, back in backs.items())
    found = {}
    for name, back in backs.items():

        def miss(k: float, name: str = name, back: float = back) -> float:
            return need(name, STATED[name], back, hot, k) - header

        found[name] = float(brentq(miss, 0.0, 1e3, xtol=1e-13)) if miss(0.0) < 0.0 else 0.0
    total = STATED["airlift"] + STATED["head box"]
    delivery = before(total * FREE, header, 0.2, 30.0, hot, 0.0)
    speed = brentq(lambda s: blown(delivery - inlet()[0], s) - total, 0.2, 2.0, xtol=1e-15)
    return found, float(speed)


def test_in_the_first_state_everyone_gets_what_it_states() -> None:
    result = supply()
    for name in ("airlift", "head box"):
        assert user(result, "clean", name).free == pytest.approx(STATED[name], rel=1e-9)
    assert user(result, "clean", "wash").free == 0.0
    # The wash has its valve set when it is turned on.
    assert user(result, WASH, "wash").free == pytest.approx(STATED["wash"], rel=1e-8)


def test_air_is_neither_made_nor_lost() -> None:
    for at in supply().headers[0].cases:
        for state in ("free", "normal", "inlet"):
            users = sum(getattr(u, state) for u in at.users)
            assert users == pytest.approx(getattr(at, state), rel=1e-9)
        # Closed form: both dry, at one pressure.
        assert at.normal / at.free == pytest.approx(273.15 / 293.15, rel=1e-12)
        assert at.inlet / at.free == pytest.approx(FREE / inlet()[1], rel=1e-9)


def test_pressures_of_each_user_add_up_to_the_header() -> None:
    for at in supply().headers[0].cases:
        for one in at.users:
            if one.on:
                summed = one.column + one.diffuser + one.pipe + one.valve
                assert summed == pytest.approx(at.header, rel=1e-9)
        assert at.header + at.main_loss == pytest.approx(at.delivery, rel=1e-12)
        assert at.delivery + 1000.0 == pytest.approx(at.rise, rel=1e-12)


def test_column_is_that_of_the_solved_levels() -> None:
    result = supply()
    density = float(site(12.0).water_density)
    for state in ("clean", "fouled"):
        one = user(result, state, "airlift")
        # 0.8 m in the sump, diffusers at -1.7 m.
        assert one.depth == pytest.approx(2.5, abs=1e-9)
        assert one.column == pytest.approx(density * G * 2.5, rel=1e-9)
        loss = 0.3 if state == "clean" else 0.36
        box = 0.8 + loss * (water(result, state) / 0.25) ** 2
        assert user(result, state, "head box").depth == pytest.approx(box + 1.0, abs=1e-8)


@pytest.mark.parametrize("state", ["fouled", WASH])
def test_split_agrees_with_an_independent_one(state: str) -> None:
    result = supply()
    k, speed = valves(result)
    assert result.headers[0].speed == pytest.approx(speed, rel=1e-9)
    at = case(result, state)
    hot = at.temperature.value
    assert hot == pytest.approx(hot_of(101325.0 + at.delivery), rel=1e-9)
    names: tuple[str, ...] = ("airlift", "head box")
    total = through_main(speed, hot)
    backs = backs_of(result, state, names)
    # What the wash takes is set: its valve makes it so.
    taken = STATED["wash"] if state == WASH else 0.0
    flows, header = divided(backs, k, hot, lambda header: total(header) - taken)
    assert header - 101325.0 == pytest.approx(at.header, rel=1e-8)
    for name in names:
        assert flows[name] == pytest.approx(user(result, state, name).free, rel=1e-7)


def test_headers_and_loop_agree() -> None:
    result = supply()
    assert result.history[-1] <= 1e-9
    # Contracts: each round is nearer than the one before.
    assert all(b < a for a, b in zip(result.history, result.history[1:], strict=False))


@pytest.mark.parametrize("state", ["clean", "fouled", WASH])
def test_loop_at_the_found_air_moves_the_found_water(state: str) -> None:
    result = supply()
    air = 3600.0 * user(result, state, "airlift").free
    loss = "360 mm" if state == "fouled" else "300 mm"
    alone = text(("air: 700 m3/h", f"air: {air!r} m3/h"), ("loss: 300 mm", f"loss: {loss}")).split(
        "air supply:"
    )[0]
    (lift,) = budget(read(alone.encode())).lifts
    assert lift.states[0].flow == pytest.approx(water(result, state), rel=1e-8)


def test_header_and_loop_together_against_bracketing() -> None:
    """One unknown, the water flow; airlift by the scalar referee, header by the split above."""
    result = supply()
    k, speed = valves(result)
    at = case(result, "fouled")
    hot = at.temperature.value
    where = site(12.0)
    medium = referee.Water(
        12.0,
        float(where.water_density),
        float(where.viscosity),
        float(where.surface_tension),
        float(where.vapour_pressure),
        float(where.atmosphere),
    )
    total = through_main(speed, hot)

    def excess(flow: float) -> float:
        lift = 0.36 * (flow / 0.25) ** 2
        backs = {
            "airlift": 101325.0 + medium.density * G * 2.5,
            "head box": 101325.0 + medium.density * G * (0.8 + lift + 1.0),
        }
        flows, _ = divided(backs, k, hot, total)
        air = float(dry_mass_flow(flows["airlift"], STANDARD))
        sizes = referee.ShaftSizes(3.0, 2.0, 2.0, 1.6, 0.5, 0.5, 0.7 + 2.2, lift)
        return float(referee.shaft(sizes, 1.0, medium).excess(flow, air))

    flow = brentq(excess, 0.1, 0.4, xtol=1e-9)
    assert water(result, "fouled") == pytest.approx(float(flow), rel=1e-6)


TWINS = (
    ("      wash:\n        air: 150 m3/h\n        depth: 1.2 m\n",
     "      wash:\n        air: 150 m3/h\n        valve loss: 0 kPa\n        depth: 2.40 m\n"),
    ("        takes air: at times\n", ""),
    ("length: 20 m}", "length: 20 m}\n      twin:\n        air: 150 m3/h\n        depth: 2.4 m\n"
     "        valve loss: 0 kPa\n        diffuser loss: 1 kPa\n"
     "        branch: {diameter: 100 mm, length: 20 m}"),
)  # fmt: skip


def test_of_two_like_users_the_deeper_gets_less() -> None:
    even = supply(*TWINS)
    first, second = (user(even, "clean", name).free for name in ("wash", "twin"))
    assert first == pytest.approx(second, rel=1e-9)
    got = [first]
    for depth in ("2.45 m", "2.5 m"):
        deeper = supply(*TWINS, ("depth: 2.4 m\n", f"depth: {depth}\n"))
        assert user(deeper, "clean", "twin").free < user(deeper, "clean", "wash").free
        got.append(user(deeper, "clean", "twin").free)
    assert got[0] > got[1] > got[2] > 0.0


def test_fouled_water_stands_higher_in_the_box_and_sends_air_to_the_airlift() -> None:
    result = supply()
    assert user(result, "fouled", "head box").depth > user(result, "clean", "head box").depth
    assert user(result, "fouled", "head box").free < user(result, "clean", "head box").free
    assert user(result, "fouled", "airlift").free > user(result, "clean", "airlift").free


def test_an_air_wash_takes_the_airlifts_air_and_water() -> None:
    result = supply()
    assert user(result, WASH, "airlift").free < user(result, "clean", "airlift").free
    assert water(result, WASH) < water(result, "clean")


@pytest.mark.parametrize(("stands", "metres"), [("near", 3.0), ("far", 3.5)])
def test_rule_of_practice(stands: str, metres: float) -> None:
    # Common practice, no source: 2.5 m of water take 3.0 m near and 3.5 m far.
    head = supply(("standby: 1", f"standby: 1\n      stands: {stands}")).headers[0]
    assert head.deepest == pytest.approx(2.5, abs=1e-9)
    assert head.rule_head == pytest.approx(metres, abs=1e-9)
    density = float(site(12.0).water_density)
    assert head.rule_pressure == pytest.approx(density * G * metres, rel=1e-9)


def test_start_is_against_the_highest_water_and_not_the_running_column() -> None:
    result = supply()
    head = result.headers[0]
    assert head.standing == "airlift"
    # Highest: the head box at the greatest flow, over diffusers at -1.7 m, with their 2 kPa.
    top = max(user(result, c, "head box").depth for c in result.cases) - 1.0
    density = float(site(12.0).water_density)
    assert head.starting == pytest.approx(density * G * (top + 1.7) + 2000.0, rel=1e-8)
    assert head.starting > max(u.column + u.diffuser for u in case(result, "clean").users)


DRY = (
    ("inlet temperature: 25 degC", "inlet temperature: 20 degC\n      inlet humidity: 0 %\n"
     "      filter loss: 0 kPa"),
)  # fmt: skip
HIGH = ("farm: {name: Loop of a test}", "farm: {name: Loop of a test, altitude: 1828.8 m}")


def test_height_thins_the_air() -> None:
    low, high = supply(*DRY), supply(*DRY, HIGH)
    assert case(low, "clean").inlet == pytest.approx(case(low, "clean").free, rel=1e-12)
    # Published: 1000 volumes of standard air are 1248 at 6000 ft ("Seven laws of blower
    # application", Machine Design).
    thin = case(high, "clean")
    assert 1000.0 * thin.inlet / thin.free == pytest.approx(1248.0, abs=0.5)
    assert high.headers[0].speed > low.headers[0].speed
    assert thin.temperature.value > case(low, "clean").temperature.value


def test_heat_and_humidity_ask_for_more_speed() -> None:
    cool = supply(("temperature: 25 degC", "temperature: 5 degC"))
    warm = supply(("temperature: 25 degC", "temperature: 40 degC"))
    damp = supply(("temperature: 25 degC", "temperature: 40 degC\n      inlet humidity: 100 %"))
    speeds = [r.headers[0].speed for r in (cool, warm, damp)]
    assert speeds == sorted(speeds) and speeds[0] < speeds[1] < speeds[2]


def test_power_of_the_class_by_hand() -> None:
    at = case(supply(), "clean")
    low, _ = inlet()
    ratio = (101325.0 + at.delivery) / low
    n = 0.4 / 1.4
    ideal = at.inlet * low * (ratio**n - 1.0) / n
    for band, efficiency in zip(
        (at.shaft.least, at.shaft.value, at.shaft.most), (0.65, 0.55, 0.45), strict=True
    ):
        assert band == pytest.approx(ideal / efficiency, rel=1e-9)
    assert at.electric.value > at.shaft.value
    # Lobes press in against the full pressure: closed form.
    assert at.ideal == pytest.approx(at.inlet * at.rise, rel=1e-9)
    assert ideal < at.ideal < at.shaft.least
    hottest = 298.15 * (1.0 + (ratio**n - 1.0) / 0.45) - 273.15
    assert at.temperature.most == pytest.approx(hottest, rel=1e-9)


def test_stated_efficiency_leaves_no_range() -> None:
    at = case(supply(("standby: 1", "standby: 1\n      efficiency: 60 %")), "clean")
    assert at.shaft.least == at.shaft.value == at.shaft.most


TWO = (("air: 1200 m3/h", "air: 600 m3/h"), ("running: 1", "running: 2"))


def test_one_blower_out_of_two() -> None:
    result = supply(*TWO)
    (out,) = result.outs
    ((lift, before_, after),) = out.lifts
    assert (out.left, lift) == (1, "airlift")
    assert before_ == pytest.approx(water(result, "clean"))
    assert after is not None and 0.0 <= after < 0.7 * before_
    short = case(result, "clean, one blower of header out")
    assert short.running == 1
    # Half the swept volume; less pressure, so less slip as well.
    assert 0.5 < short.free / case(result, "clean").free < 0.55
    # The budget of the loop alone, at that air, moves that water.
    air = 3600.0 * user(result, "clean, one blower of header out", "airlift").free
    alone = text(("air: 700 m3/h", f"air: {air!r} m3/h")).split("air supply:")[0]
    (found,) = budget(read(alone.encode())).lifts
    assert found.states[0].flow == pytest.approx(after, rel=1e-7)


def test_the_only_blower_out() -> None:
    (out,) = supply().outs
    assert (out.left, out.standby) == (0, 1)
    assert out.lifts[0][2] == 0.0


def test_turndown_and_least_air() -> None:
    head = supply().headers[0]
    delivery = case(supply(), "clean").delivery + 101325.0
    assert head.least_air == pytest.approx(blown(delivery - inlet()[0], 0.40), rel=1e-9)


def test_stated_speed_is_kept() -> None:
    slow = supply(("standby: 1", "standby: 1\n      speed: 70 %"))
    head = slow.headers[0]
    assert (head.speed, head.speed_stated) == (0.7, True)
    at = case(slow, "clean")
    assert at.free == pytest.approx(blown(at.rise, 0.7), rel=1e-8)
    assert water(slow, "clean") < water(supply(), "clean")


def test_a_blower_of_its_own_spares_the_valves() -> None:
    ways = {way.name: way for way in supply().ways}
    assert set(ways) == {"as planned", "one for each user"}
    assert ways["one for each user"].electric < ways["as planned"].electric
    assert ways["as planned"].electric == case(supply(), "clean").electric.value
    for way in ways.values():
        assert way.energy == pytest.approx(way.electric * 8760.0 * 3600.0)
        assert way.cost is None


PRICE = ("duty states:", "prices: {currency: crowns, electricity: 2, hours: 4000 h}\nduty states:")


def test_costs_follow_the_price() -> None:
    result = supply(PRICE)
    assert (result.currency, result.hours) == ("crowns", 4000.0 * 3600.0)
    for way in result.ways:
        assert way.cost == pytest.approx(way.electric / 1e3 * 4000.0 * 2.0)


SECOND = (
    ("      wash:\n        air: 150 m3/h", "  shallow:\n    blower: {air: 300 m3/h, rated "
     "pressure: 30 kPa}\n    users:\n      wash:\n        air: 150 m3/h"),
    ("        takes air: at times\n", ""),
)  # fmt: skip


def test_two_headers_keep_two_pressures() -> None:
    result = supply(*SECOND)
    deep, shallow = (case(result, "clean", name) for name in ("header", "shallow"))
    assert shallow.delivery < deep.delivery
    ways = {way.name: way for way in result.ways}
    assert ways["one header for all"].electric > ways["as planned"].electric
    assert ways["as planned"].blowers == 2
    # What one header does is nothing to the other.
    assert water(result, "clean") == pytest.approx(water(supply(), "clean"), rel=1e-9)


def test_given_flow_gives_way_to_the_air() -> None:
    given = supply(("    kind: lift\n", "    kind: lift\n    flow: 500 m3/h\n"))
    assert water(given, "clean") == pytest.approx(water(supply(), "clean"), rel=1e-9)
    shares = supply(
        ("    kind: lift\n", "    kind: lift\n    flow: 500 m3/h\n"),
        ("  clean: {}\n", "  clean: {}\n  half: {flow: 50 %}\n"),
    )
    assert shares.left_out == ("half",)


def test_a_user_in_some_states_only() -> None:
    result = supply(
        ("        takes air: at times\n", "        in states: [fouled]\n"),
    )
    assert result.cases == ("clean", "fouled")
    assert user(result, "clean", "wash").free == 0.0
    assert user(result, "fouled", "wash").free == pytest.approx(STATED["wash"], rel=1e-8)


def test_without_an_air_supply_it_refuses() -> None:
    with pytest.raises(Refused, match="air supply"):
        air_supply(read(LOOP.split("air supply:")[0].encode()))


def test_air_that_moves_no_water_is_no_solution() -> None:
    with pytest.raises(NoSolution):
        supply(("standby: 1", "standby: 1\n      speed: 20 %"))


def test_a_speed_at_which_only_slip_is_blown_is_no_solution() -> None:
    with pytest.raises(NoSolution, match="header"):
        supply(("standby: 1", "standby: 1\n      speed: 5 %"))


def test_air_of_like_units_is_counted_for_all_of_them() -> None:
    two = supply(
        ("    kind: lift\n", "    kind: lift\n    count: 2\n"),
        ("air: 700 m3/h", "air: 350 m3/h"),
        ("half: 2 m2\n      outlet half: 2 m2", "half: 1 m2\n      outlet half: 1 m2"),
        ("width: 1.6 m", "width: 0.8 m"),
    )
    assert user(two, "clean", "airlift").stated == pytest.approx(700.0 / 3600.0)
    assert case(two, "clean").free == pytest.approx(900.0 / 3600.0, rel=1e-9)
    # Half as wide, twice: nearly the same water, the cells of its flow being smaller.
    assert water(two, "clean") == pytest.approx(water(supply(), "clean"), rel=0.15)


TUBE = """\
      kind: tube
      bore: 250 mm
      tubes: 12
      injection depth: 2.5 m
      injection level: -1.7 m
      air: 700 m3/h
      diffuser loss: 2 kPa
"""
SHAFT = LOOP[LOOP.index("      kind: channel shaft\n") : LOOP.index("  head box: {kind")]


def test_tubes_take_air_as_a_shaft_does() -> None:
    result = supply((SHAFT, TUBE))
    assert user(result, "clean", "airlift").depth == pytest.approx(2.5, abs=1e-9)
    assert 0.0 < water(result, WASH) < water(result, "clean")
    assert result.history[-1] <= 1e-9


def test_an_airlift_of_unknown_floor_keeps_its_given_flow() -> None:
    result = supply(
        ("    kind: lift\n", "    kind: lift\n    flow: 500 m3/h\n"),
        ("      floor: -2.2 m\n      inlet", "      inlet"),
        ("      air: 700 m3/h\n", ""),
        ("      airlift:\n        branch", "      airlift:\n        air: 700 m3/h\n        branch"),
    )
    (lift,) = result.lifts
    assert not lift.driven
    assert water(result, "fouled") == pytest.approx(500.0 / 3600.0, rel=1e-9)
    # As drawn: 3.5 m deep, 0.5 m dry, diffusers 0.5 m above the floor.
    assert user(result, "clean", "airlift").depth == pytest.approx(2.5, abs=1e-9)


LIFT = LOOP[LOOP.index("  airlift:\n    kind: lift") : LOOP.index("  head box: {kind")]
NEXT = (
    LIFT.replace("  airlift:", "  next lift:", 1).replace("-2.2", "-2.0").replace("0.7 m", "0.9 m")
)
SERIES = (
    ("  way back: {", "  high box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 2.8 m}\n" + NEXT
     + "  way back: {"),
    ("head box, way back", "head box, next lift, high box, way back"),
    ("users:\n", "users:\n      next lift: {branch: {diameter: 150 mm, length: 9 m}}\n"),
    ("air: 1200 m3/h", "air: 2000 m3/h"),
    ("loss: 300 mm", "loss: 500 mm"),
    ("loss: 360 mm", "loss: 620 mm"),
)  # fmt: skip


def test_two_airlifts_in_series_share_one_header() -> None:
    result = supply(*SERIES)
    assert result.history[-1] <= 1e-9
    second, first = result.lifts
    for (state, a), (_, b) in zip(first.flows, second.flows, strict=True):
        assert a == pytest.approx(b, rel=1e-9)
        at = case(result, state)
        assert sum(u.free for u in at.users) == pytest.approx(at.free, rel=1e-9)
    # Fouled, the box between them stands higher: the second is deeper, and gets less.
    deeper = user(result, "fouled", "next lift")
    assert deeper.depth > user(result, "clean", "next lift").depth
    assert deeper.free < deeper.stated < user(result, "fouled", "airlift").free


def test_words_of_the_file_are_those_of_the_data() -> None:
    def choices(cls: type, name: str) -> set[str]:
        return set(cls.model_fields[name].annotation.__args__)  # type: ignore[attr-defined]

    assert choices(Blower, "class_") == set(BLOWERS)
    assert choices(AirLine, "material") == set(AIR_PIPE_MATERIALS)
