"""Suction side of pumps."""

from __future__ import annotations

import math

import pytest

from loopplan.physics.constants import GRAVITY
from loopplan.physics.pump_efficiency import specific_speed
from loopplan.physics.submergence import inlet_submergence
from loopplan.physics.suction import (
    BELL_VELOCITY,
    SUCTION_SPEED,
    bell_diameter,
    bell_velocity_limits,
    most_suction_lift,
    npsh_available,
    npsh_needed,
    npsh_required,
)
from loopplan.physics.water import vapour_pressure
from tests.validation_page import Published

READ = "read in an open notebook of its worked examples"


def test_u11_suction_lift(published: Published) -> None:
    # Thoma's number 0.08 on 60 m of head is the NPSH that the pump needs.
    source = "Khan, Fluid Mechanics, Ex. 12.5 p. 457"
    lift = most_suction_lift(98e3, 1.707e3, 0.08 * 60.0, 1.0, 1000.0)
    published("U11", source, "suction lift", 4.02, lift, 0.005, "m", READ)


def test_u13_level_at_which_a_pump_cavitates(published: Published) -> None:
    source = "Schaschke, Fluid Mechanics: Worked Examples for Engineers, Ex. 9.6 p. 247"
    # The pump stands 3 m above the bottom and needs 5 m; the book takes g = 9.81 m/s2.
    offered = npsh_available(0.94 * 101.3e3, 18e3, -3.0, 0.5, 970.0)
    volume = math.pi / 4.0 * 3.0**2 * (2.5 - float(5.0 - offered))
    published("U13", source, "volume drawn from the tank", 14.95, volume, "0.2 %", "m3", READ)


def test_lift_leaves_just_what_is_needed() -> None:
    lift = float(most_suction_lift(101325.0, 1228.0, 3.5, 0.4, 999.7))
    assert npsh_available(101325.0, 1228.0, -lift, 0.4, 999.7) == pytest.approx(3.5)


def test_warm_water_and_altitude_take_npsh() -> None:
    cold, warm = (
        npsh_available(101325.0, vapour_pressure(t), 1.0, 0.2, 1000.0) for t in (4.0, 25.0)
    )
    # Closed form from the vapour pressures 813.6 and 3170 Pa.
    assert cold - warm == pytest.approx((3170.0 - 813.6) / (1000.0 * GRAVITY), abs=2e-3)


@pytest.mark.parametrize(("required", "needed"), [(2.0, 2.9), (9.0, 9.9), (12.0, 13.2)])
def test_margin_is_the_larger_of_two(required: float, needed: float) -> None:
    assert npsh_needed(required) == pytest.approx(needed)


def test_required_npsh_has_the_suction_speed_that_it_was_made_from() -> None:
    # Closed form: n_ss is the specific speed taken with the NPSH as head.
    required = npsh_required(1450.0, 0.05)
    assert specific_speed(1450.0, 0.05, required) == pytest.approx(SUCTION_SPEED)
    assert npsh_required(960.0, 0.05) < required


# From memory, ANSI/HI 9.8-1998.
@pytest.mark.parametrize(
    ("flow", "limits"),
    [(0.3, (0.6, 2.7)), (0.315, (0.6, 2.7)), (0.4, (0.9, 2.4)), (2.0, (1.2, 2.1))],
)
def test_bell_velocity_narrows_with_size(flow: float, limits: tuple[float, float]) -> None:
    assert bell_velocity_limits(flow) == limits
    assert limits[0] < BELL_VELOCITY < limits[1]


def test_bell_of_a_duty_and_its_submergence() -> None:
    # By hand: 450 m3/h in a bell of 0.35 m runs at 1.30 m/s, Froude 0.701, submergence 0.915 m.
    assert bell_diameter(0.125, 1.2992) == pytest.approx(0.35, abs=1e-4)
    assert inlet_submergence(1.2992, 0.35) == pytest.approx(0.915, abs=6e-4)


@pytest.mark.parametrize(
    "call",
    [
        lambda: npsh_available(1e5, 2e3, 1.0, 0.1, 0.0),
        lambda: npsh_needed(0.0),
        lambda: bell_velocity_limits(0.0),
        lambda: bell_diameter(0.1, 0.0),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
