"""Openings, slots and gates between two levels."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import EASE_HEAD, Array, FlowLaw, Params
from loopplan.physics.constants import GRAVITY
from loopplan.physics.openings import opening_flow


class OpeningLaw(FlowLaw):
    """Flow through a rectangular opening: free above the tailwater, drowned below it."""

    name = "opening"
    fields = ("invert", "soffit", "width", "cd")

    def flow(self, p: Params, ha: Array, hb: Array) -> tuple[Array, Array, Array]:
        """See :meth:`FlowLaw.flow`."""
        return opening_flow(ha, hb, p["invert"], p["soffit"], p["width"], p["cd"])

    def sill(self, p: Params) -> Array:
        """See :meth:`Law.sill`."""
        return p["invert"]

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        height = p["soffit"] - p["invert"]
        speed = np.abs(q) / (p["cd"] * p["width"] * height)
        loss = speed**2 / (2.0 * GRAVITY)
        edge = (1.5 * np.abs(q) / (p["cd"] * p["width"] * np.sqrt(2.0 * GRAVITY))) ** (2.0 / 3.0)
        full = height / 2.0 + loss
        return p["invert"] + np.where(edge < height, edge, full), loss

    def ease(self, p: Params, like: Array) -> Array:
        """See :meth:`Law.ease`."""
        area = p["width"] * (p["soffit"] - p["invert"])
        return np.broadcast_to(p["cd"] * area * np.sqrt(2.0 * GRAVITY * EASE_HEAD), like.shape)
