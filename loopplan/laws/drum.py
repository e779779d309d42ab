"""Drum filters: a screen that is washed when its differential reaches a trigger."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import Array, Law, Params, Residual

_TRACE = 0.05
"""Share of the mean slope [-] that the Jacobian keeps where washing holds the differential."""


class DrumLaw(Law):
    """Ha - Hb = sign(Q) max(cn |Q|^n, min(trigger, trigger |Q| / small)).

    A loaded screen stands at its `trigger` [m] whatever the flow, because washing holds it there;
    once the clean screen alone loses more, washing no longer helps and the clean loss counts.
    Below the flow `small` [m3/s] there is not enough water to build the trigger up. A clean drum
    has a trigger of zero.
    """

    name = "drum"
    smooth = False
    fields = ("cn", "n", "trigger", "small")

    def _loss(self, p: Params, q: Array) -> tuple[Array, Array]:
        size = np.abs(q)
        held = np.maximum(size, p["small"])
        clean = p["cn"] * size ** p["n"]
        loaded = p["trigger"] * np.minimum(size / p["small"], 1.0)
        rises = np.where(size < p["small"], 1.0, _TRACE) * p["trigger"] / held
        head = np.maximum(clean, loaded)
        slope = np.where(clean >= loaded, p["cn"] * p["n"] * held ** (p["n"] - 1.0), rises)
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

    def ease(self, p: Params, like: Array) -> Array:
        """See :meth:`Law.ease`: by the clean loss, since the trigger says nothing of the flow."""
        clean = np.maximum(p["cn"], 1e-9)
        return np.broadcast_to((0.1 / clean) ** (1.0 / p["n"]), like.shape)
