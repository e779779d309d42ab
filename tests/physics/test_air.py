"""Air: density, humidity, states."""

from __future__ import annotations

import numpy as np
import pytest

from loopplan.physics.air import (
    NORMAL,
    OXYGEN_MASS_SHARE,
    STANDARD,
    AirState,
    air_density,
    convert_flow,
    dry_density,
    dry_mass_flow,
    inlet_state,
    isothermal_power,
    saturation_pressure,
    volume_flow,
)
from loopplan.physics.water import atmospheric_pressure, vapour_pressure
from tests.validation_page import Published


@pytest.mark.parametrize(
    ("name", "state", "expected"),
    [("0 degC", NORMAL, 1.2929), ("15 degC", AirState(15.0, 101325.0), 1.2250),
     ("20 degC", STANDARD, 1.2041)],
)  # fmt: skip
def test_density_of_dry_air(
    published: Published, name: str, state: AirState, expected: float
) -> None:
    published(
        "A1",
        "standard tables of dry air (15 degC: ISO 2533)",
        f"density of dry air at {name}, 101.325 kPa",
        expected,
        air_density(state),
        "0.1 %",
        "kg/m3",
        "from memory",
    )


def test_altitude_example(published: Published) -> None:
    # The example is in thousands of cubic feet a minute; the ratio has no unit.
    source = "Seven laws of blower application, Machine Design (trade article)"
    height = 6000 * 0.3048
    published(
        "A2", source, "barometer at 6,000 ft", 23.98, atmospheric_pressure(height) / 3386.389,
        0.005, "inHg", "read",
    )  # fmt: skip
    published(
        "A2", source, "inlet flow for 1000 cfm standard at 6,000 ft", 1248.0,
        convert_flow(1000.0, STANDARD, inlet_state(height)), 0.5, "cfm", "read",
    )  # fmt: skip


def test_oxygen_by_mass(published: Published) -> None:
    published(
        "A3", "Metcalf and Eddy, 5th edition, p. 762 (as transcribed)", "oxygen in air by mass",
        0.2318, OXYGEN_MASS_SHARE, 0.0005, "-", "read",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("rise", "expected"), [(10e3, 9.54), (20e3, 18.25), (30e3, 26.28), (50e3, 40.64)]
)
def test_isothermal_power(rise: float, expected: float) -> None:
    # Closed form: p ln(1 + dp/p) for 1 m3/s of free air, to the digits given.
    power = isothermal_power(1.0, 101325.0, 101325.0 + rise)
    assert power / 1e3 == pytest.approx(expected, abs=0.005)


def test_humid_air_is_lighter_and_holds_less_dry_air() -> None:
    damp = AirState(20.0, 101325.0, 0.5)
    # Closed form: half of 2.339 kPa is vapour.
    assert dry_density(damp) / dry_density(STANDARD) == pytest.approx(
        1 - 1.1695 / 101.325, abs=5e-5
    )
    assert dry_density(damp) < air_density(damp) < air_density(STANDARD)


def test_saturation_agrees_with_that_of_water() -> None:
    t = np.linspace(0.0, 40.0, 21)
    assert saturation_pressure(t) == pytest.approx(vapour_pressure(t), rel=5e-3)


def test_flow_comes_back_and_keeps_its_dry_air() -> None:
    flow = np.array([0.0, 0.1, 2.0])
    site = inlet_state(np.array([0.0, 500.0, 2000.0]), 25.0, 0.7)
    there = convert_flow(flow, NORMAL, site)
    assert convert_flow(there, site, NORMAL) == pytest.approx(flow, rel=1e-12)
    assert dry_mass_flow(there, site) == pytest.approx(dry_mass_flow(flow, NORMAL), rel=1e-12)
    assert volume_flow(dry_mass_flow(flow, NORMAL), site) == pytest.approx(there, rel=1e-12)
    # Warmer, higher and damper air takes more room.
    assert (there[1:] > flow[1:]).all()


@pytest.mark.parametrize(
    ("state", "says"),
    [
        (AirState(float("nan"), 1e5), "air temperature"),
        (AirState(20.0, 0.0), "air pressure"),
        (AirState(20.0, 1e5, 1.5), "relative humidity"),
        (AirState(90.0, 1e5, 0.1), "above 60 degC"),
        (AirState(60.0, 1e4, 1.0), "pressure of the dry air"),
    ],
)
def test_outside_the_range_is_refused(state: AirState, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        air_density(state)
