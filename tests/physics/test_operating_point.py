"""Operating points of textbooks, and of pumps side by side and in a row."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq

from loopplan.physics.curve_fit import Curve, curve_by_points, curve_by_polynomial, curve_value
from loopplan.physics.friction import given_factor_friction
from loopplan.physics.operating_point import in_parallel, in_series
from loopplan.physics.pump_curves import at_speed, flow_at_head, stop_speed
from loopplan.physics.pump_efficiency import hydraulic_power
from loopplan.physics.pump_setting import velocity_head
from tests.validation_page import Published

READ = "read in an open notebook of its worked examples"
BRASCH = "Brasch & Whyman, Problems in Fluid Flow"
LITRES = [1e-3 * q for q in (0, 10, 20, 30, 40, 50)]
PUMP_A = curve_by_points(LITRES, [20.63, 19.99, 17.80, 14.46, 10.33, 5.71])
PUMP_B = curve_by_points(LITRES, [18.0, 17.0, 14.95, 11.9, 8.1, 3.9])


def smooth_line(static: float, length: float, bore: float) -> Callable[[np.ndarray], np.ndarray]:
    """Return the system of the examples of Brasch and Whyman: shear 0.0396 rho v^2 Re^-1/4."""

    def system(flow: np.ndarray) -> np.ndarray:
        q = np.maximum(np.asarray(flow, dtype=float), 1e-12)
        reynolds = 4.0 * q / (math.pi * bore) * 999.0 / 1.109e-3
        factor = 8.0 * 0.0396 * reynolds**-0.25
        friction, _ = given_factor_friction(q, length, bore, factor)
        return np.asarray(static + friction + velocity_head(q, bore))

    return system


def test_u1_curve_by_points(published: Published) -> None:
    source = "Coulson & Richardson, Chemical Engineering vol. 1, Ex. 8.8 p. 370"
    flow = [2.8e-3, 3.9e-3, 5.0e-3, 5.6e-3, 5.9e-3]
    curve = curve_by_points(flow, [23.2, 21.3, 18.9, 15.2, 11.0])
    point = in_series([curve], lambda q: 10.0 + 2.205e5 * q**2)
    power = hydraulic_power(point.flow, point.head, 1000.0) / 0.5
    # The book reads its graph; straight lines between the points give 16.43 m.
    published("U1", source, "flow", 0.0054, point.flow, "1 %", "m3/s", READ)
    published("U1", source, "head", 16.43, point.head, "1 %", "m", READ)
    published("U1", source, "power", 1.74, power / 1e3, "1.5 %", "kW", READ)


def test_u2_one_two_side_by_side_two_in_a_row(published: Published) -> None:
    source = "White, Fluid Mechanics, Ex. 11.6-11.8"
    curve = curve_by_polynomial([490.0, 0.0, -0.26], 0.0, 40.0)  # ft, 1000 gal/min

    def system(flow: np.ndarray) -> np.ndarray:
        return np.asarray(120.0 + 0.335 * flow**2)

    one, pair = in_series([curve], system), in_parallel([curve] * 2, system)
    row = in_series([curve] * 2, system)
    tail = ("gal/min", "from memory")
    published("U2", source, "flow of one", 24900, 1e3 * one.flow, 50, *tail)
    published("U2", source, "head of one", 328, one.head, 1.0, "ft", "from memory")
    published("U2", source, "flow of two side by side", 30400, 1e3 * pair.flow, 50, *tail)
    published("U2", source, "flow of two in a row", 31700, 1e3 * row.flow, 50, *tail)
    # Two pumps never give twice the flow of one on a rising system.
    assert pair.flow < 2.0 * one.flow


def test_u4_pump_on_a_thin_pipe(published: Published) -> None:
    source = "Schaschke, Fluid Mechanics: Worked Examples for Engineers, Ex. 9.10 p. 255"
    curve = curve_by_points([2e-3 * i for i in range(6)], [40.0, 39.5, 38.0, 35.0, 30.0, 20.0])

    def system(flow: np.ndarray) -> np.ndarray:
        friction, _ = given_factor_friction(flow, 100.0, 0.05, 4 * 0.005)
        return np.asarray(10.0 + friction + velocity_head(flow, 0.05))

    # The book's heads come from velocities of two decimals.
    for flow, head in ((2, 12.2), (4, 18.7), (6, 29.5), (8, 44.7), (10, 64.2)):
        quantity = f"system head at {flow} L/s"
        published("U4", source, quantity, head, system(np.array(flow / 1e3)), 0.06, "m", READ)
    point = in_series([curve], system)
    published("U4", source, "flow", 6.6, 1e3 * point.flow, 0.05, "L/s", READ)
    published("U4", source, "head", 33.8, point.head, "1 %", "m", READ)


def test_u5_system_and_pump_a(published: Published) -> None:
    source = f"{BRASCH}, Ex. 6.4 p. 123"
    system = smooth_line(10.4, 98.0, 0.14)
    heads = (10.4, 10.70, 11.43, 12.52, 13.93, 15.65, 17.66, 19.95)
    for flow, head in zip(range(0, 80, 10), heads, strict=True):
        quantity = f"system head at {flow} L/s"
        published("U5", source, quantity, head, system(np.array(flow / 1e3)), 0.01, "m", READ)
    point = in_series([PUMP_A], system)
    published("U5", source, "flow of pump A", 33.4, 1e3 * point.flow, "1 %", "L/s", READ)


def test_u6_pump_a_on_another_line(published: Published) -> None:
    source = f"{BRASCH}, Ex. 6.3 p. 120"
    point = in_series([PUMP_A], smooth_line(8.75, 60.0, 0.114))
    power = hydraulic_power(point.flow, point.head, 999.0) / 0.599
    published("U6", source, "flow", 33.6, 1e3 * point.flow, "1 %", "L/s", READ)
    published("U6", source, "head", 13.10, point.head, "1 %", "m", READ)
    published("U6", source, "power", 7.20, power / 1e3, "0.5 %", "kW", READ)


@pytest.mark.parametrize("unlike", [PUMP_A, PUMP_B])
def test_pairs_against_a_scalar_bracketing(unlike: Curve) -> None:
    system = smooth_line(10.4, 98.0, 0.14)
    pair, row = in_parallel([PUMP_A, unlike], system), in_series([PUMP_A, unlike], system)

    def one(curve: Curve, head: float) -> float:
        return float(brentq(lambda q: float(curve_value(curve, q)[0]) - head, 0.0, 0.1, xtol=1e-15))

    def miss(head: float) -> float:
        return head - float(system(np.array(one(PUMP_A, head) + one(unlike, head))))

    head = brentq(miss, 10.5, 17.5, xtol=1e-13)
    assert pair.head == pytest.approx(head, rel=1e-9)
    assert pair.each == pytest.approx((one(PUMP_A, head), one(unlike, head)), rel=1e-9)
    flow = brentq(
        lambda q: (
            float(curve_value(PUMP_A, q)[0] + curve_value(unlike, q)[0])
            - float(system(np.array(q)))
        ),
        0.0,
        0.1,
        xtol=1e-15,
    )
    assert row.flow == pytest.approx(flow, rel=1e-9)


def test_slower_pump_on_a_static_head_loses_more_than_its_speed() -> None:
    system = smooth_line(10.4, 98.0, 0.14)
    full, slow = (in_series([at_speed(PUMP_A, r)], system) for r in (1.0, 0.8))
    assert slow.flow < 0.8 * full.flow
    stop = float(stop_speed(PUMP_A, 10.4))
    assert in_series([at_speed(PUMP_A, 0.999 * stop)], system).flow == 0.0
    assert in_series([at_speed(PUMP_A, 1.001 * stop)], system).flow > 0.0
    # Without static head the flow goes with the speed (closed form).
    bare = [in_series([at_speed(PUMP_A, r)], lambda q: 1e4 * q**2) for r in (1.0, 0.8)]
    assert bare[1].flow == pytest.approx(0.8 * bare[0].flow, rel=1e-9)


def test_run_out_is_told_also_with_one_of_two_stopped() -> None:
    def system(flow: np.ndarray) -> np.ndarray:
        return np.asarray(3.0 + 800.0 * flow**2)

    pair = in_parallel([PUMP_A, PUMP_A], system)
    alone = in_parallel([PUMP_A], system)
    assert not in_series([PUMP_A], smooth_line(10.4, 98.0, 0.14)).beyond_run_out
    assert alone.beyond_run_out
    assert alone.each[0] > pair.each[0]


def test_pump_that_cannot_reach_the_static_head_stands() -> None:
    high = in_series([PUMP_A], lambda q: 25.0 + 0.0 * q)
    assert high.flow == 0.0
    pair = in_parallel([PUMP_A, PUMP_B], lambda q: 18.5 + 0.0 * q)
    assert pair.each == pytest.approx((float(flow_at_head(PUMP_A, 18.5)), 0.0))
