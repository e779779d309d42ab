"""Curves through points: cubic pieces that never overshoot, and straight lines beyond the ends.

A curve is three arrays, knots on the first axis. Further axes are branches and variants, and
broadcast with the place where the curve is read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loopplan.physics._check import Array, Numbers

POLYNOMIAL_KNOTS = 65
"""Knots of a polynomial: exact up to the third degree, and within 1e-6 of its span to the sixth."""


@dataclass(frozen=True)
class Curve:
    """A curve y(x) of cubic pieces; each array has the knots on its first axis.

    Attributes:
        x: places of the knots, rising [unit of x].
        y: values there [unit of y].
        slope: slopes there [unit of y per unit of x].
    """

    x: Array
    y: Array
    slope: Array


def monotone_slopes(x: Sequence[float], y: Sequence[float]) -> list[float]:
    """Slopes at the points of a cubic through them that never overshoots the points.

    The weighted harmonic mean of the two secants, zero where they change sign; at the ends the
    secant.

    Args:
        x: places of the points, rising, at least two [any unit].
        y: values [any unit].

    Returns:
        Slopes [unit of y per unit of x].

    Source: `fritsch-butland-1984`.
    """
    steps = [b - a for a, b in pairwise(x)]
    secants = [(b - a) / h for (a, b), h in zip(pairwise(y), steps, strict=True)]
    slopes = [secants[0]]
    for (left, right), (h_left, h_right) in zip(pairwise(secants), pairwise(steps), strict=True):
        if left * right <= 0.0:
            slopes.append(0.0)
            continue
        w1, w2 = 2.0 * h_right + h_left, h_right + 2.0 * h_left
        slopes.append((w1 + w2) / (w1 / left + w2 / right))
    slopes.append(secants[-1])
    return slopes


def curve_by_points(x: Sequence[float], y: Sequence[float]) -> Curve:
    """Curve through points, monotone between each two of them.

    Args:
        x: places of the points, rising [any unit].
        y: values [any unit].

    Returns:
        The curve.

    Raises:
        ValueError: fewer than two points, not as many x as y, x that does not rise, or a value
            that is no number.

    Source: `fritsch-butland-1984`.
    """
    if len(x) != len(y) or len(x) < 2:
        raise ValueError(f"curve of {len(x)} by {len(y)} values; allowed: two points or more")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise ValueError("curve with a value that is no number; allowed: finite values")
    for left, right in pairwise(x):
        if not right > left:
            raise ValueError(f"curve goes from {left:g} to {right:g}; allowed: rising values")
    slopes = monotone_slopes(x, y)
    return Curve(np.array(x, dtype=float), np.array(y, dtype=float), np.array(slopes))


def curve_by_polynomial(coefficients: Sequence[float], low: float, high: float) -> Curve:
    """Curve of a polynomial over a range.

    Args:
        coefficients: c0, c1, c2... of c0 + c1 x + c2 x^2 + ... [unit of y per power of x].
        low: start of the range [unit of x].
        high: end of the range [unit of x], above `low`.

    Returns:
        The curve; see `POLYNOMIAL_KNOTS`.

    Raises:
        ValueError: no coefficient, one that is no number, or an empty range.

    Source: `stated-curve`.
    """
    if not len(coefficients) or not np.isfinite(coefficients).all():
        raise ValueError("polynomial; allowed: at least one coefficient, all finite")
    if not (np.isfinite(low) and np.isfinite(high) and high > low):
        raise ValueError(f"range from {low:g} to {high:g}; allowed: an end above the start")
    x = np.linspace(low, high, POLYNOMIAL_KNOTS)
    polynomial = np.polynomial.Polynomial(list(coefficients))
    return Curve(x, polynomial(x), np.asarray(polynomial.deriv()(x), dtype=float))


def curve_value(curve: Curve, x: Numbers) -> tuple[Array, Array]:
    """Read a curve; beyond its ends it runs on straight, with the slope of its end.

    No checks.

    Args:
        curve: the curve.
        x: where to read it [unit of its x].

    Returns:
        Value [unit of its y], and slope [unit of y per unit of x].

    Source: cubic of Hermite.
    """
    at = np.asarray(x, dtype=np.float64)
    xs, ys, ms = curve.x, curve.y, curve.slope
    if xs.shape[1:] != at.shape:
        tail = np.broadcast_shapes(xs.shape[1:], at.shape)
        at = np.broadcast_to(at, tail)
        spread = (xs.shape[0],) + (1,) * (len(tail) - xs.ndim + 1) + xs.shape[1:]
        whole = (xs.shape[0], *tail)
        xs, ys, ms = (np.broadcast_to(part.reshape(spread), whole) for part in (xs, ys, ms))
    k: NDArray[np.intp] = (at >= xs[1:-1]).sum(axis=0)
    rest = np.indices(at.shape, sparse=True)
    left, right = (k, *rest), (k + 1, *rest)
    x0, x1 = xs[left], xs[right]
    y0, y1 = ys[left], ys[right]
    m0, m1 = ms[left], ms[right]
    d = x1 - x0
    t = np.clip((at - x0) / d, 0.0, 1.0)
    c2 = 3.0 * (y1 - y0) - d * (2.0 * m0 + m1)
    c3 = d * (m0 + m1) - 2.0 * (y1 - y0)
    y = y0 + t * (d * m0 + t * (c2 + t * c3))
    slope = m0 + t * (2.0 * c2 + 3.0 * t * c3) / d
    over = np.maximum(at - x1, 0.0) + np.minimum(at - x0, 0.0)
    return np.asarray(y + over * slope)[()], np.asarray(slope)[()]


def scaled_curve(curve: Curve, by_x: float, by_y: float) -> Curve:
    """Stretch a curve.

    Args:
        curve: the curve.
        by_x: factor on x [-], above 0.
        by_y: factor on y [-].

    Returns:
        The stretched curve.

    Source: closed form.
    """
    return Curve(curve.x * by_x, curve.y * by_y, curve.slope * (by_y / by_x))


def rising_ranges(curve: Curve) -> list[tuple[float, float]]:
    """Where a single curve (no branches) rises.

    Args:
        curve: the curve.

    Returns:
        Starts and ends of the ranges in which y rises with x, from left to right [unit of x].

    Source: closed form (roots of the slope, piece by piece).
    """
    places = [float(curve.x[0])]
    knots = zip(curve.x.tolist(), curve.y.tolist(), curve.slope.tolist(), strict=True)
    for (x0, y0, m0), (x1, y1, m1) in pairwise(knots):
        d, rise = x1 - x0, y1 - y0
        c1, c_end = d * m0, d * m1
        c2, c3 = 3.0 * rise - 2.0 * c1 - c_end, c1 + c_end - 2.0 * rise
        roots = np.polynomial.Polynomial([c1, 2.0 * c2, 3.0 * c3]).roots().astype(complex).tolist()
        inner = sorted(r.real for r in roots if abs(r.imag) < 1e-12 and 0.0 < r.real < 1.0)
        places += [x0 + t * d for t in inner] + [x1]
    least = 1e-9 * float(np.ptp(curve.y)) / (places[-1] - places[0])
    found: list[tuple[float, float]] = []
    for left, right in pairwise(places):
        if right <= left or curve_value(curve, 0.5 * (left + right))[1] <= least:
            continue
        if found and found[-1][1] == left:
            found[-1] = (found[-1][0], right)
        else:
            found.append((left, right))
    return found
