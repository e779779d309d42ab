"""Weirs and overflow sills, free and drowned."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import EASE_HEAD, Array, FlowLaw, Params
from loopplan.physics.weirs import weir_flow, weir_head


class WeirLaw(FlowLaw):
    """Q = (c0 + c1 h)(h + kh)^n, times the drowning factor of the tailwater."""

    name = "weir"
    fields = ("crest", "c0", "c1", "kh", "exponent", "modular_limit", "drown_exponent")
    tie = "cut"

    def flow(self, p: Params, ha: Array, hb: Array) -> tuple[Array, Array, Array]:
        """See :meth:`FlowLaw.flow`."""
        return weir_flow(
            ha - p["crest"],
            hb - p["crest"],
            p["c0"],
            p["c1"],
            p["kh"],
            p["exponent"],
            p["modular_limit"],
            p["drown_exponent"],
        )

    def sill(self, p: Params) -> Array:
        """See :meth:`Law.sill`."""
        return p["crest"]

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        head = weir_head(np.maximum(q, 0.0), p["c0"], p["c1"], p["kh"], p["exponent"])
        return p["crest"] + head, np.maximum(0.1 * head, 1e-4)

    def ease(self, p: Params, like: Array) -> Array:
        """See :meth:`Law.ease`."""
        head = EASE_HEAD + p["kh"]
        return np.broadcast_to((p["c0"] + p["c1"] * EASE_HEAD) * head ** p["exponent"], like.shape)
