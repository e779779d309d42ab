"""Head against flow by points: a lift's curve, or a measured loss."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loopplan.laws.base import Array, Law, Params, Residual


def monotone_slopes(flows: list[float], heads: list[float]) -> list[float]:
    """Slopes at the points of a monotone cubic through them [m/(m3/s)].

    Fritsch and Butland 1984: the weighted harmonic mean of the two secants, zero where
    they change sign; one-sided secant at the ends. Never overshoots the points.
    """
    steps = [b - a for a, b in pairwise(flows)]
    secants = [(b - a) / h for a, b, h in zip(heads, heads[1:], steps, strict=False)]
    slopes = [secants[0]]
    for left, right, h_left, h_right in zip(secants, secants[1:], steps, steps[1:], strict=False):
        if left * right <= 0.0:
            slopes.append(0.0)
            continue
        w1, w2 = 2.0 * h_right + h_left, h_right + 2.0 * h_left
        slopes.append((w1 + w2) / (w1 / left + w2 / right))
    slopes.append(secants[-1])
    return slopes


class CurveLaw(Law):
    """Hb - Ha = H(Q), H a monotone cubic through points, straight beyond its ends.

    `flows`, `heads`, `slopes` have the shape (points, branches, variants); short tables
    are padded by repeating the last point, one unit of flow further on, along the last
    slope. `speed` [-] scales a lift's curve by the affinity rules: Q with n, H with n^2.
    """

    name = "curve"
    smooth = False
    fields = ("flows", "heads", "slopes", "speed")

    def _gain(self, p: Params, q: Array) -> tuple[Array, Array]:
        n = np.maximum(p["speed"], 1e-3)
        x = q / n
        flows, heads, slopes = p["flows"], p["heads"], p["slopes"]
        last = flows.shape[0] - 1
        k: NDArray[np.intp] = np.clip((x[None] >= flows[1:]).sum(axis=0), 0, last - 1)
        rows, cols = np.indices(q.shape)
        q0, q1 = flows[k, rows, cols], flows[k + 1, rows, cols]
        h0, h1 = heads[k, rows, cols], heads[k + 1, rows, cols]
        m0, m1 = slopes[k, rows, cols], slopes[k + 1, rows, cols]
        d = q1 - q0
        t = np.clip((x - q0) / d, 0.0, 1.0)
        a = h0 + t * d * m0
        c2 = 3.0 * (h1 - h0) - d * (2.0 * m0 + m1)
        c3 = d * (m0 + m1) - 2.0 * (h1 - h0)
        head = a + t * t * (c2 + t * c3)
        slope = m0 + t * (2.0 * c2 + 3.0 * t * c3) / d
        below, above = x < q0, x > q1
        head = np.where(below, h0 + (x - q0) * m0, np.where(above, h1 + (x - q1) * m1, head))
        slope = np.where(below, m0, np.where(above, m1, slope))
        return n * n * head, n * slope

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        head, slope = self._gain(p, q)
        # A flat piece would leave the flow free: the Jacobian keeps a thousandth of the
        # mean fall of the table.
        flows, heads = p["flows"], p["heads"]
        mean = np.abs(heads[-1] - heads[0]) / (flows[-1] - flows[0])
        one = np.ones_like(q)
        return ha - hb + head, np.minimum(slope, -1e-3 * mean - 1e-9), one, -one

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        head, _ = self._gain(p, q)
        return np.full_like(head, -np.inf), -head
