"""The sheets of lifts: what three devices take for one duty, against laws by hand.

Expected values are closed forms, the scalar referee of tests/referee, or common practice;
nothing here is a snapshot.
"""

from __future__ import annotations

import math
from functools import cache

import pytest

from loopplan.scenario.reader import read
from loopplan.shipped import names, scenario_path
from loopplan.studies.lift_sheet_results import AirPoint, Band, DeviceState, LiftStudy, PumpPoint
from loopplan.studies.lift_sheets import lift_study
from tests.lift_loop import air, codes, device, lift, loss, sheet, study, water
from tests.referee import airlift as referee
from tests.referee.laws import G, friction_factor

HOURS = 8760.0
# IEC 60034-30-1, IE3, 4 poles: rated output [kW] and efficiency, as printed.
IE3 = {
    2.2: 0.867, 3.0: 0.877, 4.0: 0.886, 5.5: 0.896, 7.5: 0.904, 11.0: 0.914, 15.0: 0.921,
    18.5: 0.926, 22.0: 0.930, 30.0: 0.936,
}  # fmt: skip


@cache
def shipped(name: str) -> LiftStudy:
    return lift_study(read(scenario_path(name)))


def by_hand_from_mains(shaft: float, largest: float) -> float:
    """Power [kW] of an IE3 motor with 15 % reserve on its largest shaft power, at part load."""
    rated = min(size for size in IE3 if size >= 1.15 * largest)
    x = shaft / rated
    # 10 CFR 431 subpart Y appendix A: share of the full-load loss.
    share = 0.6410 - 0.4301 * x + 1.2399 * x**2 - 0.4508 * x**3
    return shaft + share * rated * (1.0 / IE3[rated] - 1.0)


def lobe_shaft(blown: float, pressure: float, efficiency: float) -> float:
    """Shaft power [kW] of adiabatic compression from 101,325 Pa, k = 1.4."""
    ratio = (101325.0 + pressure) / 101325.0
    ideal = blown * 101325.0 * 3.5 * (ratio ** (0.4 / 1.4) - 1.0)
    return ideal / efficiency / 1e3


def air_of(state: DeviceState) -> AirPoint:
    assert isinstance(state.detail, AirPoint)
    return state.detail


def pump_of(state: DeviceState) -> PumpPoint:
    assert isinstance(state.detail, PumpPoint)
    return state.detail


def bands(state: DeviceState) -> list[Band]:
    found = [state.power] if state.power else []
    if isinstance(state.detail, AirPoint):
        at = state.detail
        found += [at.air, at.water, at.ratio, at.stall]
    return found


def test_air_need_is_that_of_the_referee_at_all_three_edges() -> None:
    (state,) = device("airlift", air("width: 1.6 m, outlet sill: 0.7 m")).states
    sizes = referee.ShaftSizes(3.0, 2.0, 2.0, 1.6, 0.5, 0.5, 2.7, state.static)
    needed = [
        referee.shaft(sizes, rung, water()).air_needed(1000.0 / 3600.0, 1e-3, 0.5)
        for rung in (0.0, 1.0, 2.0)
    ]
    # Free air is dry here: 101,325 Pa at 20 degC.
    free = [mass * referee.R_DRY * 293.15 / 101325.0 for mass in needed]
    found = air_of(state)
    assert found.air.least == pytest.approx(free[0], rel=1e-6)
    assert found.air.value == pytest.approx(free[1], rel=1e-6)
    assert found.air.most == pytest.approx(free[2], rel=1e-6)
    assert found.ratio.value == pytest.approx(free[1] * 3.6, rel=1e-6)
    assert found.water.value == pytest.approx(1000.0 / 3600.0, rel=1e-6)


def test_airlift_power_is_adiabatic_compression_and_a_motor() -> None:
    (state,) = device("airlift", air()).states
    found = air_of(state)
    assert state.power is not None
    weight = water().density * G
    # The column over the diffusers, less what entry and turn take of it, and the 0.5 m of practice.
    assert weight * (2.5 + 0.5 - 0.15) < found.pressure < weight * (2.5 + 0.5)
    for power, blown, efficiency in (
        (state.power.value, found.air.value, 0.55),
        (state.power.least, found.air.least, 0.65),
        (state.power.most, found.air.most, 0.45),
    ):
        shaft = lobe_shaft(blown, found.pressure, efficiency)
        assert power / 1e3 == pytest.approx(by_hand_from_mains(shaft, shaft), rel=2e-3)
    assert found.air_inlet == pytest.approx(found.air.value, rel=1e-9)
    assert found.air_normal / found.air.value == pytest.approx(273.15 / 293.15, rel=1e-9)


def test_efficiencies_of_an_airlift_hang_together() -> None:
    (state,) = device("airlift", air()).states
    found = air_of(state)
    flow = 1000.0 / 3600.0
    column = found.pressure - 0.5 * water().density * G
    least = found.air_inlet * 101325.0 * math.log(1.0 + column / 101325.0)
    useful = water().density * G * flow * state.static
    assert found.static_efficiency == pytest.approx(useful / least, rel=1e-3)
    assert found.static_efficiency < found.total_efficiency < 1.0


@pytest.mark.parametrize("name", ["airlift", "propeller pump"])
@pytest.mark.parametrize("farm", ["trout-channel", "teaching-loop"])
def test_energy_is_power_over_flow_and_power_times_hours(farm: str, name: str) -> None:
    for one in shipped(farm).sheets:
        (found,) = [d for d in one.devices if d.device == name]
        first = found.states[0]
        assert first.state == one.state == "clean"
        if first.power is None:
            continue
        assert found.energy is not None and first.per_m3 is not None
        assert found.energy.value == pytest.approx(first.power.value * HOURS * 3600.0, rel=1e-12)
        assert first.per_m3 == pytest.approx(first.power.value / one.flow, rel=1e-12)
        for state in found.states:
            for band in bands(state):
                assert band.least <= band.value <= band.most


@pytest.mark.parametrize("farm", names())
def test_every_lift_has_its_sheet_in_the_order_of_the_loop(farm: str) -> None:
    scenario = read(scenario_path(farm))
    lifts = [name for name, element in scenario.elements.items() if element.role == "lift"]
    order = list(dict.fromkeys(name for path in scenario.paths.values() for name in path))
    found = shipped(farm)
    assert [s.element for s in found.sheets] == sorted(lifts, key=order.index)
    for one in found.sheets:
        assert [d.device for d in one.devices] == ["airlift", "propeller pump", "centrifugal pump"]
        for each in one.devices:
            # Those of the file first; usual ones are added where it names none.
            states = [s.name for s in scenario.states]
            assert [s.state for s in each.states][: len(states)] == states
            assert each.feasible or each.reason
            assert each.standby or not each.feasible


@pytest.mark.parametrize("farm", names())
def test_what_is_recommended_serves_and_takes_least(farm: str) -> None:
    for one in shipped(farm).sheets:
        able = [d for d in one.devices if d.feasible and d.energy is not None]
        assert able
        (best,) = [d for d in able if d.device == one.recommended]
        credit = {d.device: d.gas.instead * HOURS * 3600.0 if d.gas else 0.0 for d in able}
        if best.cost is None:
            net = {d.device: d.energy.value - credit[d.device] for d in able if d.energy}
        else:
            net = {d.device: d.cost for d in able if d.cost is not None}
        assert net[best.device] == min(net.values())
        assert best.device in one.words


@pytest.mark.parametrize("name", ["cone pump", "wash pump"])
def test_an_airlift_makes_no_pressure(name: str) -> None:
    (one,) = [s for s in shipped("smolt-hall").sheets if s.element == name]
    airlift, _, centrifugal = one.devices
    assert not airlift.feasible
    assert airlift.reason.startswith("it makes no pressure, and ")
    assert one.recommended == centrifugal.device == "centrifugal pump"
    assert one.crossover is None
    assert "makes none" in one.crossover_words


def test_an_airlift_asked_for_at_pressure_cannot_serve() -> None:
    text = scenario_path("smolt-hall").read_text(encoding="utf-8")
    old = "cone pump: {kind: lift, flow: 120 m3/h, device: centrifugal pump"
    assert text.count(old) == 1
    text = text.replace(old, "cone pump: {kind: lift, flow: 120 m3/h, device: airlift")
    found = lift_study(read(text, "hall.yaml"))
    (bad,) = [f for f in found.findings if f.code == "device-cannot-serve"]
    assert bad.place == "cone pump"
    assert "makes no pressure, and 14.00 m are needed" in bad.message
    (one,) = [s for s in found.sheets if s.element == "cone pump"]
    assert one.fixed == "airlift"
    assert "does not serve" in one.fixed_costs


HIGH_WALL = air("depth: 4.5 m, dry reserve: 1.5 m")
"""3.0 m of water as in practice, and a wall high enough for the mixture of any lift here."""


def test_practice_cautions_at_65_cm() -> None:
    assert "airlift-lift-limit" in codes(HIGH_WALL, loss(0.65))
    assert "airlift-lift-limit" not in codes(HIGH_WALL, loss(0.49))
    one = sheet(HIGH_WALL, loss(0.65))
    assert one.devices[0].feasible
    (row,) = [r for r in one.practice if r.name == "lift"]
    assert "not above 0.70 m" in row.practice and "0.65 m" in row.modelled


def test_practice_ends_above_70_cm_unless_the_file_says_otherwise() -> None:
    refused = device("airlift", HIGH_WALL, loss(0.71))
    assert not refused.feasible
    assert "above the 0.70 m" in refused.reason
    # It is worked all the same: the model and the practice stand side by side.
    assert refused.states[0].power is not None
    assert "device-cannot-serve" in codes(HIGH_WALL, loss(0.71))
    assert device("airlift", HIGH_WALL, loss(0.69)).feasible
    limit = ("duty states", "limits: {airlift most: 0.8 m}\nduty states")
    assert device("airlift", HIGH_WALL, loss(0.71), limit).feasible
    assert "device-cannot-serve" not in codes(HIGH_WALL, loss(0.71), limit)


def test_any_pressure_need_refuses_an_airlift() -> None:
    closed = (
        ("  head box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 1.5 m}\n", ""),
        ("pump, head box, way back", "pump, way back"),
    )
    for need, feasible in (("0.25", False), ("0.15", True)):
        pressure = ("loss: 300 mm, flow", f"needed pressure: {need} m, loss: 300 mm, flow")
        found = device("airlift", air(), pressure, *closed)
        assert found.feasible is feasible
        assert ("makes no pressure, and 0.25 m are needed" in found.reason) is not feasible


def test_propeller_head_is_the_levels_and_each_loss_of_its_setting_once() -> None:
    (state,) = device("propeller pump").states
    found = pump_of(state)
    flow, speed = 1000.0 / 3600.0, 1.5
    bore = math.sqrt(flow / speed * 4.0 / math.pi)
    head = speed**2 / (2.0 * G)
    f = friction_factor(speed * bore / water().viscosity, 1e-4 / bore)
    # What is assumed: bell 0.05, 2 m of column, a flap 0.5, and the velocity at the outlet.
    expected = {
        "entry": 0.05 * head, "column": f * 2.0 / bore * head, "flap": 0.5 * head,
        "outlet velocity": head,
    }  # fmt: skip
    assert set(dict(found.ends)) == set(expected)
    for name, value in found.ends:
        assert value == pytest.approx(expected[name], rel=1e-6)
    assert state.static == pytest.approx(0.3, rel=1e-6)
    assert found.head == pytest.approx(0.3 + sum(expected.values()), rel=1e-6)
    made = water().density * G * flow * found.head
    assert found.shaft == pytest.approx(made / found.efficiency, rel=1e-9)
    assert state.power is not None
    assert state.power.value / 1e3 == pytest.approx(
        by_hand_from_mains(found.shaft / 1e3, found.shaft / 1e3), rel=1e-9
    )


def test_units_share_the_flow_and_sum_the_power() -> None:
    two = ("flow: 1000 m3/h}\n  head", "flow: 500 m3/h, count: 2}\n  head")
    half = ("flow: 1000 m3/h}\n  head", "flow: 500 m3/h}\n  head")
    half_loss = ("loss: 300 mm, flow: 1000", "loss: 300 mm, flow: 500")
    for name in ("airlift", "propeller pump"):
        pair, one = device(name, two), device(name, half, half_loss)
        assert pair.states[0].power and one.states[0].power
        assert pair.states[0].power.value == pytest.approx(2 * one.states[0].power.value, rel=1e-6)
        assert pair.states[0].per_m3 == pytest.approx(one.states[0].per_m3, rel=1e-6)


def test_a_lift_that_keeps_a_level_is_worked_at_the_flow_that_is_found() -> None:
    levels = "levels: [{way: stored volume, in: [sump], volume: 7.5 m3}]"
    kept = (
        ("flow: 1000 m3/h}\n  head", "}\n  head"),
        (levels, "levels: [{way: kept level, at: sump, level: 1.0 m, by: pump}, "
         "{way: outside level, at: head box, level: 1.3 m}]"),
    )  # fmt: skip
    changed = (("kind: lift, }", "kind: lift}"),)
    one = sheet(kept[0], *changed, kept[1])
    assert one.flow == pytest.approx(1000.0 / 3600.0, rel=1e-6)
    given = sheet()
    for mine, theirs in zip(one.devices, given.devices, strict=True):
        assert mine.feasible is theirs.feasible
        if mine.energy and theirs.energy:
            assert mine.energy.value == pytest.approx(theirs.energy.value, rel=1e-6)


def test_water_that_runs_by_itself_needs_no_device() -> None:
    fall = (
        ("head box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 1.5 m}",
         "head box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 1.5 m}\n"
         "  low box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 1.5 m}\n"
         "  back: {kind: lift, flow: 1000 m3/h, device: propeller pump}"),
        ("head box, way back, sump]", "head box, way back, low box, back, sump]"),
        ("levels: [", "levels: [{way: stored volume, in: [low box], volume: 7.5 m3}, "),
        ("volume: 7.5 m3}]", "volume: 8.0 m3}]"),
    )  # fmt: skip
    pump, back = study(*fall).sheets
    assert pump.head == pytest.approx(7.5 / 3 - 2.0 + 0.3 - (8.0 / 2.5 - 2.0), rel=1e-6)
    assert pump.head < 0.0 < back.head
    assert pump.recommended == ""
    assert "No device is needed" in pump.words and "0.40 m" in pump.words
    assert pump.crossover is None
    for each in pump.devices:
        assert each.feasible
        assert each.states[0].power == Band(0.0, 0.0, 0.0)
    assert back.recommended == "propeller pump"


def test_a_state_in_which_the_lift_stands_still_takes_nothing() -> None:
    still = ("{clean: {}}", "{still: {change: {pump: {flow: 0.001 m3/h}}}, clean: {}}")
    one, usual = sheet(still), sheet()
    assert one.state == "clean"
    assert one.recommended == usual.recommended
    for mine, theirs in zip(one.devices, usual.devices, strict=True):
        if theirs.feasible:
            assert mine.feasible
            assert mine.states[0].power == Band(0.0, 0.0, 0.0)
            assert mine.energy and theirs.energy
            assert mine.energy.value == pytest.approx(theirs.energy.value, rel=1e-6)


def test_a_loop_without_lift_has_no_sheet() -> None:
    text = (
        "loopplan: 1\nfarm: {name: Flow-through}\nwater: {temperature: 12 degC}\nelements:\n"
        "  spring: {kind: make-up, flow: 20 m3/h}\n"
        "  tank: {kind: box, area: 4 m2, floor: 0 m, wall top: 1.5 m}\n"
        "  sill: {kind: overflow, crest: 1.0 m, width: 1 m}\n"
        "flow paths: {through: [spring, tank, sill]}\n"
    )
    found = lift_study(read(text, "through.yaml"))
    assert found.sheets == () and found.findings == ()


def test_height_and_salt_cost_air() -> None:
    high = ("farm: {", "farm: {altitude: 2000 m, ")
    plain, up = (air_of(device("airlift", air(), *c).states[0]) for c in ((), (high,)))
    # Thin air takes more room: the same mass is a larger flow at the inlet.
    assert up.air_inlet / up.air.value > 1.2 * plain.air_inlet / plain.air.value
    salt = ("temperature: 12 degC", "temperature: 12 degC, salinity: 34 g/kg")
    fresh, sea = (device("propeller pump", *c).states[0].power for c in ((), (salt,)))
    assert fresh and sea
    # Density 1025.8 over 999.5 kg/m3 (UNESCO 1980), motor losses aside.
    assert 1.0 < sea.value / fresh.value < 1.04


def test_a_state_that_rules_an_airlift_out_is_named_in_the_others() -> None:
    flood = ("{clean: {}}", "{clean: {}, flood: {flow: 300 %}}")
    clean, high = device("airlift", air(), flood).states
    assert high.against[0].startswith("2.70 m of lift is above the 0.70 m")
    assert clean.against == (f"ruled out in the duty state flood: {high.against[0]}",)


def test_asked_for_device_is_told_what_it_costs() -> None:
    one = sheet(air())
    airlift, propeller, _ = one.devices
    assert airlift.energy and propeller.energy
    more = (airlift.energy.value - propeller.energy.value) / 3.6e6
    words = one.fixed_costs.split(" kWh")[0].split()[-1].replace(",", "")
    assert float(words) == pytest.approx(more, rel=0.05)
    assert "more than the propeller pump" in one.fixed_costs
    assert sheet(lift("device: propeller pump")).fixed_costs == ""
