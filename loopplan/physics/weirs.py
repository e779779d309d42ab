"""Weirs and sills, in one form that the solver can run over arrays.

Free flow is Q = (c0 + c1 h)(h + kh)^n with h the upstream head above the crest; the geometry sits
in the coefficients (`loopplan.physics.weir_forms`). Two departures keep the law smooth:

- The head correction kh fades out on a cubic below 10 mm of head, so that the flow starts from
  zero at the crest. Every formula's range begins well above that.
- Villemonte's drowning factor falls with an infinite slope at equal levels. From 0.95 of
  submergence (outside his range) it is a straight line in h2/h1 to zero at 1.

`weir_flow` and `weir_head` run inside the solver and do not check their arguments.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.weir_forms import WEIR_FORMS, WeirCoefficients, weir_coefficients

__all__ = [
    "FADE_HEAD",
    "STRAIGHT_FROM",
    "WEIR_FORMS",
    "WeirCoefficients",
    "drowning_factor",
    "weir_coefficients",
    "weir_flow",
    "weir_head",
]

STRAIGHT_FROM = 0.95
"""Tail head over upstream head [-] from which the drowning factor is a straight line."""

FADE_HEAD = 0.010
"""Head [m] below which the head correction kh fades out."""


def _free(head: Array, c0: Numbers, c1: Numbers, kh: Numbers, n: Numbers) -> tuple[Array, Array]:
    """Return the free flow and its slope, for heads of zero and up."""
    t = np.minimum(head / FADE_HEAD, 1.0)
    effective = head + kh * (t * t * (3.0 - 2.0 * t))
    rise = 1.0 + kh * (6.0 * t * (1.0 - t) / FADE_HEAD)
    width = c0 + c1 * head
    # n is 1.5 and up, so that the power below is 0 at the crest, never infinite.
    power = effective ** (n - 1.0)
    return width * power * effective, c1 * power * effective + width * n * power * rise


def _shape(ratio: Array, limit: Numbers, m: Numbers) -> tuple[Array, Array]:
    """Return Villemonte's factor and its slope with h2/h1."""
    s = np.maximum((ratio - limit) / (1.0 - limit), 0.0)
    power = s**m
    left = 1.0 - power
    factor = left**0.385
    slope = -0.385 * factor / left * m * power / np.where(s > 0.0, s, 1.0) / (1.0 - limit)
    return factor, slope


def drowning_factor(
    submergence: Numbers, modular_limit: Numbers, drown_exponent: Numbers
) -> tuple[Array, Array]:
    """Drowned flow over free flow at the same upstream head, and its slope.

    No checks. With s = (submergence - limit)/(1 - limit) it is (1 - s^m)^0.385, which for a limit
    of 0 is Villemonte's formula; from 0.95 a straight line to 0 at 1.

    Args:
        submergence: tail head over upstream head, both above the crest [-]; below 0 counts as 0.
        modular_limit: submergence up to which the flow is free [-], 0 to 0.9.
        drown_exponent: exponent m [-], that of the free flow (1.5 level crest, 2.5 V-notch).

    Returns:
        Factor [-], 1 down to 0, and its slope with submergence [-].

    Source: `villemonte-1947`; with a modular limit above 0, common practice, no source.
    """
    ratio = np.asarray(submergence, dtype=np.float64)
    curved, slope = _shape(np.minimum(ratio, STRAIGHT_FROM), modular_limit, drown_exponent)
    steep = -curved / (1.0 - STRAIGHT_FROM)
    straight = ratio > STRAIGHT_FROM
    factor = np.where(straight, np.maximum(-steep * (1.0 - ratio), 0.0), curved)
    return np.asarray(factor)[()], np.asarray(np.where(straight, steep, slope))[()]


def weir_flow(
    head_up: Numbers,
    head_down: Numbers,
    c0: Numbers,
    c1: Numbers,
    kh: Numbers,
    exponent: Numbers,
    modular_limit: Numbers,
    drown_exponent: Numbers,
) -> tuple[Array, Array, Array]:
    """Flow over a weir, free or drowned, and its slopes with both heads.

    No checks. Zero where both heads are at or below the crest; runs backward, by the same law,
    where the tail stands higher. Continuous throughout; the slopes break at 0.95 of submergence.

    Args:
        head_up: level on the upstream side above the crest [m], any sign.
        head_down: level on the downstream side above the crest [m], any sign.
        c0: flow coefficient with its width [m^(3-n)/s].
        c1: growth of it with head [m^(2-n)/s].
        kh: head correction [m], 0 and up.
        exponent: exponent n of the head [-], 1.5 and up.
        modular_limit: submergence up to which the flow is free [-].
        drown_exponent: exponent of the drowning factor [-].

    Returns:
        Flow [m3/s], d flow / d head_up [m2/s], d flow / d head_down [m2/s].

    Source: `loopplan.physics.weir_forms` for the free flow, `villemonte-1947` for the drowned.
    """
    up = np.asarray(head_up, dtype=np.float64)
    down = np.asarray(head_down, dtype=np.float64)
    forward = up >= down
    high = np.maximum(np.maximum(up, down), 0.0)
    low = np.maximum(np.minimum(up, down), 0.0)
    safe = np.where(high > 0.0, high, 1.0)
    ratio = low / safe
    free, free_slope = _free(high, c0, c1, kh, exponent)
    factor, factor_slope = drowning_factor(ratio, modular_limit, drown_exponent)
    flow = free * factor
    by_low = np.where(low > 0.0, free * factor_slope / safe, 0.0)
    by_high = free_slope * factor - by_low * ratio
    return (
        np.asarray(np.where(forward, flow, -flow))[()],
        np.asarray(np.where(forward, by_high, -by_low))[()],
        np.asarray(np.where(forward, by_low, -by_high))[()],
    )


def weir_head(flow: Numbers, c0: Numbers, c1: Numbers, kh: Numbers, exponent: Numbers) -> Array:
    """Upstream head at which a free weir passes a flow; inverse of `weir_flow`.

    No checks. Closes the flow to 1e-12 of itself (at least 1e-15 m3/s).

    Args:
        flow: flow [m3/s], 0 and up.
        c0: flow coefficient with its width [m^(3-n)/s], above 0.
        c1: growth of it with head [m^(2-n)/s]; where it is negative the flow must lie below the
            greatest that the form can show.
        kh: head correction [m].
        exponent: exponent n of the head [-].

    Returns:
        Head above the crest [m].

    Source: closed form, Newton's method on the law of `weir_flow`.
    """
    q = np.asarray(flow, dtype=np.float64)
    head = np.asarray((np.maximum(q, 0.0) / c0) ** (1.0 / np.asarray(exponent)))
    for _ in range(60):
        now, slope = _free(head, c0, c1, kh, exponent)
        gap = now - q
        if (np.abs(gap) <= 1e-12 * np.abs(q) + 1e-15).all():
            break
        step = gap / np.where(slope > 0.0, slope, np.inf)
        head = np.minimum(np.maximum(head - step, 0.1 * head), 4.0 * head)
    return head[()]
