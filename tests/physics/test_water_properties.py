"""Density, viscosity and vapour pressure."""

from __future__ import annotations

import numpy as np
import pytest

from loopplan.physics.water import (
    atmospheric_pressure,
    density,
    kinematic_viscosity,
    vapour_pressure,
    viscosity,
)
from tests.validation_page import Published

TEMPERATURES = np.linspace(0.0, 40.0, 41)


@pytest.mark.parametrize(
    ("salinity", "t68", "expected"),
    [(0, 5, 999.96675), (0, 25, 997.04796), (35, 5, 1027.67547), (35, 25, 1023.34306)],
)
def test_density_meets_the_check_values(
    published: Published, salinity: float, t68: float, expected: float
) -> None:
    published(
        "S1",
        "UNESCO Tech. Pap. Mar. Sci. 36 (1981) and 44 (1983)",
        f"density at {salinity} g/kg, {t68} degC (IPTS-68)",
        expected,
        density(t68 / 1.00024, salinity),
        5e-6,
        "kg/m3",
        "from memory",
    )


def test_temperature_scale_is_converted() -> None:
    # Read as IPTS-68 a temperature of 25 gives 1023.3412 (second computation, EOS-80).
    assert abs(density(25.0, 35.0) - 1023.3412) < 1e-4


@pytest.mark.parametrize(
    ("temperature", "expected"),
    [(5, 1.518), (10, 1.306), (15, 1.138), (20, 1.002), (25, 0.890), (30, 0.797)],
)
def test_viscosity_of_fresh_water(
    published: Published, temperature: float, expected: float
) -> None:
    published(
        "S7",
        "standard tables after IAPWS SR6-08",
        f"viscosity of fresh water at {temperature} degC",
        expected,
        1e3 * viscosity(temperature),
        5e-4,
        "mPa s",
        "from memory",
    )


@pytest.mark.parametrize(
    ("temperature", "expected"),
    [(5, 1.6193), (10, 1.3968), (15, 1.2199), (20, 1.0766), (25, 0.95883), (30, 0.86065)],
)
def test_viscosity_of_sea_water_is_near_the_whole_formula(
    temperature: float, expected: float
) -> None:
    # Second computation of Sharqawy 2010 with his own fresh-water part; 0.05 % is the
    # distance of the two fresh-water formulas.
    assert viscosity(temperature, 35.0) * 1e3 == pytest.approx(expected, rel=5e-4)


def test_viscosity_of_sea_water(published: Published) -> None:
    published(
        "S10",
        "ITTC 7.5-02-01-03 (2011); stated error of the formula",
        "viscosity of sea water at 15 degC, 35.165 g/kg",
        1.220,
        1e3 * viscosity(15.0, 35.16504),
        "1.5 %",
        "mPa s",
        "from memory",
    )


@pytest.mark.parametrize(
    ("temperature", "expected"), [(10, 1.228), (20, 2.339), (30, 4.247), (40, 7.385)]
)
def test_vapour_pressure(published: Published, temperature: float, expected: float) -> None:
    published(
        "S8",
        "LSBU water data table",
        f"vapour pressure at {temperature} degC",
        expected,
        vapour_pressure(temperature) / 1e3,
        5e-4,
        "kPa",
        "read",
    )


def test_fresh_water_agrees_with_an_independent_library() -> None:
    iapws = pytest.importorskip("iapws")
    for t in TEMPERATURES[1::8]:
        water = iapws.IAPWS97(T=t + 273.15, P=0.101325)
        assert density(t) == pytest.approx(water.rho, abs=0.01)
        assert viscosity(t) == pytest.approx(water.mu, rel=3e-3)
        assert vapour_pressure(t) == pytest.approx(
            iapws.iapws97._PSat_T(t + 273.15) * 1e6, rel=5e-4
        )


def test_sea_water_density_agrees_with_an_independent_library() -> None:
    gsw = pytest.importorskip("gsw")
    t, s = np.meshgrid(TEMPERATURES, [0.0, 10.0, 20.0, 35.0])
    absolute = s * 35.16504 / 35.0
    # 0.01 kg/m3: EOS-80 against TEOS-10.
    assert density(t, s) == pytest.approx(gsw.rho_t_exact(absolute, t, 0.0), abs=0.012)


def test_salt_makes_water_denser_thicker_and_less_volatile() -> None:
    salt = np.linspace(0.0, 42.0, 43)
    for t in (0.0, 15.0, 30.0):
        assert (np.diff(density(t, salt)) > 0).all()
        assert (np.diff(viscosity(t, salt)) > 0).all()
        assert (np.diff(vapour_pressure(t, salt)) < 0).all()


def test_fresh_water_is_densest_near_four_degrees() -> None:
    t = np.linspace(0.0, 10.0, 1001)
    assert t[np.argmax(density(t))] == pytest.approx(3.98, abs=0.03)


def test_kinematic_viscosity_is_the_quotient() -> None:
    assert kinematic_viscosity(12.0, 20.0) == pytest.approx(
        viscosity(12.0, 20.0) / density(12.0, 20.0), rel=1e-12
    )


def test_pressure_of_the_standard_atmosphere() -> None:
    # ISO 2533, from memory: 89 874.6 Pa at 1000 m, 79 495 Pa at 2000 m (geopotential).
    assert atmospheric_pressure(0.0) == pytest.approx(101325.0, rel=1e-12)
    assert atmospheric_pressure(1000.0) == pytest.approx(89874.6, abs=0.5)
    assert atmospheric_pressure(2000.0) == pytest.approx(79495.0, abs=1.0)


@pytest.mark.parametrize("function", [density, viscosity, kinematic_viscosity, vapour_pressure])
@pytest.mark.parametrize(
    "state", [(float("nan"), 0.0), (-5.0, 0.0), (80.0, 0.0), (10.0, -1.0), (10.0, 60.0)]
)
def test_outside_the_range_is_refused(function, state) -> None:
    with pytest.raises(ValueError, match="allowed"):
        function(*state)


def test_altitude_outside_the_range_is_refused() -> None:
    with pytest.raises(ValueError, match="altitude is 9000 m; allowed: -500 to 5000 m"):
        atmospheric_pressure(9000.0)
