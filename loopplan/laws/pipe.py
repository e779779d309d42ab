"""Full pipe: friction along the run and local losses on the velocity head."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from loopplan.laws.base import EASE_HEAD, VELOCITY_FLOOR, Array, Law, Params, Residual
from loopplan.physics.constants import GRAVITY
from loopplan.physics.friction import pipe_friction


class PipeLaw(Law):
    """Ha - Hb = (f L/D + K) v|v|/2g, f from the blended Colebrook law or as given.

    `factor` > 0 replaces the computed friction factor.
    """

    name = "pipe"
    fields: ClassVar[tuple[str, ...]] = (
        "length",
        "diameter",
        "roughness",
        "viscosity",
        "factor",
        "k",
    )

    def _loss(self, p: Params, q: Array) -> tuple[Array, Array]:
        area = np.pi / 4.0 * p["diameter"] ** 2
        given = p["factor"] > 0.0
        k = p["k"] + np.where(given, p["factor"] * p["length"] / p["diameter"], 0.0)
        size = np.abs(q)
        per = k / (2.0 * GRAVITY * area**2)
        head = per * q * size
        slope = 2.0 * per * np.maximum(size, VELOCITY_FLOOR * area)
        if not given.all():
            friction, friction_slope = pipe_friction(
                q, p["length"], p["diameter"], p["roughness"], p["viscosity"]
            )
            head = head + np.where(given, 0.0, friction)
            slope = slope + np.where(given, 0.0, friction_slope)
        return head, slope

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
        """See :meth:`Law.ease`; loss grows nearly with the square of the flow."""
        flow = np.pi / 4.0 * p["diameter"] ** 2 * np.ones_like(like)
        for _ in range(4):
            flow = flow * np.sqrt(EASE_HEAD / np.maximum(self._loss(p, flow)[0], 1e-12))
        return flow
