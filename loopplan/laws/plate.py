"""Distribution plates: water stands on a plate and falls through its holes."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import VELOCITY_FLOOR, Array, Law, Params, Residual
from loopplan.physics.constants import GRAVITY


class PlateLaw(Law):
    """Ha - max(Hb, plate) = c2 Q |Q|: jets into air, or into water that has risen to the plate.

    `c2` [s2/m5] is one over 2g (Cd A)^2 of the holes; `plate` [m] is the level at which the jets
    leave. Nothing is handed up from below while the water below stands under the plate.
    """

    name = "plate"
    fields = ("plate", "c2")
    # What the heads ask for is not told by their difference, which holds the fall as well.
    smooth = False
    tie = "cut"

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        area = 1.0 / np.sqrt(2.0 * GRAVITY * p["c2"])
        slope = 2.0 * p["c2"] * np.maximum(np.abs(q), VELOCITY_FLOOR * area)
        back = np.maximum(hb, p["plate"])
        drowned = np.where(hb > p["plate"], -1.0, 0.0)
        return ha - back - p["c2"] * q * np.abs(q), -slope, np.ones_like(q), drowned

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        loss = p["c2"] * q**2
        return p["plate"] + loss, loss
