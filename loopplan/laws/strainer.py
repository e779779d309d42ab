"""Racks, screens and retaining plates that stand in a flow with a free surface."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import NEAR_HEAD, VELOCITY_FLOOR, Array, Law, Params, Residual
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

    def _loss(self, p: Params, q: Array, level: Array) -> tuple[Array, Array, Array]:
        """Loss with the sign of the flow, its slope with flow, and with the approach level."""
        depth = level - p["floor"]
        wet = np.clip(depth, _LEAST_DEPTH, p["height"])
        moves = (depth > _LEAST_DEPTH) & (depth < p["height"])
        area = p["width"] * wet
        per = p["k"] / (2.0 * GRAVITY * area**2)
        head = per * q * np.abs(q)
        slope = 2.0 * per * np.maximum(np.abs(q), VELOCITY_FLOOR * area)
        return head, slope, np.where(moves, -2.0 * head / wet, 0.0)

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        onward = q >= 0.0
        head, slope, by_level = self._loss(p, q, np.where(onward, ha, hb))
        by_up, by_down = np.where(onward, by_level, 0.0), np.where(onward, 0.0, by_level)
        return ha - hb - head, -slope, 1.0 - by_up, -1.0 - by_down

    def tangent(self, p: Params, q: Array, ha: Array, hb: Array, at: Residual) -> Residual:
        """See :meth:`Law.tangent`; nearly dry, at the depth from which on the loss eases slowly."""
        onward = q >= 0.0
        level = np.where(onward, ha, hb)
        calm = p["floor"] + np.cbrt(p["k"] / GRAVITY * (q / p["width"]) ** 2)
        lost = np.abs(ha - hb - at[0])
        lags = (level < calm) & (lost > 2.0 * np.maximum(np.abs(ha - hb), NEAR_HEAD))
        if not lags.any():
            return at
        up, down = np.where(onward, calm, ha), np.where(onward, hb, calm)
        g, by_flow, by_up, by_down = self.residual(p, q, up, down)
        # Whatever the line says, the level has to come up to there at least.
        short = np.where(onward, np.minimum(g, 0.0), np.maximum(g, 0.0))
        value = short + by_up * (ha - up) + by_down * (hb - down)
        pairs = zip((value, by_flow, by_up, by_down), at, strict=True)
        value, by_flow, by_up, by_down = (np.where(lags, new, old) for new, old in pairs)
        return value, by_flow, by_up, by_down

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        ground = np.broadcast_to(p["floor"] + 0.3, q.shape)
        head, _, _ = self._loss(p, q, ground)
        return ground - 0.25, head
