"""Head against flow by points: a lift's curve, or a measured loss."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import Array, Law, Params, Residual
from loopplan.physics.curve_fit import Curve, curve_value


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
        head, slope = curve_value(Curve(p["flows"], p["heads"], p["slopes"]), q / n)
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
