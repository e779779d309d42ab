"""A flow that is a number: given-flow lifts, make-up, stated discharge."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import Array, Law, Params, Residual


class GivenLaw(Law):
    """Q = the stated flow [m3/s] of one unit, whatever the heads."""

    name = "given"
    fields = ("flow",)
    unit = "m3/s"
    tie = "given"

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m3/s]."""
        zero = np.zeros_like(q)
        return p["flow"] - q, -np.ones_like(q), zero, zero

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        return np.full_like(q, -np.inf), np.zeros_like(q)

    def ease(self, p: Params, like: Array) -> Array:
        """See :meth:`Law.ease`; nothing eases a stated flow."""
        return np.ones_like(like)
