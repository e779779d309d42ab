"""Specific speed, class of pump and efficiency."""

from __future__ import annotations

from itertools import pairwise

import fluids.pump
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics.pump_efficiency import (
    FORM_LIMIT,
    LOADED_SPEED_50_HZ,
    PUMP_CLASSES,
    best_efficiency,
    efficiency_at_speed,
    energy_per_volume,
    hydraulic_power,
    loaded_speed,
    pump_class,
    specific_speed,
    speed_choices,
    wire_to_water,
)
from tests.validation_page import Published

READ = "read in an open notebook of its worked examples"
PER_HOUR = 1.0 / 3600.0


def test_power_of_a_pump(published: Published) -> None:
    # P1: the head is that of the book, 9.85 m.
    source = "Çengel and Cimbala, Fluid Mechanics, Ex. 8-3 p. 360"
    power = hydraulic_power(0.006, 9.85, 999.0)
    published("P1", source, "pump power", 579, power, 1.0, "W", READ)


def test_one_cubic_metre_one_metre_high() -> None:
    # Closed form: rho g / 3600 in fresh water, Wh/m3; then a duty by hand.
    assert energy_per_volume(1.0, 1000.0, 1.0) / 3600.0 == pytest.approx(2.724, abs=5e-4)
    eta = wire_to_water(0.75, 0.926, 0.96)
    assert hydraulic_power(0.125, 2.0, 1000.0) / eta == pytest.approx(3677.0, abs=1.0)
    assert energy_per_volume(2.0, 1000.0, eta) / 3600.0 == pytest.approx(8.17, abs=5e-3)


# Closed form, worked by hand; the class by the table.
@pytest.mark.parametrize(
    ("flow", "head", "speed", "expected", "name"),
    [
        (450, 6.0, 1450, 134, "fast mixed-flow"),
        (450, 2.0, 960, 202, "axial"),
        (450, 1.0, 960, 339, "axial"),
        (450, 0.5, 720, 428, None),
        (200, 32.0, 1450, 25, "radial"),
    ],
)
def test_specific_speed_of_duties(flow, head, speed, expected, name) -> None:
    n_q = specific_speed(speed, flow * PER_HOUR, head)
    assert n_q == pytest.approx(expected, abs=0.6)
    # Oracle: another library.
    assert n_q == pytest.approx(fluids.pump.specific_speed(flow * PER_HOUR, head, speed), rel=1e-12)
    found = pump_class(float(n_q))
    assert (found.name if found else None) == name


def test_stages_share_the_head() -> None:
    assert specific_speed(2900.0, 0.01, 60.0, 3) == pytest.approx(
        float(specific_speed(2900.0, 0.01, 20.0))
    )


def test_classes_leave_no_gap() -> None:
    for low, high in pairwise(PUMP_CLASSES):
        assert low.high == high.low
    assert pump_class(9.9) is None
    assert pump_class(400.0) is PUMP_CLASSES[-1]
    assert pump_class(400.1) is None


def test_slower_motors_ask_for_a_less_axial_pump() -> None:
    choices = speed_choices(450 * PER_HOUR, 0.5)
    assert [c.poles for c in choices] == [2, 4, 6, 8, 10, 12]
    numbers = [c.specific_speed for c in choices]
    assert numbers == sorted(numbers, reverse=True)
    assert [c.pump_class.name if c.pump_class else None for c in choices[3:]] == [
        None, "axial", "axial",
    ]  # fmt: skip


def test_speed_under_load_is_a_little_below_synchronous() -> None:
    for poles in LOADED_SPEED_50_HZ:
        for frequency in (50.0, 60.0):
            slip = 1.0 - loaded_speed(poles, frequency) / (120.0 * frequency / poles)
            assert 0.03 <= slip <= 0.0401


# Worked by hand from the printed form (table 3.9, from memory); duty as flow [m3/h], head [m].
@pytest.mark.parametrize(
    ("speed", "flow", "head", "expected"),
    [
        (1450, 200, 32.0, 0.817),
        (1450, 50, 10.0, 0.762),
        (960, 100, 1.0, 0.812),
        (960, 450, 2.0, 0.846),
        (960, 450, 1.0, 0.813),
        (720, 1800, 1.5, 0.825),
        (1450, 36, 0.5, 0.741),
    ],
)
def test_best_efficiency_by_hand(speed, flow, head, expected) -> None:
    n_q = specific_speed(speed, flow * PER_HOUR, head)
    assert best_efficiency(flow * PER_HOUR, n_q) == pytest.approx(expected, abs=1e-3)


@given(st.floats(0.002, 5.0))
def test_the_two_forms_meet(flow: float) -> None:
    # The radial form keeps a small term there: 0.3 x 0.0585^2 of efficiency, and no more.
    low, high = (best_efficiency(flow, FORM_LIMIT + s) for s in (-1e-9, 1e-9))
    assert high - low == pytest.approx(0.3 * (0.35 - np.log10(45.0 / 23.0)) ** 2 * flow**-0.05)


@given(st.floats(0.002, 0.9), st.floats(10.0, 380.0))
def test_large_pumps_do_better(flow: float, n_q: float) -> None:
    assert best_efficiency(1.1 * flow, n_q) > best_efficiency(flow, n_q)


@given(st.floats(0.3, 0.9))
def test_slow_pumps_do_worse(efficiency: float) -> None:
    assert efficiency_at_speed(efficiency, 1.0) == pytest.approx(efficiency)
    assert efficiency_at_speed(efficiency, 0.7) < efficiency < efficiency_at_speed(efficiency, 1.2)


def test_efficiency_at_half_speed_by_hand() -> None:
    # Closed form of the rule: 2^0.1 = 1.0717735.
    assert efficiency_at_speed(0.8, 0.5) == pytest.approx(1.0 - 0.2 * 1.0717735, abs=1e-7)


@pytest.mark.parametrize(
    "call",
    [
        lambda: specific_speed(0.0, 0.1, 1.0),
        lambda: specific_speed(960.0, 0.1, 0.0),
        lambda: loaded_speed(3),
        lambda: loaded_speed(4, 100.0),
        lambda: best_efficiency(0.1, 450.0),
        lambda: best_efficiency(1e-4, 100.0),
        lambda: efficiency_at_speed(0.8, 0.1),
        lambda: wire_to_water(0.0, 0.9),
        lambda: wire_to_water(0.8, 1.1),
        lambda: energy_per_volume(1.0, 1000.0, 0.0),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
