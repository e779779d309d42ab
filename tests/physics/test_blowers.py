"""Blowers: power of compression, temperature, flow, and pressures of practice."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics.air import STANDARD, dry_density
from loopplan.physics.blower_classes import AIR_PIPE_MATERIALS, BLOWERS, CYCLES
from loopplan.physics.blowers import (
    DisplacementBlower,
    blower_power,
    column_pressure,
    delivery_temperature,
    displacement_flow,
    displacement_speed,
    ideal_power,
    practice_head,
    starting_pressure,
)
from loopplan.sources import SOURCES
from tests.validation_page import Published

ATMOSPHERE = 101325.0
HORSEPOWER = 745.69987


# Closed forms, worked by hand for 1 m3/s of free air: rise [kPa], power [kW].
@pytest.mark.parametrize(
    ("rise", "isothermal", "adiabatic", "handbook", "isochoric"),
    [
        (10, 9.54, 9.67, 9.66, 10.0),
        (20, 18.25, 18.73, 18.73, 20.0),
        (30, 26.28, 27.28, 27.27, 30.0),
        (50, 40.64, 43.06, 43.04, 50.0),
    ],
)
def test_three_cycles_by_hand(rise, isothermal, adiabatic, handbook, isochoric) -> None:
    p2 = ATMOSPHERE + 1e3 * rise
    found = [ideal_power(c, 1.0, ATMOSPHERE, p2) / 1e3 for c in ("isothermal", "adiabatic")]
    found.append(ideal_power("adiabatic", 1.0, ATMOSPHERE, p2, 0.283) / 1e3)
    found.append(ideal_power("isochoric", 1.0, ATMOSPHERE, p2) / 1e3)
    assert found == pytest.approx([isothermal, adiabatic, handbook, isochoric], abs=6e-3)


# Closed form, worked by hand, from 20 degC: rise [kPa], without loss and at 0.6 [degC].
@pytest.mark.parametrize(
    ("rise", "lossless", "real"),
    [(10, 28.0, 33.3), (20, 35.5, 45.8), (30, 42.5, 57.6), (50, 55.6, 79.3)],
)
def test_discharge_temperature_by_hand(rise, lossless, real) -> None:
    for efficiency, expected in ((1.0, lossless), (0.6, real)):
        found = delivery_temperature(20.0, ATMOSPHERE, ATMOSPHERE + 1e3 * rise, efficiency)
        assert found == pytest.approx(expected, abs=0.06)


def test_power_goes_into_heat() -> None:
    # Closed form: shaft power over the capacity of the air stream is the rise of temperature.
    p2, eta = 135e3, 0.62
    power = float(blower_power(1.0, ATMOSPHERE, p2, eta))
    warmer = delivery_temperature(20.0, ATMOSPHERE, p2, eta) - 20.0
    capacity = float(dry_density(STANDARD)) * 3.5 * 287.05
    assert warmer == pytest.approx(power / capacity, rel=2e-4)


def test_handbook_blower_by_hand() -> None:
    # Inputs quoted from Metcalf & Eddy eq. 5-77 (read), answer worked by hand: 100 m3/min of free
    # air at 20 degC, inlet loss 1 kPa, 5.18 m of water and 7 kPa, efficiency 0.7.
    p1, p2 = 100.325e3, 101.325e3 + 9.81e3 * 5.18 + 7e3
    flow = 100.0 / 60.0 * ATMOSPHERE / p1
    assert blower_power(flow, p1, p2, 0.7, 0.283) == pytest.approx(118.90e3, rel=2e-4)


def test_formula_in_us_units(published: Published) -> None:
    # hp = F T1/(8130 a) ((P2/P1)^a - 1), F scfm, T1 deg R (formula read); its scfm are those of
    # 60 degF, so the air is taken at 520 deg R.
    source = "engineering-formula page, Compressors and Vacuum Pumps"
    a, ratio = 0.2857, 1.2
    page = 1000.0 * 528.0 / (8130.0 * a) * (ratio**a - 1.0)
    flow = 1000.0 * 0.3048**3 / 60.0 * 528.0 / 520.0
    ours = ideal_power("adiabatic", flow, ATMOSPHERE, ratio * ATMOSPHERE) / HORSEPOWER
    published("blower", source, "1000 scfm from 68 degF, ratio 1.2", page, ours, "0.4 %", "hp",
              "read")  # fmt: skip


def test_small_side_channel_blower() -> None:
    # Wurts et al. 1994 (28 lifts of 71 L/min against 0.826 m of water on a blower of 0.75 kW;
    # read): lossless power by hand, 0.34 to 0.35 of the nameplate, within the class.
    p2 = ATMOSPHERE + 8.09e3
    flow = 28.0 * 71.0 / 60e3
    low, high = (float(ideal_power(c, flow, ATMOSPHERE, p2)) for c in ("isothermal", "adiabatic"))
    assert (low, high) == pytest.approx((258.0, 261.0), abs=1.0)
    least, most = BLOWERS["side channel"].efficiency
    assert least < high / 750.0 < most


@given(st.floats(1e3, 150e3), st.floats(0.01, 5.0))
def test_order_of_the_cycles(rise: float, flow: float) -> None:
    powers = [
        float(ideal_power(cycle, flow, ATMOSPHERE, ATMOSPHERE + rise))
        for cycle in ("isothermal", "adiabatic", "isochoric")
    ]
    assert powers == sorted(powers)
    assert powers[2] == pytest.approx(flow * rise, rel=1e-9)


@given(st.floats(1.0, 100.0), st.floats(0.1, 2.0))
def test_small_rises_cost_the_same_in_any_cycle(rise: float, flow: float) -> None:
    # Closed form: all three tend to flow times rise.
    for cycle in CYCLES:
        assert ideal_power(cycle, flow, ATMOSPHERE, ATMOSPHERE + rise) == pytest.approx(
            flow * rise, rel=1e-3
        )


@pytest.mark.parametrize("name", BLOWERS)
def test_no_class_beats_its_own_cycle(name: str) -> None:
    kind = BLOWERS[name]
    assert kind.name == name
    assert kind.source in SOURCES
    assert kind.cycle in CYCLES
    assert 0.0 < kind.least_speed < 1.0
    for rise in kind.rise:
        best = blower_power(1.0, ATMOSPHERE, ATMOSPHERE + rise, kind.efficiency[1])
        assert best > ideal_power(kind.cycle, 1.0, ATMOSPHERE, ATMOSPHERE + rise)


def test_displacement_blower_hardly_minds_the_pressure() -> None:
    blower = DisplacementBlower(0.2, 40e3, 0.15)
    assert displacement_flow(blower, 40e3) == pytest.approx(0.2)
    swept = 0.2 / 0.85
    assert displacement_flow(blower, 0.0) == pytest.approx(swept)
    # Closed form: a quarter of the rise, half of the slip.
    assert displacement_flow(blower, 10e3) == pytest.approx(swept * (1.0 - 0.075))
    more = displacement_flow(blower, np.array([20e3, 30e3, 40e3]))
    assert (np.diff(more) < 0.0).all()
    assert more[0] / more[2] < 1.06


@given(st.floats(0.3, 1.0), st.floats(0.0, 60e3))
def test_speed_for_a_flow(ratio: float, rise: float) -> None:
    blower = DisplacementBlower(0.2, 40e3, 0.15)
    flow = displacement_flow(blower, rise, ratio)
    assert displacement_speed(blower, flow, rise) == pytest.approx(ratio, rel=1e-12)


def test_turned_down_far_enough_all_slips_back() -> None:
    blower = DisplacementBlower(0.2, 40e3, 0.15)
    assert displacement_flow(blower, 40e3, 0.15) == 0.0


def test_rule_of_practice() -> None:
    # Common practice, no source.
    assert practice_head(2.5) == pytest.approx(3.0)
    assert practice_head(2.5, far=True) == pytest.approx(3.5)


def test_start_is_against_the_standing_water() -> None:
    # By hand: 2.7 m of water at 999 kg/m3 standing, 2.5 m running.
    start = starting_pressure(3.2, 0.5, 999.0, 1500.0)
    assert start == pytest.approx(9.80665 * 999.0 * 2.7 + 1500.0)
    assert start > column_pressure(2.5, 999.0)
    assert starting_pressure(0.3, 0.5, 999.0) == 0.0


def test_plastics_need_a_rating_before_blowers_get_hot() -> None:
    # 0.6 m beyond 3 m of water heats air to some 60 degC: no unrated plastic stands that.
    hot = delivery_temperature(25.0, ATMOSPHERE, ATMOSPHERE + 35e3, 0.6)
    for material in AIR_PIPE_MATERIALS.values():
        plastic = np.isfinite(material.warm)
        assert plastic == (hot > material.warm)
        assert plastic == ("rating" in material.words or "not for air" in material.words)


@pytest.mark.parametrize(
    "call",
    [
        lambda: ideal_power("polytropic", 1.0, 1e5, 1.2e5),
        lambda: ideal_power("adiabatic", 1.0, 1.2e5, 1e5),
        lambda: ideal_power("adiabatic", 1.0, 1e5, 1.2e5, 0.5),
        lambda: blower_power(1.0, 1e5, 1.2e5, 0.0),
        lambda: delivery_temperature(80.0, 1e5, 1.2e5, 0.6),
        lambda: displacement_flow(DisplacementBlower(0.2, 40e3, 0.6), 1e4),
        lambda: displacement_flow(DisplacementBlower(0.2, 40e3, 0.1), -1.0),
        lambda: displacement_speed(DisplacementBlower(0.2, 40e3, 0.1), -0.1, 1e4),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
