"""Curves through points and by polynomial."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from loopplan.physics.curve_fit import (
    Curve,
    curve_by_points,
    curve_by_polynomial,
    curve_value,
    rising_ranges,
    scaled_curve,
)

X = [0.0, 0.01, 0.03, 0.04, 0.07]
Y = [12.0, 11.5, 9.0, 8.8, 2.0]


def test_inner_slopes_are_those_of_the_method() -> None:
    # Oracle: scipy's monotone cubic has the same slopes between the ends.
    fitted = PchipInterpolator(X, Y).derivative()(X)
    assert curve_by_points(X, Y).slope[1:-1] == pytest.approx(fitted[1:-1], rel=1e-12)


def test_curve_meets_its_points_and_slope_is_its_derivative() -> None:
    curve = curve_by_points(X, Y)
    assert curve_value(curve, np.array(X))[0] == pytest.approx(Y, rel=1e-14)
    at = np.array([-0.02, 0.004, 0.02, 0.036, 0.05, 0.09])
    step = 1e-7
    central = (curve_value(curve, at + step)[0] - curve_value(curve, at - step)[0]) / (2.0 * step)
    assert curve_value(curve, at)[1] == pytest.approx(central, rel=1e-6)


@given(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=7))
def test_monotone_points_give_a_monotone_curve(steps: list[float]) -> None:
    y = 10.0 - np.cumsum(steps)
    curve = curve_by_points(list(range(len(steps))), list(y))
    read = curve_value(curve, np.linspace(-0.5, len(steps) - 0.5, 400))[0]
    assert (np.diff(read) <= 1e-12).all()
    assert rising_ranges(curve) == []


@pytest.mark.parametrize("coefficients", [[3.0], [3.0, -2.0], [3.0, 0.0, -5.0, 1.5]])
def test_polynomial_of_low_degree_is_exact(coefficients: list[float]) -> None:
    # Closed form: a cubic of Hermite is the cubic.
    curve = curve_by_polynomial(coefficients, 0.0, 0.9)
    at = np.linspace(0.0, 0.9, 101)
    assert curve_value(curve, at)[0] == pytest.approx(np.polyval(coefficients[::-1], at), abs=1e-13)


def test_polynomial_of_sixth_degree_is_close() -> None:
    coefficients = [3.0, 0.0, -5.0, 1.5, -2.0, 0.4, -0.7]
    curve = curve_by_polynomial(coefficients, 0.0, 1.0)
    at = np.linspace(0.0, 1.0, 1001)
    right = np.polyval(coefficients[::-1], at)
    assert np.abs(curve_value(curve, at)[0] - right).max() < 1e-6 * np.ptp(right)


def test_rising_part_is_found_where_the_slope_turns() -> None:
    # Closed form: 2x^3 - 9x^2 + 12x falls between its turns at 1 and 2.
    curve = curve_by_polynomial([0.0, 12.0, -9.0, 2.0], 0.0, 3.0)
    assert rising_ranges(curve) == [
        (0.0, pytest.approx(1.0, abs=1e-9)),
        (pytest.approx(2.0, abs=1e-9), 3.0),
    ]


def test_rising_points_are_one_range() -> None:
    curve = curve_by_points([0.0, 1.0, 2.0, 3.0, 4.0], [5.0, 3.0, 3.5, 4.0, 1.0])
    assert rising_ranges(curve) == [(1.0, 3.0)]


def test_branches_and_variants_are_read_at_once() -> None:
    one, other = curve_by_points(X, Y), curve_by_points(X, [2.0 * y for y in Y])
    pairs = zip(parts(one), parts(other), strict=True)
    both = Curve(*(np.stack(pair, axis=-1)[..., None] for pair in pairs))
    at = np.array([0.005, 0.02, 0.09])
    y, slope = curve_value(both, at)
    assert y.shape == (2, 3)
    for row, curve in enumerate((one, other)):
        assert y[row] == pytest.approx(curve_value(curve, at)[0], rel=1e-15)
        assert slope[row] == pytest.approx(curve_value(curve, at)[1], rel=1e-15)


def parts(curve: Curve) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return curve.x, curve.y, curve.slope


def test_stretched_curve_keeps_its_shape() -> None:
    curve = curve_by_points(X, Y)
    wide = scaled_curve(curve, 3.0, 0.5)
    y, slope = curve_value(curve, 0.02)
    assert curve_value(wide, 0.06) == pytest.approx((0.5 * y, slope / 6.0), rel=1e-14)


@pytest.mark.parametrize(
    "call",
    [
        lambda: curve_by_points([0.0], [1.0]),
        lambda: curve_by_points([0.0, 1.0], [1.0]),
        lambda: curve_by_points([0.0, 0.0], [1.0, 2.0]),
        lambda: curve_by_points([0.0, float("nan")], [1.0, 2.0]),
        lambda: curve_by_polynomial([], 0.0, 1.0),
        lambda: curve_by_polynomial([1.0, float("inf")], 0.0, 1.0),
        lambda: curve_by_polynomial([1.0], 1.0, 1.0),
    ],
)
def test_bad_curves_are_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
