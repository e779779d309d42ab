"""Roots and maxima of many functions of one unknown at once, by bracketing."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from loopplan.physics._check import Array

Function = Callable[[Array], Array]

_GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0


def bracketed_root(function: Function, low: Array, high: Array) -> Array:
    """Where each of many functions crosses zero.

    Chandrupatla 1997: inverse quadratic steps where they are safe, halving elsewhere. Where the
    ends have one sign, the end that is nearer to zero is returned.

    Args:
        function: takes and returns arrays of one shape.
        low: one end of the search [any unit].
        high: other end [as `low`].

    Returns:
        The roots [as `low`], to some 1e-13 of the span.
    """
    b, a = np.array(low, dtype=np.float64), np.array(high, dtype=np.float64)
    fb, fa = function(b), function(a)
    crosses = np.sign(fa) != np.sign(fb)
    span = np.abs(a - b)
    share = np.full_like(a, 0.5)
    for _ in range(100):
        x = a + share * (b - a)
        fx = function(x)
        same = np.sign(fx) == np.sign(fa)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, fx
        smaller = np.abs(fa) < np.abs(fb)
        best, miss = np.where(smaller, a, b), np.where(smaller, fa, fb)
        least = 2e-16 * np.abs(best) + 1e-14 * span
        width = np.abs(b - a)
        done = (least > 0.5 * width) | (miss == 0.0) | ~crosses
        if done.all():
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            xi = (a - b) / (c - b)
            phi = (fa - fb) / (fc - fb)
            safe = (phi**2 < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
            step = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (
                fc - fb
            )
            edge = least / width
        share = np.where(safe & np.isfinite(step), step, 0.5)
        edge = np.where(np.isfinite(edge), np.minimum(edge, 0.5), 0.5)
        share = np.clip(share, edge, 1.0 - edge)
    ends = np.where(
        np.abs(function(np.asarray(low))) <= np.abs(function(np.asarray(high))), low, high
    )
    return np.where(crosses, best, ends)


def highest(function: Function, low: Array, high: Array, steps: int = 40) -> Array:
    """Where each of many functions is highest between two ends, by the golden section.

    Args:
        function: takes and returns arrays of one shape; one hump between the ends.
        low: lower end [any unit].
        high: upper end [as `low`].
        steps: how often the span is cut by 0.618.

    Returns:
        Place of the maximum [as `low`].
    """
    a, b = np.array(low, dtype=np.float64), np.array(high, dtype=np.float64)
    c, d = b - _GOLDEN * (b - a), a + _GOLDEN * (b - a)
    fc, fd = function(c), function(d)
    for _ in range(steps):
        left = fc >= fd
        a, b = np.where(left, a, c), np.where(left, d, b)
        new = np.where(left, b - _GOLDEN * (b - a), a + _GOLDEN * (b - a))
        fresh = function(new)
        c, fc, d, fd = (
            np.where(left, new, d),
            np.where(left, fresh, fd),
            np.where(left, c, new),
            np.where(left, fc, fresh),
        )
    return np.asarray(0.5 * (a + b))
