"""Reach of a manifold's header between two tees: friction, and what the tee costs the run."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import VELOCITY_FLOOR, Array, Params, Residual
from loopplan.laws.pipe import PipeLaw
from loopplan.physics.constants import GRAVITY


class HeaderLaw(PipeLaw):
    """The pipe law, and the loss of the run past one tee.

    `main` [m3/s] is the flow of the run on the other side of that tee. Where water parts, the
    run loses `parting` (v - u)^2/2g; where it meets, `meeting` (v^2 - u^2)/2g, which is the
    balance of momentum at 1: water from the side brings none along the run.
    """

    name = "header"
    smooth = False  # heads alone do not say what it carries
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

    def by_main(self, p: Params, q: Array, ha: Array, hb: Array) -> Array:
        """See :meth:`Law.by_main`; [m/(m3/s)]."""
        area = np.pi / 4.0 * p["diameter"] ** 2
        lost = p["parting"] * np.abs(q - p["main"]) + p["meeting"] * np.abs(p["main"])
        found: Array = lost / (GRAVITY * area**2)
        return found
