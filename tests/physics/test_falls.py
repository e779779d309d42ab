"""Free falls: closed forms, and one law against another."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics.channels import critical_depth
from loopplan.physics.constants import GRAVITY
from loopplan.physics.falls import NAPPE_GAP, brink_depth, fall_velocity, needed_drop, pool_depth
from loopplan.physics.sections import Section
from tests.validation_page import Published

FLOW = st.floats(0.005, 1.0)


def test_depth_at_the_brink(published: Published) -> None:
    section = Section(np.array([0.8]), np.array([0.0]), np.array([0.0]))
    critical = float(critical_depth(np.array([0.1]), section)[0])
    computed = brink_depth(0.1, 0.8) / critical
    quantity = "depth at the brink over critical depth"
    published("brink", "Rouse 1936", quantity, 0.715, computed, 1e-4, "-", "from memory")
    assert brink_depth(0.0, 0.8) == 0.0


@pytest.mark.parametrize(("flow", "drop"), [(0.02, 0.2), (0.1, 0.5), (0.1, 1.0), (0.5, 1.5)])
def test_pool_under_a_nappe_holds_up_the_jet(flow: float, drop: float) -> None:
    # Momentum between the pool and the depth of Rand's jet, 0.54 z (q^2/g z^3)^0.425.
    critical = np.cbrt(flow**2 / GRAVITY)
    jet = 0.54 * drop * (flow**2 / (GRAVITY * drop**3)) ** 0.425
    momentum = critical * np.sqrt((jet / critical) ** 2 + 2.0 * critical / jet - 3.0)
    assert pool_depth(flow, 1.0, drop) == pytest.approx(momentum, rel=0.1)


def test_pool_under_a_nappe_in_figures() -> None:
    # Rand 1955, from memory, by hand: drop number q^2/g z^3 of 0.01, 0.01^0.22 = 0.3631.
    assert pool_depth(0.1 * np.sqrt(GRAVITY), 1.0, 1.0) == pytest.approx(0.3631, abs=1e-4)


@given(FLOW, st.floats(0.2, 2.0), st.floats(0.5, 20.0))
def test_pool_scales_as_free_surfaces_do(flow: float, drop: float, scale: float) -> None:
    # Closed form: lengths by the scale, flows by its power 2.5.
    large = pool_depth(flow * scale**2.5, 0.8 * scale, drop * scale)
    assert large == pytest.approx(scale * pool_depth(flow, 0.8, drop), rel=1e-9)


@given(FLOW, FLOW)
def test_more_flow_stands_deeper_under_the_nappe(one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert pool_depth(more, 1.0, 0.5) >= pool_depth(less, 1.0, 0.5)


def test_crest_stands_clear_of_the_water_below() -> None:
    assert needed_drop(0.30) == pytest.approx(0.30 + NAPPE_GAP)
    assert needed_drop(0.30, 0.20) == pytest.approx(0.50)


@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_falling_turns_drop_into_velocity_head(drop: float, velocity: float) -> None:
    # Closed form: energy.
    head = fall_velocity(drop, velocity) ** 2 / (2.0 * GRAVITY)
    assert head == pytest.approx(drop + velocity**2 / (2.0 * GRAVITY), abs=1e-12)


@pytest.mark.parametrize(
    "call",
    [
        lambda: brink_depth(-0.1, 1.0),
        lambda: brink_depth(0.1, 0.0),
        lambda: pool_depth(0.1, 1.0, 0.0),
        lambda: needed_drop(-0.1),
        lambda: fall_velocity(-1.0),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
