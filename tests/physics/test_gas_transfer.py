"""Gases in water, and what an airlift adds and takes."""

from __future__ import annotations

import numpy as np
import pytest

from loopplan.physics.air import AirState, dry_mass_flow
from loopplan.physics.gas_solubility import (
    ATMOSPHERE,
    carbon_dioxide_k0,
    carbon_dioxide_saturation,
    nitrogen_solubility,
    oxygen_solubility,
    total_gas_pressure,
)
from loopplan.physics.gas_transfer import (
    TRANSFER_PER_METRE,
    bubble_pressure,
    carbon_dioxide_stripped,
    gas_pressure_after,
    oxygen_added,
    single_stage_share,
    transfer_number,
)
from loopplan.physics.water import atmospheric_pressure, density, vapour_pressure
from tests.validation_page import Published

AIR = 1.2  # kg/s with 1 m3/s of water: about one volume to one


@pytest.mark.parametrize(
    ("temperature", "expected"),
    [(0, 14.621), (5, 12.77), (10, 11.288), (15, 10.084), (20, 9.092), (25, 8.263), (30, 7.559),
     (35, 6.949), (40, 6.41)],
)  # fmt: skip
def test_oxygen_in_fresh_water(published: Published, temperature: float, expected: float) -> None:
    published(
        "G1", "Benson and Krause, as in Standard Methods 4500-O",
        f"oxygen in fresh water at {temperature} degC", expected,
        1e3 * oxygen_solubility(temperature), 0.003, "mg/L", "from memory",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("temperature", "salinity", "expected"),
    [(15, 35, 8.129), (20, 35, 7.382), (20, 0, 9.077)],
)
def test_oxygen_as_weiss_has_it(
    published: Published, temperature: float, salinity: float, expected: float
) -> None:
    published(
        "G2", "Weiss 1970 (another equation)",
        f"oxygen at {temperature} degC, {salinity} g/kg", expected,
        1e3 * oxygen_solubility(temperature, salinity), "0.3 %", "mg/L", "from memory",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("salinity", "temperature", "expected"),
    [(10, 0, 13.633), (10, 20, 8.572), (20, 15, 8.919), (35, 0, 11.446), (35, 30, 6.237)],
)
def test_oxygen_in_salt_water(salinity: float, temperature: float, expected: float) -> None:
    # Second evaluation of the same equation.
    assert 1e3 * oxygen_solubility(temperature, salinity) == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(
    ("pressure", "temperature", "expected"),
    [(0.95 * 101325, 15, 9.571), (0.90 * 101325, 20, 8.162), (atmospheric_pressure(1000), 15,
      8.926)],
)  # fmt: skip
def test_oxygen_by_pressure(pressure: float, temperature: float, expected: float) -> None:
    # Second evaluation of the same equation.
    found = 1e3 * oxygen_solubility(temperature, 0.0, pressure)
    assert found == pytest.approx(expected, abs=1.5e-3)


@pytest.mark.parametrize(
    ("temperature", "salinity", "expected"),
    [(25, 35, 0.02839), (20, 35, 0.03241), (15, 0, 0.04556), (25, 0, 0.03406)],
)
def test_carbon_dioxide_k0(
    published: Published, temperature: float, salinity: float, expected: float
) -> None:
    published(
        "G3", "Weiss 1974, table of K0", f"K0 of carbon dioxide at {temperature} degC, "
        f"{salinity} g/kg", expected, carbon_dioxide_k0(temperature, salinity), 1e-5,
        "mol/(kg atm)", "from memory",
    )  # fmt: skip


@pytest.mark.parametrize(("temperature", "expected"), [(5, 1.18), (15, 0.84), (25, 0.63)])
def test_carbon_dioxide_of_air(temperature: float, expected: float) -> None:
    # Second evaluation: K0 x 420 ppm x 44.01.
    assert 1e3 * carbon_dioxide_saturation(temperature) == pytest.approx(expected, abs=0.005)


def test_nitrogen(published: Published) -> None:
    per_kg = nitrogen_solubility(10.0, 35.0) / density(10.0, 35.0) / 0.0280134
    published(
        "G4", "Hamme and Emerson 2004, check value", "nitrogen at 10 degC, 35 g/kg", 500.885,
        1e6 * per_kg, 0.001, "umol/kg", "from memory",
    )  # fmt: skip


def test_water_in_balance_with_the_air_has_total_gas_pressure_one() -> None:
    t, s = np.array([2.0, 15.0, 30.0]), 20.0
    for high in (0.0, 2000.0):
        p = atmospheric_pressure(high)
        found = total_gas_pressure(
            oxygen_solubility(t, s, p), nitrogen_solubility(t, s, p), t, s, p
        )
        assert found == pytest.approx(1.0, abs=1e-3)
    # Closed form: in balance with air at double pressure it is twice, but for the vapour.
    double = total_gas_pressure(
        oxygen_solubility(15.0, 0.0, 2 * ATMOSPHERE),
        nitrogen_solubility(15.0, 0.0, 2 * ATMOSPHERE),
        15.0,
    )
    assert double == pytest.approx(2.0, abs=2e-3)


def test_field_correction(published: Published) -> None:
    # The printed answer of the book was not seen: arithmetic on its inputs. Saturations by hand:
    # 9.09 (1 + 0.40 x 4.4 / 10.33) mg/L, and Cs 10.78 mg/L at 12 degC, 500 m.
    standard = 9.09e-3 * (1.0 + 0.40 * 4.4 / 10.33)
    site = 10.78 / 9.09 * 0.95 * 0.942 * standard
    number = transfer_number(1.0, AIR, 4.4, 0.35 / 4.4, 12.0, 0.65, 0.9)
    # Our standard saturation is that of Benson and Krause at the same pressure, where the
    # vapour takes no part in the rise.
    ours = oxygen_solubility(20.0, 0.0, bubble_pressure(4.4))
    assert ours == pytest.approx(standard, rel=5e-3)
    given = 0.35 * AIR * 0.2318
    taken = number * ours / standard * (site - 2.0e-3)
    published(
        "G5", "Metcalf and Eddy, 5th edition, p. 762 (inputs as transcribed; second computation)",
        "standard over field oxygen transfer", 2.367, given / taken, "0.3 %", "-", "read",
    )  # fmt: skip


def test_oxygen_by_deficit() -> None:
    def added(dissolved: float, number: float = 0.5) -> float:
        return float(oxygen_added(1.0, number, dissolved, 2.5, 15.0))

    assert added(0.004) > added(0.008) > 0.0
    # More than the bubbles' balance is blown off.
    assert added(0.016) < 0.0
    full = oxygen_solubility(15.0, 0.0, bubble_pressure(2.5, ATMOSPHERE, 999.1))
    assert added(float(full)) == pytest.approx(0.0, abs=1e-9)
    # Never past the balance, however much air; closed form for little air.
    assert added(0.004, 50.0) == pytest.approx(full - 0.004, rel=1e-6)
    assert added(0.004, 1e-5) == pytest.approx(1e-5 * (full - 0.004), rel=1e-4)


def test_oxygen_at_the_site() -> None:
    def added(**site: float) -> float:
        return float(oxygen_added(1.0, 0.5, 0.006, 2.5, 15.0, **site))

    assert added(salinity=35.0) < added()
    assert added(atmosphere=80e3) < added()
    assert added(beta=0.95) < added()


def test_transfer_number() -> None:
    low, middle, high = (
        float(transfer_number(1.0, AIR, 2.5, per, 20.0, 1.0)) for per in TRANSFER_PER_METRE
    )
    assert low < middle < high
    # Closed form: oxygen given up over that of the water at saturation.
    saturation = oxygen_solubility(20.0, 0.0, bubble_pressure(2.5))
    assert middle == pytest.approx(0.02 * 2.5 * 0.2314 * AIR / saturation, rel=1e-3)
    assert transfer_number(1.0, AIR, 2.5, 0.02, 10.0, 0.7, 0.9) == pytest.approx(
        middle * 0.63 * 1.024**-10, rel=1e-12
    )
    assert transfer_number(2.0, AIR, 2.5, 0.02, 20.0, 1.0) == pytest.approx(middle / 2, rel=1e-12)


def test_single_stage_limit(published: Published) -> None:
    air = dry_mass_flow(1.0, AirState(15.0, ATMOSPHERE, 1.0))
    published(
        "G6", "Weiss 1974 and the balance of the gas",
        "carbon dioxide taken in one stage, 1:1 by volume, 15 degC", 0.48,
        single_stage_share(1.0, air, 15.0), 0.005, "-", "closed form",
    )  # fmt: skip
    shares = single_stage_share(1.0, air * np.array([0.1, 1.0, 5.0, 100.0]), 15.0)
    assert (np.diff(shares) > 0).all() and shares[-1] < 1.0


def test_carbon_dioxide_never_beyond_one_stage() -> None:
    floor = float(carbon_dioxide_saturation(15.0))
    surplus = 0.015 - floor
    most = float(single_stage_share(1.0, AIR, 15.0))
    numbers = np.array([0.01, 0.3, 1.0, 3.0, 100.0])
    taken = carbon_dioxide_stripped(1.0, AIR, numbers, 0.015, 15.0)
    assert (np.diff(taken) > 0).all()
    assert (taken <= most * surplus * (1 + 1e-12)).all()
    assert taken[-1] == pytest.approx(most * surplus, rel=1e-9)
    # Closed form: little transfer does not see the filling of the bubbles.
    assert taken[0] == pytest.approx(0.89 * 0.01 * surplus, rel=2e-2)
    assert carbon_dioxide_stripped(1.0, 0.0, 0.0, 0.015, 15.0) == 0.0
    # Air of a badly vented hall brings carbon dioxide in.
    assert carbon_dioxide_stripped(1.0, AIR, 1.0, 0.002, 15.0, air_share=5000e-6) < 0.0


def test_deep_injection_raises_total_gas_pressure() -> None:
    oxygen, nitrogen = float(oxygen_solubility(15.0)), float(nitrogen_solubility(15.0))

    def after(depth: float, number: float = 0.8) -> float:
        return float(gas_pressure_after(number, oxygen, nitrogen, depth, 15.0))

    assert 1.0 < after(1.0) < after(2.5) < after(4.0)
    # Closed form: never more than the pressure at 0.40 of the depth, which much air reaches.
    most = bubble_pressure(2.5, ATMOSPHERE, density(15.0)) / ATMOSPHERE
    assert after(2.5) < most
    assert after(2.5, 50.0) == pytest.approx(most, abs=1e-3)
    # Closed form: nitrogen goes a little slower than oxygen.
    pressure = bubble_pressure(2.5, ATMOSPHERE, density(15.0))
    ends = (float(f(15.0, 0.0, pressure)) for f in (oxygen_solubility, nitrogen_solubility))
    gone = (oxygen, nitrogen), ends, (np.exp(-0.8), np.exp(-0.94 * 0.8))
    by_hand = [end + (start - end) * left for start, end, left in zip(*gone, strict=True)]
    assert after(2.5) == pytest.approx(total_gas_pressure(by_hand[0], by_hand[1], 15.0), rel=1e-9)
    # Water that is full of gas loses some in a shallow shaft.
    oxygen, nitrogen = 1.2 * oxygen, 1.2 * nitrogen
    assert 1.0 < after(0.5) < total_gas_pressure(oxygen, nitrogen, 15.0)


def test_vapour_counts_in_the_gas() -> None:
    # Warm water fills bubbles with vapour: more gas for the same dry air.
    wet = float(vapour_pressure(35.0))
    share = float(single_stage_share(1.0, AIR, 35.0))
    k = float(carbon_dioxide_k0(35.0)) * 994.03 / ATMOSPHERE * 8.314462618 * 308.15
    gas = AIR * 8.314462618 / 0.0289647 * 308.15 / (ATMOSPHERE - wet)
    assert share == pytest.approx(gas / (gas + k), rel=1e-4)


@pytest.mark.parametrize(
    "call",
    [
        lambda: oxygen_solubility(45.0),
        lambda: oxygen_solubility(10.0, 50.0),
        lambda: oxygen_solubility(10.0, 0.0, 1e3),
        lambda: nitrogen_solubility(float("nan")),
        lambda: carbon_dioxide_k0(-5.0),
        lambda: carbon_dioxide_saturation(15.0, 0.0, 0.0),
    ],
)
def test_outside_the_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed"):
        call()
