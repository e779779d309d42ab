"""Motors and frequency converters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.pump import VFD_efficiency
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics.motor_tables import (
    EFFICIENCY,
    LEGAL_FLOOR,
    OUTPUTS,
    SMALL_FOUR_POLES,
    legal_class,
    next_output,
)
from loopplan.physics.motors import (
    HORSEPOWER,
    drive_efficiency,
    electric_power,
    full_load_loss,
    motor_and_drive_loss,
    motor_efficiency,
    motor_loss,
)
from tests.validation_page import Published

IEC = "IEC 60034-30-1:2014"
# The standard's own interpolation A l^3 + B l^2 + C l + D, l = log10(P/kW), 0.75 to 200 kW.
POLYNOMIAL = {
    ("IE3", 2): (0.3569, -3.3076, 11.6108, 82.2503),
    ("IE3", 4): (0.0773, -1.8951, 9.2984, 83.7025),
    ("IE3", 6): (0.1252, -2.6130, 11.9963, 80.4769),
    ("IE4", 4): (0.2412, -2.3608, 8.4460, 86.8321),
}
SMALL_POLYNOMIAL = {
    "IE3": (7.6356, 4.8236, 21.0903, 86.0998),
    "IE4": (8.4320, 2.6888, 14.6236, 87.6153),
}


def by_polynomial(terms: tuple[float, ...], outputs: tuple[float, ...]) -> np.ndarray:
    return np.polyval(terms, np.log10(np.array(outputs) / 1e3))


def test_values_that_were_read(published: Published) -> None:
    for key, rated, value in ((("IE3", 4), 0.75e3, 82.5), (("IE4", 4), 11e3, 93.3)):
        found = 100.0 * motor_efficiency(rated, *key)
        quantity = f"{key[0]}, {rated / 1e3:g} kW, 4 poles"
        published("motors", IEC, quantity, value, found, 0.05, "%", "read")


def test_tables_against_the_polynomials_of_the_standard(published: Published) -> None:
    rows = [(key, EFFICIENCY[key], terms, OUTPUTS[5:]) for key, terms in POLYNOMIAL.items()]
    rows += [
        ((name, 4), SMALL_FOUR_POLES[name], terms, OUTPUTS[:5])
        for name, terms in SMALL_POLYNOMIAL.items()
    ]
    for (name, poles), table, terms, outputs in rows:
        worst = float(np.abs(by_polynomial(terms, outputs) - table).max())
        quantity = (
            f"{name}, {poles} poles, {outputs[0] / 1e3:g} to {outputs[-1] / 1e3:g} kW: largest "
            "difference of table and interpolation"
        )
        # Half of the last printed digit.
        published("motors", IEC, quantity, 0.0, worst, 0.05, "points", "from memory")


# Printed values that are no standard output of today (from memory).
@pytest.mark.parametrize(("rated", "ie3", "ie4"), [(0.20e3, 71.1, 75.8), (0.40e3, 78.0, 81.7)])
def test_between_the_outputs(rated: float, ie3: float, ie4: float) -> None:
    assert 100.0 * motor_efficiency(rated, "IE3") == pytest.approx(ie3, abs=0.12)
    assert 100.0 * motor_efficiency(rated, "IE4") == pytest.approx(ie4, abs=0.12)


@pytest.mark.parametrize("key", POLYNOMIAL)
def test_interpolation_is_near_the_polynomial(key) -> None:
    rated = tuple(np.geomspace(0.75e3, 200e3, 200))
    found = 100.0 * motor_efficiency(np.array(rated), *key)
    assert np.abs(found - by_polynomial(POLYNOMIAL[key], rated)).max() < 0.1


@pytest.mark.parametrize("key", EFFICIENCY)
def test_tables_run_smoothly(key) -> None:
    # A slip of one in the last digit leaves a cubic by some 0.1.
    x, y = np.log10(OUTPUTS[5:]), np.array(EFFICIENCY[key])
    assert np.abs(np.polyval(np.polyfit(x, y, 3), x) - y).max() < 0.06
    assert (np.diff(y) > 0.0).all()


def test_higher_class_and_fewer_losses() -> None:
    for poles in (2, 4, 6, 8):
        better = np.array(EFFICIENCY["IE4", poles]) - np.array(EFFICIENCY["IE3", poles])
        assert (better > 0.0).all()
    assert motor_efficiency(300e3) == motor_efficiency(200e3)


# Worked by hand from the rule of 10 CFR 431 subpart Y (read), motor of 7.5 kW IE3.
def test_motor_at_part_load() -> None:
    rated, eta = 7.5e3, 0.904
    for x, expected in ((0.1, 60.7), (0.25, 79.6), (0.5, 87.4), (0.75, 89.5), (1.0, 90.4)):
        shaft = x * rated
        found = 100.0 * shaft / (shaft + motor_loss(shaft, rated, eta))
        assert found == pytest.approx(expected, abs=0.06)


@pytest.mark.parametrize(
    ("rated", "eta", "expected"),
    [
        (2.2e3, 0.867, (53.4, 65.1, 73.7, 77.9, 80.7)),
        (7.5e3, 0.904, (72.2, 75.6, 79.0, 81.7, 84.4)),
        (22e3, 0.930, (75.3, 79.4, 83.2, 85.8, 88.4)),
        (75e3, 0.950, (79.6, 83.7, 86.5, 88.1, 89.4)),
    ],
)
def test_motor_with_its_drive_at_part_load(rated, eta, expected) -> None:
    shaft = rated * np.array([0.125, 0.25, 0.5, 0.75, 1.0])
    found = 100.0 * shaft / (shaft + motor_and_drive_loss(shaft, rated, eta))
    assert found == pytest.approx(expected, abs=0.06)


def test_drive_alone_against_another_library() -> None:
    # Oracle: the same tip sheet in another library, which rounds to four digits.
    for rated in (1e3, 2.5e3, 7.5e3, 22e3, 41e3, 90e3, 500e3):
        for load in (0.01, 0.05, 0.125, 0.3, 0.6, 1.0):
            assert drive_efficiency(rated, load) == pytest.approx(
                VFD_efficiency(rated, load), abs=6e-5
            )


def test_drive_of_ten_horsepower() -> None:
    # The printed row (from memory).
    loads = np.array([0.125, 0.25, 0.5, 0.75, 1.0])
    expected = [0.83, 0.90, 0.94, 0.95, 0.96]
    assert drive_efficiency(10.0 * HORSEPOWER, loads) == pytest.approx(expected, abs=1e-9)


@given(st.floats(0.3, 1.0), st.floats(1e3, 150e3))
def test_drives_cost_and_the_strict_model_costs_most(load: float, rated: float) -> None:
    shaft, eta = load * rated, motor_efficiency(rated)
    bare, converter, both = (
        electric_power(shaft, rated, eta, way)
        for way in ("none", "converter", "motor and converter")
    )
    assert shaft < bare < converter
    assert both > bare
    if load > 0.9:
        assert both > converter


def test_one_kilowatt_less_shaft_power_is_more_than_one_at_the_mains() -> None:
    full, less = (electric_power(p, 7.5e3, 0.904) for p in (6e3, 5e3))
    assert full - less > 1e3


# Worked by hand: shaft power [W], factor, standard output [W].
@pytest.mark.parametrize(
    ("shaft", "factor", "expected"),
    [(3.2e3, 1.15, 4e3), (3.0e3, 1.0, 3e3), (3.001e3, 1.0, 4e3), (50.0, 1.0, 120.0)],
)
def test_next_standard_motor(shaft, factor, expected) -> None:
    assert next_output(shaft, factor) == expected


def test_legal_floor() -> None:
    # An IEA 4E note on (EU) 2019/1781, read.
    assert legal_class(7.5e3) == "IE3"
    assert legal_class(0.55e3) == "IE2"
    assert legal_class(75e3, 4) == legal_class(200e3, 6) == "IE4"
    assert legal_class(75e3, 8) == "IE3"
    assert legal_class(250e3, 2) == "IE3"
    assert legal_class(0.09e3) is None
    assert legal_class(7.5e3, 12) is None
    assert {rule.since for rule in LEGAL_FLOOR} == {"2021-07-01", "2023-07-01"}


def test_losses_add_up() -> None:
    # Closed form: at full load the part-load rule gives the full-load loss.
    loss = full_load_loss(11e3, 0.914)
    assert loss == pytest.approx(11e3 / 0.914 - 11e3)
    assert motor_loss(11e3, 11e3, 0.914) == pytest.approx(loss, rel=1e-9)
    assert math.isclose(motor_loss(0.0, 11e3, 0.914), 0.641 * loss)


@pytest.mark.parametrize(
    "call",
    [
        lambda: motor_efficiency(0.12e3, "IE3", 2),
        lambda: motor_efficiency(7.5e3, "IE5"),
        lambda: motor_efficiency(7.5e3, "IE3", 12),
        lambda: motor_loss(12e3, 7.5e3, 0.9),
        lambda: motor_loss(5e3, 7.5e3, 0.0),
        lambda: electric_power(5e3, 7.5e3, 0.9, "gearbox"),
        lambda: drive_efficiency(0.0),
        lambda: next_output(0.0),
        lambda: next_output(5e3, 0.5),
        lambda: next_output(190e3, 1.2),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
