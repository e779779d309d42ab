"""Assumed shapes of pumps: they go through the duty and bend the right way."""

from __future__ import annotations

import numpy as np
import pytest

from loopplan.physics.curve_fit import curve_value
from loopplan.physics.pump_curves import rising_faults, run_out, shut_off_head
from loopplan.physics.pump_generic import (
    RUN_OUT_RATIO,
    generic_curve,
    off_point_efficiency,
    shut_off_power,
)


def test_generic_curve_goes_through_its_duty_and_steepens_with_specific_speed() -> None:
    ratios = []
    for specific in (15.0, 40.0, 100.0, 200.0, 300.0):
        curve = generic_curve(0.125, 2.0, specific)
        assert curve_value(curve, 0.125)[0] == pytest.approx(2.0)
        assert run_out(curve)[0] == pytest.approx(RUN_OUT_RATIO * 0.125)
        assert run_out(curve)[1] > 0.0
        assert rising_faults(curve) == []
        ratios.append(shut_off_head(curve) / 2.0)
    assert ratios == sorted(ratios)


def test_power_at_shut_off_turns_round_between_radial_and_axial() -> None:
    # Common practice: a radial pump starts against a closed valve, a propeller pump must not.
    assert shut_off_power(1e3, 25.0) < 1e3
    assert shut_off_power(1e3, 200.0) > 1.5e3


def test_efficiency_falls_off_on_both_sides() -> None:
    x = np.array([0.0, 0.5, 1.0, 1.5, 2.0])
    assert off_point_efficiency(0.8, x) == pytest.approx([0.0, 0.6, 0.8, 0.6, 0.0])


@pytest.mark.parametrize(
    "call",
    [
        lambda: generic_curve(0.0, 2.0, 100.0),
        lambda: generic_curve(0.1, 2.0, 600.0),
        lambda: shut_off_power(-1.0, 100.0),
        lambda: off_point_efficiency(0.8, 2.1),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
