"""Pump curves: faults, saddle, speed, parallel, series."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics.curve_fit import curve_by_points, curve_by_polynomial, curve_value
from loopplan.physics.pump_curves import (
    at_speed,
    barred_flow,
    curve_faults,
    flow_at_head,
    parallel_flow,
    rising_faults,
    run_out,
    saddle,
    series_head,
    shut_off_head,
    stop_speed,
)

FALLING = ([0.0, 0.02, 0.04, 0.06], [12.0, 11.0, 8.5, 4.0])
# Invented: a propeller pump with a saddle between 0.10 and 0.16 m3/s.
AXIAL = ([0.0, 0.05, 0.10, 0.13, 0.16, 0.22, 0.26], [7.0, 5.2, 4.0, 4.2, 4.5, 2.6, 0.8])


def test_good_curve_has_no_fault() -> None:
    assert curve_faults(*FALLING) == []
    assert rising_faults(curve_by_points(*FALLING)) == []
    assert barred_flow(curve_by_points(*FALLING)) is None


def test_rising_curve_is_told_with_its_flows() -> None:
    (fault,) = curve_faults([0.0, 0.02, 0.04], [10.0, 10.5, 6.0])
    assert (fault.kind, fault.low, fault.high) == ("rises", 0.0, 0.02)
    assert "10 to 10.5 m" in fault.words
    # H = 10 + 50 Q - 2000 Q^2 rises to its crest at 0.0125 m3/s.
    (fault,) = rising_faults(curve_by_polynomial([10.0, 50.0, -2000.0], 0.0, 0.05))
    assert (fault.low, fault.high) == pytest.approx((0.0, 0.0125), rel=1e-9)


@pytest.mark.parametrize("flow", [[0.0, 0.03, 0.02, 0.04], [0.0, 0.02, 0.02, 0.04]])
def test_curve_that_crosses_itself_is_told(flow: list[float]) -> None:
    (fault,) = curve_faults(flow, [12.0, 10.0, 9.0, 6.0])
    assert fault.kind == "crosses itself"
    assert "rising flows" in fault.words


def test_saddle_is_found_and_all_left_of_its_peak_is_barred() -> None:
    curve = curve_by_points(*AXIAL)
    found = saddle(curve)
    assert found is not None
    assert (found.trough_flow, found.trough_head) == pytest.approx((0.10, 4.0))
    assert (found.peak_flow, found.peak_head) == pytest.approx((0.16, 4.5))
    assert barred_flow(curve) == (0.0, 0.16)
    # The saddle moves with the speed.
    slower = barred_flow(at_speed(curve, 0.8))
    assert slower == pytest.approx((0.0, 0.128))


def test_affinity() -> None:
    curve = curve_by_points(*FALLING)
    fast = at_speed(curve, 1.2)
    assert curve_value(fast, 1.2 * 0.03)[0] == pytest.approx(1.44 * curve_value(curve, 0.03)[0])
    assert run_out(fast) == pytest.approx((1.2 * 0.06, 1.44 * 4.0))
    # Closed form: H = a - b Q^2 becomes a r^2 - b Q^2.
    parabola = at_speed(curve_by_polynomial([490.0, 0.0, -0.26], 0.0, 40.0), 0.9)
    assert curve_value(parabola, 20.0)[0] == pytest.approx(490.0 * 0.81 - 0.26 * 400.0)


@given(st.floats(0.5, 1.2), st.floats(0.5, 11.5))
def test_speed_that_just_holds_the_static_head(ratio: float, static: float) -> None:
    curve = curve_by_points(*FALLING)
    stop = float(stop_speed(curve, static))
    assert shut_off_head(at_speed(curve, stop)) == pytest.approx(static)
    moves = float(flow_at_head(at_speed(curve, ratio), static)) > 0.0
    assert moves == (ratio > stop * (1.0 + 1e-12)) or ratio == pytest.approx(stop)
    assert stop_speed(curve, -1.0) == 0.0


@given(st.floats(0.0, 13.0))
def test_flow_at_head_turns_the_curve_round(head: float) -> None:
    curve = curve_by_points(*FALLING)
    flow = float(flow_at_head(curve, head))
    if head >= 12.0:
        assert flow == 0.0
    else:
        assert curve_value(curve, flow)[0] == pytest.approx(head, abs=1e-9)


def test_side_by_side_flows_add_and_in_a_row_heads_add() -> None:
    large = curve_by_points(*FALLING)
    small = curve_by_points([0.0, 0.03], [9.0, 3.0])
    heads = np.array([3.0, 6.0, 8.9])
    both = parallel_flow([large, small], heads)
    assert both == pytest.approx(flow_at_head(large, heads) + flow_at_head(small, heads))
    # Above its shut-off head the small pump stands behind its non-return valve.
    assert parallel_flow([large, small], 10.0) == flow_at_head(large, 10.0)
    assert series_head([large, small], 0.015) == pytest.approx(curve_value(large, 0.015)[0] + 6.0)


def test_end_of_the_curve() -> None:
    curve = curve_by_points(*FALLING)
    assert run_out(curve) == (0.06, 4.0)
    # Beyond it the straight line goes on falling.
    assert flow_at_head(curve, 2.0) == pytest.approx(0.06 + 2.0 / (4.5 / 0.02))


def test_curve_without_a_point_at_shut_off_runs_on_straight() -> None:
    curve = curve_by_points([0.01, 0.02], [9.0, 7.0])
    assert shut_off_head(curve) == pytest.approx(11.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: at_speed(curve_by_points(*FALLING), 0.0),
        lambda: at_speed(curve_by_points(*FALLING), 2.5),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
