"""Side branch of a dividing channel: it sees the level, not the energy line."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import Array, Law, Params, Residual
from loopplan.physics.channels import depth_from_energy
from loopplan.physics.sections import Section

_SLOPE = 1e-3
_STEEPEST = 50.0


class TapLaw(Law):
    """Hb = Ha less the velocity head of the flow that passes by.

    Past a side branch the energy line goes on and the level rises: what leaves sideways is
    driven by the level. `main` is the flow that arrives there [m3/s], in a section that stands
    on its `floor`. The loss of turning belongs to what is joined there. The own flow has no
    say; the Jacobian keeps a trace of slope for it.
    """

    name = "tap"
    smooth = False
    fields = ("width", "side_slope", "diameter", "floor", "main")

    def __init__(self) -> None:
        self._made: tuple[Array, Section] | None = None

    def _section(self, p: Params) -> Section:
        """Return the section of a parameter set, built once for each."""
        if self._made is None or self._made[0] is not p["width"]:
            made = Section(p["width"], p["side_slope"], p["diameter"])
            self._made = (p["width"], made)
        return self._made[1]

    def _beside(self, p: Params, ha: Array) -> tuple[Array, Array, Array]:
        """Velocity head of the main flow [m], and slopes of its depth with energy and flow."""
        section = self._section(p)
        energy = np.maximum(ha - p["floor"], 1e-6)
        found = depth_from_energy(energy, np.abs(p["main"]), section)
        slope = np.minimum(found.d_depth_denergy, _STEEPEST)
        # Both slopes run to infinity toward critical, one in proportion to the other.
        kept = slope / np.maximum(found.d_depth_denergy, 1.0)
        by_flow = np.where(found.is_critical, 1.0, kept) * found.d_depth_dflow
        dip = energy - found.depth
        return np.maximum(dip, 0.0), slope, np.where(dip > 0.0, by_flow, 0.0)

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]."""
        dip, by_energy, _ = self._beside(p, ha)
        one = np.ones_like(q)
        return ha - hb - dip, -_SLOPE * one, by_energy, -one

    def by_main(self, p: Params, q: Array, ha: Array, hb: Array) -> Array:
        """See :meth:`Law.by_main`; [m/(m3/s)]."""
        found: Array = np.sign(p["main"]) * self._beside(p, ha)[2]
        return found

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        return np.full_like(q, -np.inf), np.zeros_like(q)
