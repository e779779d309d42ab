"""Side branch of a full pipe: it meets the static head in the header, before the tee."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import Array, Law, Params, Residual
from loopplan.physics.constants import GRAVITY


class TeeLaw(Law):
    """Ha - Hb = c2 Q|Q| + side v^2/2g.

    v is the velocity in a header of `bore` [m] that `main` [m3/s], the flow that runs to the
    tee, makes there; its head is of no use to the branch. `side` is 1 where water leaves the
    header, at Ha, and -1 where it joins it, at Hb; 0 at the closed end. `small` [m3/s] is the
    flow below which the slope in the Jacobian stays as at `small`.
    """

    name = "tee"
    smooth = False  # heads alone do not say what it carries
    fields = ("bore", "side", "c2", "small", "main")

    def _passing(self, p: Params) -> Array:
        """Velocity head of the main flow [m], with the sign of the side."""
        speed = p["main"] / (np.pi / 4.0 * p["bore"] ** 2)
        found: Array = p["side"] * speed**2 / (2.0 * GRAVITY)
        return found

    def _loss(self, p: Params, q: Array) -> tuple[Array, Array]:
        size = np.abs(q)
        return p["c2"] * q * size, 2.0 * p["c2"] * np.maximum(size, p["small"])

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        head, slope = self._loss(p, q)
        one = np.ones_like(q)
        return ha - hb - self._passing(p) - head, -slope, one, -one

    def by_main(self, p: Params, q: Array, ha: Array, hb: Array) -> Array:
        """See :meth:`Law.by_main`; [m/(m3/s)]."""
        area = np.pi / 4.0 * p["bore"] ** 2
        found: Array = -p["side"] * p["main"] / (GRAVITY * area**2)
        return found

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        head, _ = self._loss(p, q)
        return np.full_like(head, -np.inf), head
