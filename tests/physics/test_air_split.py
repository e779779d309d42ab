"""How a header's air divides, against scalar equations solved apart."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from loopplan.physics.air import GAS_CONSTANT_DRY, KELVIN, STANDARD, dry_density
from loopplan.physics.air_pipes import AirPipe, air_viscosity
from loopplan.physics.air_split import (
    AirUsers,
    Supply,
    diffuser_coefficient,
    flow_to,
    pressure_for,
    split_air,
)
from loopplan.physics.blowers import DisplacementBlower, displacement_flow
from loopplan.physics.friction import friction_factor

ATMOSPHERE = 101325.0
NO_PIPE = AirPipe(bore=1.0, length=0.0)
DEPTHS = [2.5, 1.2, 3.0]
BORES = [0.10, 0.08, 0.125]
LENGTHS = [12.0, 30.0, 8.0]
LOSS = [3e3, 6e3, 2e3]  # at 0.1 m3/s
EXPONENTS = [2.0, 1.6, 1.0]
MAIN = AirPipe(bore=0.2, length=25.0, roughness=1e-4, fittings_k=3.0, temperature=55.0)


def water(depth: float) -> float:
    return ATMOSPHERE + 9.80665 * 1000.0 * depth


USERS = AirUsers(
    np.array([water(d) for d in DEPTHS]),
    diffuser_coefficient(np.array(LOSS), 0.1, np.array(EXPONENTS)),
    np.array(EXPONENTS),
    AirPipe(np.array(BORES), np.array(LENGTHS), 1e-4, 2.0, 55.0),
)


def given_total(total: float) -> Supply:
    """Supply of blowers that give the same whatever the pressure."""
    return lambda pressure: np.full_like(pressure, total)


def scalar_pressure(mass: float, after: float, pipe: Any) -> float:
    """Head of a pipe, from its own equation by bracketing."""
    if mass == 0.0:
        return after
    area = math.pi / 4.0 * pipe.bore**2
    reynolds = mass * pipe.bore / area / float(air_viscosity(pipe.temperature))
    f = float(friction_factor(reynolds, pipe.roughness / pipe.bore))
    term = (mass / area) ** 2 * GAS_CONSTANT_DRY * (pipe.temperature + KELVIN)
    k = f * pipe.length / pipe.bore + pipe.fittings_k

    def miss(p: float) -> float:
        return p * p - after * after - term * (k + 2.0 * math.log(p / after))

    return float(brentq(miss, 0.999999 * after, 50.0 * after, xtol=1e-8, rtol=1e-14))


def scalar_split(total: float) -> tuple[list[float], float]:
    """Flows and header pressure by nested bracketing, user by user."""
    density = float(dry_density(STANDARD))

    def need(i: int, q: float) -> float:
        loss = LOSS[i] * (q / 0.1) ** EXPONENTS[i]
        pipe = AirPipe(BORES[i], LENGTHS[i], 1e-4, 2.0, 55.0)
        return scalar_pressure(q * density, water(DEPTHS[i]) + loss, pipe)

    def takes(i: int, header: float) -> float:
        if header <= water(DEPTHS[i]):
            return 0.0
        return float(brentq(lambda q: need(i, q) - header, 1e-9, 3.0, xtol=1e-15, rtol=1e-14))

    def excess(header: float) -> float:
        return sum(takes(i, header) for i in range(3)) - total

    header = brentq(excess, water(min(DEPTHS)) + 1.0, water(8.0), xtol=1e-7, rtol=1e-14)
    return [takes(i, header) for i in range(3)], header


@pytest.mark.parametrize("total", [0.05, 0.25, 0.4])
def test_split_agrees_with_scalar_bracketing(total: float) -> None:
    flows, header = scalar_split(total)
    found = split_air(USERS, given_total(total))
    assert found.header_pressure == pytest.approx(header, rel=1e-9)
    assert found.flow == pytest.approx(flows, rel=1e-7, abs=1e-9)
    assert found.total == pytest.approx(total, rel=1e-9)


def test_what_each_user_needs_is_the_header_pressure() -> None:
    found = split_air(USERS, given_total(0.3))
    assert pressure_for(found.flow, USERS) == pytest.approx(
        np.full(3, found.header_pressure), rel=1e-12
    )


def test_deep_user_gets_nothing_from_little_air() -> None:
    found = split_air(USERS, given_total(0.02))
    assert found.header_pressure < water(2.5)
    assert list(found.flow > 0.0) == [False, True, False]
    assert found.flow[1] == pytest.approx(0.02, rel=1e-9)


def test_like_users_share_alike_and_order_does_not_matter() -> None:
    users = AirUsers(np.full(4, water(2.5)), 4e5, 2.0, AirPipe(0.1, 10.0))
    found = split_air(users, given_total(0.4))
    assert found.flow == pytest.approx(np.full(4, 0.1), rel=1e-9)
    turned = AirUsers(
        USERS.back_pressure[::-1],
        np.asarray(USERS.diffuser_k)[::-1],
        np.asarray(USERS.diffuser_exponent)[::-1],
        AirPipe(np.array(BORES[::-1]), np.array(LENGTHS[::-1]), 1e-4, 2.0, 55.0),
    )
    one = split_air(USERS, given_total(0.3))
    other = split_air(turned, given_total(0.3))
    assert other.flow[::-1] == pytest.approx(one.flow, rel=1e-9)


@settings(max_examples=15)
@given(st.floats(1.0, 3.0), st.floats(1.0, 3.0), st.floats(0.05, 0.5))
def test_orifices_without_pipes(one: float, other: float, total: float) -> None:
    # Closed form: with a square law on both, q = sqrt((p - p_i)/k).
    k = 4e5
    users = AirUsers(np.array([water(one), water(other)]), k, 2.0, NO_PIPE)
    found = split_air(users, given_total(total))
    over = np.maximum(found.header_pressure - users.back_pressure, 0.0)
    assert found.flow.sum() == pytest.approx(total, rel=1e-9)
    assert found.flow == pytest.approx(np.sqrt(over / k), rel=1e-6, abs=1e-9)


def test_purge_takes_air_from_the_lifts_and_a_deeper_user_gets_less() -> None:
    def alone(depths: list[float]) -> np.ndarray:
        users = AirUsers(np.array([water(d) for d in depths]), 4e5, 2.0, AirPipe(0.1, 10.0))
        return split_air(users, given_total(0.3)).flow

    without, withal = alone([2.5, 2.5]), alone([2.5, 2.5, 1.0])
    assert withal[0] < without[0]
    assert withal[2] > withal[0]


def test_displacement_blower_with_its_main() -> None:
    blower = DisplacementBlower(0.3, 40e3, 0.15)

    def supply(pressure: np.ndarray) -> np.ndarray:
        return displacement_flow(blower, pressure - ATMOSPHERE)

    found = split_air(USERS, supply, MAIN)
    density = float(dry_density(STANDARD))
    total = float(found.total)
    assert total == pytest.approx(float(supply(found.delivery_pressure)), rel=1e-9)
    before = scalar_pressure(total * density, float(found.header_pressure), MAIN)
    assert found.delivery_pressure == pytest.approx(before, rel=1e-9)
    assert found.delivery_pressure > found.header_pressure
    free = split_air(USERS, supply)
    assert found.total < free.total < 1.02 * found.total


def test_variants_are_solved_at_once() -> None:
    totals = np.array([0.02, 0.1, 0.3])
    users = AirUsers(
        USERS.back_pressure[:, None],
        np.asarray(USERS.diffuser_k)[:, None],
        np.asarray(USERS.diffuser_exponent)[:, None],
        AirPipe(np.array(BORES)[:, None], np.array(LENGTHS)[:, None], 1e-4, 2.0, 55.0),
    )
    found = split_air(users, lambda p: totals + 0.0 * p)
    assert found.flow.shape == (3, 3)
    for i, total in enumerate(totals):
        one = split_air(USERS, given_total(total))
        assert found.flow[:, i] == pytest.approx(one.flow, rel=1e-9, abs=1e-12)
        assert found.header_pressure[i] == pytest.approx(float(one.header_pressure), rel=1e-12)


def test_flow_is_none_below_the_depth_and_grows_above() -> None:
    pressures = np.array([[water(1.0), water(2.0), water(3.5), water(4.0)]])
    users = AirUsers(np.full((1, 1), water(2.0)), 4e5, 2.0, AirPipe(0.1, 10.0))
    flows = flow_to(pressures, users)[0]
    assert flows[:2] == pytest.approx([0.0, 0.0])
    assert 0.0 < flows[2] < flows[3]


@pytest.mark.parametrize(
    "call",
    [
        lambda: diffuser_coefficient(-1.0, 0.1, 2.0),
        lambda: diffuser_coefficient(1e3, 0.0, 2.0),
        lambda: diffuser_coefficient(1e3, 0.1, 3.0),
        lambda: flow_to(2e5, AirUsers(np.array([1.2e5]), 0.0, 2.0, NO_PIPE)),
        lambda: split_air(USERS, np.zeros_like),
    ],
)
def test_what_cannot_be_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
