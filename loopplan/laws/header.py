"""Reach of a manifold's header between two tees: friction, and what the tee costs the run."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from loopplan.laws.base import LEAST_SHARE, VELOCITY_FLOOR, Array, Params, Residual
from loopplan.laws.pipe import PipeLaw
from loopplan.physics.constants import GRAVITY

LossOf = Callable[[Params, Array], tuple[Array, Array]]
"""Loss [m] of a flow [m3/s], and its slope."""


class HeaderLaw(PipeLaw):
    """The pipe law, and the loss of the run past one tee.

    `main` [m3/s] is the flow of the run on the other side of that tee. Where water parts, the
    run loses `parting` (v - u)^2/2g; where it meets, `meeting` (v^2 - u^2)/2g, which is the
    balance of momentum at 1: water from the side brings none along the run.
    """

    name = "header"
    fields = (*PipeLaw.fields, "parting", "meeting", "main")

    def _tee(self, p: Params, q: Array) -> tuple[Array, Array]:
        """Loss of the run past the tee [m], and its slope with the own flow."""
        area = np.pi / 4.0 * p["diameter"] ** 2
        per = 1.0 / (2.0 * GRAVITY * area**2)
        main, apart = p["main"], q - p["main"]
        head = p["parting"] * apart * np.abs(apart)
        head = head + p["meeting"] * (q * np.abs(q) - main * np.abs(main))
        held = np.maximum(np.abs(q), VELOCITY_FLOOR * area)
        slope = 2.0 * per * (p["parting"] * np.abs(apart) + p["meeting"] * held)
        return per * head, slope

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        g, by_flow, by_up, by_down = super().residual(p, q, ha, hb)
        head, slope = self._tee(p, q)
        return g - head, by_flow - slope, by_up, by_down

    def secant(self, p: Params, q: Array, ha: Array, hb: Array, ease: Array) -> Residual:
        """See :meth:`Law.secant`: the line of the run, moved by what the tee costs."""
        return straight_past(q, ha - hb - self._tee(p, q)[0], self._loss, p, ease)


def straight_past(q: Array, head: Array, loss: LossOf, p: Params, ease: Array) -> Residual:
    """Return the secant of a loss of its own flow, driven by a head that other flows move.

    `head` [m] is what is left for the own loss.
    """
    size = np.maximum(np.abs(q), LEAST_SHARE * ease)
    own, _ = loss(p, size)
    slope = size / np.maximum(own, 1e-4 * size / ease)
    return slope * head - q, -np.ones_like(q), slope, -slope
