"""Side branch of a dividing channel or pipe: it sees the level, not the energy line."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import Array, Law, Params, Residual
from loopplan.physics.channels import depth_from_energy
from loopplan.physics.constants import GRAVITY
from loopplan.physics.sections import Section

_SLOPE = 1e-3
_STEEPEST = 50.0


class TapLaw(Law):
    """Hb = Ha less the velocity head of the flow that passes by.

    Past a side branch the energy line goes on and the level rises: what leaves sideways is
    driven by the level. `main` is the flow that arrives there [m3/s]; `bore` [m] above zero
    means a full pipe, else the section is that of a channel with its `floor`. The loss of
    turning belongs to what is joined there. The own flow has no say; the Jacobian keeps a
    trace of slope for it.
    """

    name = "tap"
    smooth = False
    fields = ("width", "side_slope", "diameter", "floor", "bore", "main")

    def _dip(self, p: Params, ha: Array) -> tuple[Array, Array]:
        """Velocity head of the main flow [m], and its slope with the energy level."""
        flow = np.abs(p["main"])
        full = p["bore"] > 0.0
        bore = np.where(full, p["bore"], 1.0)
        pipe = (flow / (np.pi / 4.0 * bore**2)) ** 2 / (2.0 * GRAVITY)
        if full.all():
            return pipe, np.zeros_like(pipe)
        section = Section(p["width"], p["side_slope"], p["diameter"])
        energy = np.maximum(ha - p["floor"], 1e-6)
        found = depth_from_energy(energy, flow, section)
        slope = np.minimum(found.d_depth_denergy, _STEEPEST)
        dip = np.maximum(energy - found.depth, 0.0)
        return np.where(full, pipe, dip), np.where(full, 0.0, 1.0 - slope)

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        dip, by_energy = self._dip(p, ha)
        one = np.ones_like(q)
        return ha - hb - dip, -_SLOPE * one, 1.0 - by_energy, -one

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        return np.full_like(q, -np.inf), np.zeros_like(q)
