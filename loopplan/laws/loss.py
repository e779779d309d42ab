"""Loss that depends on flow alone: beds, stated losses, resistances, exponent laws."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import Array, Law, Params, Residual


class LossLaw(Law):
    """Ha - Hb = sign(Q) min(cap, c1 |Q| + c2 Q^2 + cn |Q|^n).

    `cap` [m] is the loss of a fluidised bed, infinite elsewhere. `small` [m3/s] is the
    flow below which the slope in the Jacobian stays as at `small`.
    """

    name = "loss"
    fields = ("c1", "c2", "cn", "n", "cap", "small")

    def _loss(self, p: Params, q: Array) -> tuple[Array, Array]:
        size = np.abs(q)
        held = np.maximum(size, p["small"])
        power = np.where(p["cn"] > 0.0, p["cn"] * size ** p["n"], 0.0)
        head = p["c1"] * size + p["c2"] * size**2 + power
        slope = (
            p["c1"]
            + 2.0 * p["c2"] * held
            + np.where(p["cn"] > 0.0, p["cn"] * p["n"] * held ** (p["n"] - 1.0), 0.0)
        )
        # A fluidised bed loses its buoyant weight whatever the flow; a trace of slope is
        # kept in the Jacobian so that the flow stays determined.
        over = head >= p["cap"]
        head = np.where(over, p["cap"], head)
        slope = np.where(over, 0.01 * slope, slope)
        return np.sign(q) * head, slope

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        head, slope = self._loss(p, q)
        one = np.ones_like(q)
        return ha - hb - head, -slope, one, -one

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        head, _ = self._loss(p, q)
        return np.full_like(head, -np.inf), head
