"""Racks, screens and retaining plates that stand in a flow with a free surface."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import VELOCITY_FLOOR, Array, Law, Params, Residual
from loopplan.physics.constants import GRAVITY

_LEAST_DEPTH = 0.02


class StrainerLaw(Law):
    """Ha - Hb = K v^2/2g on the approach velocity v = Q / (width x depth).

    The depth is that of the upstream side above `floor`, so that a rising level eases the
    loss; at most `height` [m] of it counts (a plate with a closed part above it).
    """

    name = "strainer"
    smooth = False
    fields = ("k", "width", "floor", "height")

    def _loss(self, p: Params, q: Array, ha: Array, hb: Array) -> tuple[Array, Array, Array]:
        depth = np.maximum(ha, hb) - p["floor"]
        wet = np.clip(depth, _LEAST_DEPTH, p["height"])
        moves = (depth > _LEAST_DEPTH) & (depth < p["height"])
        area = p["width"] * wet
        per = p["k"] / (2.0 * GRAVITY * area**2)
        head = per * q * np.abs(q)
        slope = 2.0 * per * np.maximum(np.abs(q), VELOCITY_FLOOR * area)
        return head, slope, np.where(moves, -2.0 * head / wet, 0.0)

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        head, slope, d_depth = self._loss(p, q, ha, hb)
        up = ha >= hb
        d_up = 1.0 - np.where(up, d_depth, 0.0)
        d_down = -1.0 - np.where(up, 0.0, d_depth)
        return ha - hb - head, -slope, d_up, d_down

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        ground = np.broadcast_to(p["floor"] + 0.3, q.shape)
        head, _, _ = self._loss(p, q, ground, ground)
        return ground - 0.25, head
