"""Air pipes: isothermal flow against another library and against its differential equation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.compressible import isothermal_gas
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from loopplan.physics.air import GAS_CONSTANT_DRY, KELVIN
from loopplan.physics.air_pipes import (
    AirPipe,
    air_velocity,
    air_viscosity,
    pressure_before,
    pressure_loss_short,
    velocity_limits,
)
from loopplan.physics.friction import friction_factor
from tests.validation_page import Published

PIPE = AirPipe(bore=0.1, length=30.0, roughness=1e-4, fittings_k=4.0, temperature=60.0)
BARE = AirPipe(bore=0.1, length=30.0, roughness=1e-4, temperature=60.0)


def darcy(mass: float, pipe: AirPipe) -> float:
    reynolds = 4.0 * mass / (math.pi * pipe.bore * air_viscosity(pipe.temperature))
    return float(friction_factor(reynolds, pipe.roughness / pipe.bore))


def test_viscosity_of_the_standard_atmosphere(published: Published) -> None:
    source = "ISO 2533, sea level"
    published("air", source, "dynamic viscosity at 15 degC", 17.894, 1e6 * air_viscosity(15.0),
              0.0005, "uPa s", "from memory")  # fmt: skip


@pytest.mark.parametrize("mass", [0.01, 0.05, 0.15, 0.3, 0.6])
def test_isothermal_flow_against_another_library(mass: float) -> None:
    # Oracle: the isothermal equation with its logarithm; its density is that at the head.
    p1, p2 = float(pressure_before(mass, 130e3, BARE)), 130e3
    rho = p1 / (GAS_CONSTANT_DRY * (60.0 + KELVIN))
    found = isothermal_gas(rho=rho, fd=darcy(mass, BARE), P1=p1, P2=p2, L=30.0, D=0.1)
    assert found == pytest.approx(mass, rel=1e-9)


@pytest.mark.parametrize("mass", [0.05, 0.3, 0.6])
def test_against_the_differential_equation(mass: float) -> None:
    # dp/dx = -(f/D) G^2/(2 rho) + G^2/rho^2 d rho/dx, rho = p/RT.
    flux = mass / (math.pi / 4.0 * 0.1**2)
    rt = GAS_CONSTANT_DRY * (60.0 + KELVIN)
    f = darcy(mass, BARE)

    def slope(_: float, p: np.ndarray) -> np.ndarray:
        return f / 0.1 * flux**2 * rt / (2.0 * p) / (1.0 - flux**2 * rt / p**2)

    end = solve_ivp(slope, (0.0, 30.0), [130e3], rtol=1e-11, atol=1e-6).y[0, -1]
    assert pressure_before(mass, 130e3, BARE) == pytest.approx(end, rel=1e-8)


def test_equation_closes_with_fittings() -> None:
    mass = np.array([0.0, 0.02, 0.2, 0.5])
    p1 = pressure_before(mass, 125e3, PIPE)
    assert p1[0] == 125e3
    for m, p in zip(mass[1:], p1[1:], strict=True):
        flux = m / (math.pi / 4.0 * 0.1**2)
        k = darcy(m, PIPE) * 300.0 + 4.0 + 2.0 * math.log(p / 125e3)
        rt = GAS_CONSTANT_DRY * (60.0 + KELVIN)
        assert p**2 - 125e3**2 == pytest.approx(flux**2 * rt * k, rel=1e-9)


@given(st.floats(0.005, 0.12))
def test_one_density_will_do_for_small_losses(mass: float) -> None:
    p2 = 125e3
    p1 = float(pressure_before(mass, p2, PIPE))
    short = pressure_loss_short(mass, 0.5 * (p1 + p2), PIPE)
    assert p1 - p2 < 0.1 * p2
    # What is left out is the gain of speed.
    assert short == pytest.approx(p1 - p2, rel=0.01)


@given(st.floats(0.0, 0.5), st.floats(0.001, 0.05))
def test_more_flow_and_heat_lose_more(mass: float, more: float) -> None:
    hot = AirPipe(0.1, 30.0, 1e-4, 4.0, 90.0)
    assert pressure_before(mass + more, 125e3, PIPE) > pressure_before(mass, 125e3, PIPE)
    assert pressure_before(mass + more, 125e3, hot) > pressure_before(mass + more, 125e3, PIPE)


def test_velocity_by_hand() -> None:
    # Closed form: 0.1 kg/s at 60 degC and 130 kPa is 0.0736 m3/s, in 0.1 m 9.37 m/s.
    assert air_velocity(0.1, 130e3, PIPE) == pytest.approx(9.37, abs=0.005)


# From memory, Metcalf & Eddy.
@pytest.mark.parametrize(
    ("bore", "limits"),
    [(0.05, (6, 9)), (0.1, (9, 15)), (0.25, (9, 15)), (0.4, (14, 20)), (0.75, (19, 33))],
)
def test_velocity_limits_of_headers(bore: float, limits: tuple[float, float]) -> None:
    assert velocity_limits(bore) == limits


@pytest.mark.parametrize(
    "call",
    [
        lambda: air_viscosity(300.0),
        lambda: air_velocity(0.1, 0.0, PIPE),
        lambda: velocity_limits(2.0),
        lambda: pressure_loss_short(0.1, 0.0, PIPE),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
