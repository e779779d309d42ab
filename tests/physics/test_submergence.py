"""Submergence of inlets."""

from __future__ import annotations

import math

import pytest

from loopplan.physics.submergence import inlet_submergence


# Closed form of the rule of ANSI/HI 9.8, worked by hand for flow [m3/h], bore [m].
@pytest.mark.parametrize(
    ("flow", "bore", "expected"), [(450, 0.35, 0.915), (450, 0.30, 1.011), (100, 0.20, 0.490)]
)
def test_worked_by_hand(flow: float, bore: float, expected: float) -> None:
    speed = flow / 3600.0 / (math.pi / 4.0 * bore**2)
    assert inlet_submergence(speed, bore) == pytest.approx(expected, abs=6e-4)


def test_by_flow_in_litres() -> None:
    # Closed form: S = D + Q/(1069 D^1.5), Q in L/s.
    for flow, bore in ((20.0, 0.15), (125.0, 0.35), (400.0, 0.6)):
        speed = flow / 1000.0 / (math.pi / 4.0 * bore**2)
        assert inlet_submergence(speed, bore) == pytest.approx(
            bore + flow / (1069.0 * bore**1.5), rel=1e-3
        )


def test_still_water_needs_one_diameter_and_more_speed_more() -> None:
    assert inlet_submergence(0.0, 0.3) == pytest.approx(0.3)
    assert inlet_submergence(2.0, 0.3) > inlet_submergence(1.0, 0.3)
    with pytest.raises(ValueError, match="diameter"):
        inlet_submergence(1.0, 0.0)
