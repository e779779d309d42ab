"""Airlifts on lift sheets: stall, levels, tubes, gases; against the scalar referee.

Expected values are closed forms or the referee's; nothing here is a snapshot.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from loopplan.errors import BadFile
from loopplan.studies.lift_sheet_results import AirPoint
from tests.lift_loop import PUMP, UP, air, codes, device, lift, loss, sheet, study, water
from tests.referee import airlift as referee

SILL = 0.7
FREE = 101325.0 / referee.R_DRY / 293.15
"""Dry mass of a cubic metre of free air [kg/m3]."""
FLOW = 1000.0 / 3600.0


def drawn(words: str = "") -> tuple[str, str]:
    return air(f"width: 1.6 m, outlet sill: {SILL} m{', ' if words else ''}{words}")


def point(*changes: tuple[str, str]) -> AirPoint:
    detail = device("airlift", *changes).states[0].detail
    assert isinstance(detail, AirPoint)
    return detail


def column(rise: float, *, rung: float = 1.0) -> referee.Column:
    sizes = referee.ShaftSizes(UP + 2.0, 2.0, 2.0, 1.6, 0.5, 0.5, SILL + 2.0, rise)
    return referee.shaft(sizes, rung, water())


def test_stall_is_where_the_referee_has_no_water() -> None:
    found = point(drawn("floor: -2 m, air: 700 m3/h"))
    mass = 700.0 / 3600.0 * FREE
    for rung, told in ((1.0, found.stall.value), (0.0, found.stall.most), (2.0, found.stall.least)):
        stall = brentq(lambda h, r=rung: column(h, rung=r).excess(0.0, mass), 0.0, 3.0, xtol=1e-12)
        assert told == pytest.approx(stall, rel=1e-6)
    assert found.margin == pytest.approx(found.stall.value - 0.3, abs=1e-6)


def test_flow_lost_by_a_centimetre_is_the_referees() -> None:
    found = point(drawn("floor: -2 m, air: 700 m3/h"))
    mass = 700.0 / 3600.0 * FREE
    now, then = (column(h).water_moved(mass, 1e-6, 1.0) for h in (0.30, 0.31))
    assert found.lost_per_cm == pytest.approx(1.0 - then / now, rel=1e-4)


def stall_loop(cubic_metres: float) -> tuple[tuple[str, str], ...]:
    """A wide riser at little flow: it stalls near where it works."""
    return (
        (PUMP, "{kind: lift, flow: 60 m3/h, device: airlift, airlift: {kind: channel shaft, "
         "inlet half: 2 m2, outlet half: 2 m2, floor: -2 m, outlet sill: 0.95 m, "
         f"air: {cubic_metres} m3/h}}}}"),
        ("flow: 1000 m3/h}\nflow", "flow: 60 m3/h}\nflow"),
        ("loss: 300 mm", "loss: 200 mm"),
    )  # fmt: skip


def test_an_airlift_that_stalls_near_is_told_and_more_air_quiets_it() -> None:
    # The air at which this shaft stalls 3 cm above its lift, and that for 8 cm.
    width = math.sqrt(2.0)
    sizes = [
        referee.ShaftSizes(3.0, 2.0, 2.0, width, 0.5, 0.5, 2.95, 0.2 + margin)
        for margin in (0.03, 0.08)
    ]
    little, enough = (
        referee.shaft(s, 1.0, water()).air_needed(0.0, 1e-4, 0.5) / FREE * 3600.0 for s in sizes
    )
    (found,) = [f for f in study(*stall_loop(little)).findings if f.code == "airlift-stalls-near"]
    assert found.value == pytest.approx(0.03, abs=1e-4)
    assert found.limit == 0.05
    assert found.severity.value == "severe"
    assert "airlift-stalls-near" not in codes(*stall_loop(enough))


def test_installed_air_is_the_need_of_the_worst_state_where_none_is_stated() -> None:
    states = ("{clean: {}}", "{clean: {}, peak: {flow: 120 %}}")
    clean, peak = (s.detail for s in device("airlift", drawn(), states).states)
    assert isinstance(clean, AirPoint) and isinstance(peak, AirPoint)
    assert clean.stall == peak.stall
    mass = peak.air.value * FREE
    stall = brentq(lambda h: column(h).excess(0.0, mass), 0.0, 3.0, xtol=1e-12)
    assert clean.stall.value == pytest.approx(stall, rel=1e-6)


def test_flow_wins_over_stated_air_which_is_what_is_installed() -> None:
    need = point(drawn()).air.value * 3600.0
    short = device("airlift", drawn(f"air: {0.9 * need} m3/h"))
    assert not short.feasible
    assert "of air are installed in a unit" in short.reason
    plenty = device("airlift", drawn(f"air: {1.1 * need} m3/h"))
    assert plenty.feasible
    detail = plenty.states[0].detail
    assert isinstance(detail, AirPoint)
    # The flow is given, so the need is told, whatever is installed.
    assert detail.air.value * 3600.0 == pytest.approx(need, rel=1e-9)


def test_the_smaller_of_two_air_flows_that_move_one_water_is_returned() -> None:
    tubes = lift(
        "device: airlift, airlift: {kind: tube, bore: 150 mm, tubes: 12, injection depth: 2 m, "
        f"outlet level: {UP + 0.3} m, foot: 0 m, roughness: 0.0015 mm}}"
    )
    one = referee.tube(0.15, 2.0, 0.3, water())
    mass = point(tubes).air.value * FREE / 12.0
    assert one.excess(FLOW / 12.0, mass) == pytest.approx(0.0, abs=1e-6)
    # Right of the peak a second air flow moves the same water.
    second = brentq(lambda m: one.excess(FLOW / 12.0, m), 2.0 * mass, 1.0)
    assert second > 10.0 * mass
    assert one.excess(FLOW / 12.0, 3.0 * mass) > 0.0 > one.excess(FLOW / 12.0, 0.9 * mass)


@pytest.mark.parametrize("edge", ["least air", "expected", "most air"])
def test_a_loop_solved_by_its_air_is_told_with_that_air(edge: str) -> None:
    by_air = (
        (PUMP, "{kind: lift, device: airlift, airlift: {kind: channel shaft, inlet half: 2 m2, "
         f"outlet half: 2 m2, floor: -2 m, edge: {edge}, air: 700 m3/h}}}}"),
    )  # fmt: skip
    one = sheet(*by_air)
    found = one.devices[0].states[0].detail
    assert isinstance(found, AirPoint)
    assert found.air.value == found.air.least == found.air.most == pytest.approx(700.0 / 3600.0)
    assert found.water.value == pytest.approx(one.flow, rel=1e-6)
    assert found.water.least < found.water.most
    # The pumps are worked at the flow and head that result.
    assert one.devices[1].states[0].flow == pytest.approx(one.flow, rel=1e-12)


TUBES = (
    "device: airlift, airlift: {kind: tube, bore: 400 mm, tubes: 8, injection depth: 2 m, "
    "injection level: -1 m%s}"
)


@pytest.mark.parametrize(("edge", "factor"), [("least air", 1 / 1.3), ("most air", 1.6)])
def test_edges_of_a_tube_are_factors_on_its_air(edge: str, factor: float) -> None:
    usual, moved = point(lift(TUBES % "")), point(lift(TUBES % f", edge: {edge}"))
    assert moved.air.value == pytest.approx(factor * usual.air.value, rel=1e-9)
    assert moved.air.least == pytest.approx(usual.air.least, rel=1e-9)
    assert moved.air.most == pytest.approx(usual.air.most, rel=1e-9)
    assert moved.water.value == pytest.approx(FLOW, rel=1e-6)
    assert usual.water.least < FLOW < usual.water.most


def test_a_loop_solved_by_tubes_at_an_edge_moves_what_is_told() -> None:
    by_air = (PUMP, "{kind: lift, " + TUBES % ", edge: most air, air: 500 m3/h" + "}")
    one = sheet(by_air)
    found = one.devices[0].states[0].detail
    assert isinstance(found, AirPoint)
    assert found.water.value == pytest.approx(one.flow, rel=1e-6)


def test_gas_is_in_what_the_water_holds_or_lacks() -> None:
    low, high = (device("airlift", air(f"oxygen: {x} mg/L")).gas for x in (7, 14))
    assert low and high
    assert 0.0 < low.oxygen.least < low.oxygen.value < low.oxygen.most
    # Fresh water of 12 degC holds 10.78 mg/L (published), some more under pressure: 14 is too much.
    assert high.oxygen.least < high.oxygen.value < high.oxygen.most < 0.0
    assert high.instead == 0.0 < low.instead
    deficit = FLOW * (10.78 * 1.12 - 7.0) * 1e-3
    assert low.oxygen.most < deficit


def test_gas_pressure_lies_between_that_of_the_water_and_that_of_the_bubbles() -> None:
    # Nitrogen in balance with the air: 12 degC, of which oxygen lacks 10.78 - 7 mg/L.
    calm = point(drawn("oxygen: 7 mg/L")).gas_pressure
    assert calm is not None and calm.least < calm.value < calm.most
    moist = 1.0 - 1402.0 / 101325.0  # vapour pressure of 12 degC, published (IAPWS)
    before = 1.0 - 0.2095 * moist * (1.0 - 7.0 / 10.78)
    under = 1.0 + 0.40 * 999.5 * 9.80665 * 2.5 / 101325.0
    assert before < calm.least and calm.most < under
    # Closed form of one pass: more nitrogen in, more gas pressure; balanced water gains with depth.
    rich = point(drawn("oxygen: 7 mg/L, nitrogen: 22 mg/L")).gas_pressure
    deep = point(drawn("oxygen: 10.78 mg/L")).gas_pressure
    assert rich is not None and rich.value > calm.value
    assert deep is not None and 1.0 < deep.least < deep.most < under
    assert point(drawn()).gas_pressure is None


def test_words_on_gas_pressure_are_a_caution() -> None:
    told = device("airlift", drawn("oxygen: 7 mg/L, gas limit: 103 %")).gas
    assert told is not None
    words = "; ".join(told.remarks)
    assert "the limit is 103.0 %" in words
    assert "a caution, not an all-clear" in words
    assert "in balance with the air" in words
    stated = device("airlift", drawn("oxygen: 7 mg/L, nitrogen: 18 mg/L")).gas
    assert stated is not None and "in balance with the air" not in "; ".join(stated.remarks)


def test_a_gas_limit_needs_the_oxygen_of_the_water() -> None:
    with pytest.raises(BadFile, match="without the oxygen of the water"):
        study(drawn("gas limit: 103 %"))


def test_gas_and_air_of_like_units_add_up() -> None:
    def units(count: int) -> tuple[str, str]:
        drawn = "kind: channel shaft, inlet half: 1 m2, outlet half: 1 m2, oxygen: 7 mg/L"
        return (
            PUMP,
            f"{{kind: lift, flow: {1000 / count} m3/h, count: {count}, airlift: {{{drawn}}}}}",
        )

    # The loop of one unit carries a quarter of the flow at the same lift.
    quarter = ("flow: 1000 m3/h}\nflow", "flow: 250 m3/h}\nflow")
    one = device("airlift", (PUMP, units(4)[1].replace("count: 4, ", "")), quarter)
    four = device("airlift", units(4))
    assert one.gas and four.gas
    for mine, theirs in (
        (four.gas.oxygen.value, one.gas.oxygen.value),
        (four.gas.instead, one.gas.instead),
        (point(units(4)).air.value, point((PUMP, units(4)[1].replace("count: 4, ", "")),
                                          quarter).air.value),
    ):  # fmt: skip
        assert mine == pytest.approx(4.0 * theirs, rel=1e-6)


def test_stall_is_judged_where_the_filters_are_fouled() -> None:
    """Calm when clean, near to stalling when the loss of the way back has grown."""
    states = ("{clean: {}}", "{clean: {}, fouled: {condition: fouled, change: {way back: "
              "{loss: 220 mm}}}}")  # fmt: skip
    little = stall_loop(1.0)
    stalls = referee.ShaftSizes(3.0, 2.0, 2.0, math.sqrt(2.0), 0.5, 0.5, 2.95, 0.26)
    cubic = referee.shaft(stalls, 1.0, water()).air_needed(0.0, 1e-4, 0.5) / FREE * 3600.0
    changes = ((little[0][0], little[0][1].replace("air: 1.0 m3/h", f"air: {cubic} m3/h")),)
    (found,) = [
        f for f in study(*changes, *little[1:], states).findings if f.code == "airlift-stalls-near"
    ]
    assert found.state == "fouled"
    assert found.also == ()
    assert found.value == pytest.approx(0.04, abs=1e-4)


def test_power_of_other_aeration_is_counted_against_the_airlift() -> None:
    price = ("duty states", "prices: {currency: EUR, electricity: 0.20}\nduty states")
    plain, credited = (device("airlift", air(w), price) for w in ("", "oxygen: 7 mg/L"))
    assert credited.gas is not None and plain.cost is not None and credited.cost is not None
    hours_price = 8760.0 / 1000.0 * 0.20
    saved = credited.gas.instead * hours_price
    assert plain.cost - credited.cost == pytest.approx(saved, rel=1e-9)
    # 1.5 kg/kWh in clean water without oxygen at 20 degC; alpha 0.8, deficit 10.78 - 7 mg/L.
    rate = 1.5 * 0.8 * (10.78 - 7.0) / 9.09 * 1.024 ** (12.0 - 20.0)
    expected = credited.gas.oxygen.value * 3600.0 / rate * 1000.0
    assert credited.gas.instead == pytest.approx(expected, rel=2e-3)


def test_carbon_dioxide_never_beyond_a_single_stage() -> None:
    found = device("airlift", air("oxygen: 7 mg/L, carbon dioxide: 12 mg/L, "
                                  "transfer in farm water: 1.5"))  # fmt: skip
    assert found.gas is not None
    detail = found.states[0].detail
    assert isinstance(detail, AirPoint)
    # Weiss 1974: K0 = 0.0501 mol/(L atm) at 12 degC, so that a volume of air in balance holds
    # 0.853 of what a like volume of water does; at 15 degC it gives the published 48 % at 1:1.
    cubic = detail.ratio.value * 285.15 / 293.15 / (0.0501 * 0.082057 * 285.15)
    limit, held = cubic / (1.0 + cubic), FLOW * 12e-3
    assert 0.0 < found.gas.carbon_dioxide.least < found.gas.carbon_dioxide.most < limit * held


def test_without_oxygen_of_the_water_no_credit_is_told() -> None:
    assert device("airlift", air()).gas is None
    assert "state `oxygen`" in sheet(air()).words
    assert device("airlift", air("oxygen: 7 mg/L"), loss(2.5)).gas is None


def test_levels_that_do_not_go_together_rule_it_out() -> None:
    high = device("airlift", air("floor: 0.6 m"))
    assert "its air goes in at 1.10 m" in high.reason
    sill = device("airlift", air("outlet sill: 1.6 m"))
    assert "outlet sill stands 3.60 m above its floor" in sill.reason
    short = device("airlift", lift("device: airlift, airlift: {kind: tube, bore: 400 mm, tubes: 8, "
                                   "injection depth: 2 m, outlet level: -1.5 m}"))  # fmt: skip
    assert "its tube ends at -1.50 m" in short.reason
    assert not (high.feasible or sill.feasible or short.feasible)
