"""Airlifts at a given air flow: what the water column balances at the levels on both sides."""

from __future__ import annotations

from functools import partial

import numpy as np

from loopplan.laws.base import Array, Law, Params, Residual
from loopplan.physics.airlift_column import Riser, Site, balance
from loopplan.physics.airlift_shaft import Shaft
from loopplan.physics.airlift_tube import Tubes
from loopplan.physics.two_phase import Closure
from loopplan.physics.two_phase_ladder import graded
from loopplan.physics.two_phase_tubes import tube

SITE_FIELDS = (
    "temperature",
    "water_density",
    "viscosity",
    "surface_tension",
    "vapour_pressure",
    "atmosphere",
)
"""Water and atmosphere, as :class:`loopplan.physics.airlift_column.Site` has them."""

_STEP = 1e-6
"""Step of the slopes: of head [m], and of flow as a share of :meth:`AirliftLaw.middle`."""

_LEAST_SLOPE = 0.02
"""Least fall of head [m] over the middle flow that the Newton takes, near no flow."""


class AirliftLaw(Law):
    """Height [m] to which the mixture would stand above the lip = 0, at an air flow.

    Rises with the level on the inlet side (deeper injection), falls with that on the outlet
    side and with the flow. A flow that runs backward is not modelled: its head is carried on
    along a straight line, so that the solver comes to an end and the lift is found stalled.
    """

    smooth = False
    lifts = True

    def riser(self, p: Params, ha: Array) -> Riser:
        """Return the airlift whose inlet level stands at `ha` [m]."""
        raise NotImplementedError

    def closure(self, p: Params) -> Closure:
        """Return how air and water share the riser."""
        raise NotImplementedError

    def middle(self, p: Params) -> Array:
        """Return a flow [m3/s] in the middle of what one unit can move, for starting values."""
        raise NotImplementedError

    def _margin(self, p: Params, q: Array, ha: Array, hb: Array) -> Array:
        site = Site(**{name: p[name] for name in SITE_FIELDS})
        found = balance(self.riser(p, ha), site, q, p["air"], hb - ha, self.closure(p))
        return found.margin

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m]; slopes by central differences."""
        middle = self.middle(p) + np.zeros_like(q)
        dq, dh = _STEP * middle, _STEP
        forward = np.maximum(q, dq)
        zero = np.zeros_like(q)
        steps = np.stack(
            [
                np.stack([np.maximum(q, 0.0), ha, hb]),
                *(
                    np.stack([forward + a * dq, ha + b * dh, hb + c * dh])
                    for a, b, c in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1))
                ),
                np.stack([forward, ha, hb - dh]),
            ]
        )
        g, *sides = self._margin(p, steps[:, 0], steps[:, 1], steps[:, 2])
        by_flow = (sides[0] - sides[1]) / (2.0 * dq)
        by_up = np.maximum((sides[2] - sides[3]) / (2.0 * dh), 0.0)
        by_down = np.minimum((sides[4] - sides[5]) / (2.0 * dh), 0.0)
        least = -_LEAST_SLOPE / middle
        back = q < 0.0
        g = np.where(back, g + least * q, g)
        by_flow = np.where(back, least, by_flow)
        return g + zero, np.minimum(by_flow, 0.05 * least), by_up, by_down

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`: a lift of a quarter of a metre, whatever the flow."""
        return np.full_like(q, -np.inf), np.full_like(q, -0.25)

    def ease(self, p: Params, like: Array) -> Array:
        """See :meth:`Law.ease`."""
        return 0.1 * self.middle(p) + np.zeros_like(like)


class ShaftLaw(AirliftLaw):
    """A channel shaft; `rung` is the place on the ladder of closures."""

    name = "airlift shaft"
    fields = (
        *SITE_FIELDS,
        "air",
        "rung",
        "floor",
        "depth",
        "inlet_area",
        "outlet_area",
        "partition_width",
        "partition_gap",
        "diffuser_height",
        "sill_height",
        "sill_width",
    )

    def riser(self, p: Params, ha: Array) -> Riser:
        """See :meth:`AirliftLaw.riser`."""
        return Shaft(
            p["depth"],
            ha - p["floor"],
            p["inlet_area"],
            p["outlet_area"],
            p["partition_width"],
            p["partition_gap"],
            p["diffuser_height"],
            p["sill_height"],
            p["sill_width"],
        )

    def closure(self, p: Params) -> Closure:
        """See :meth:`AirliftLaw.closure`."""
        return partial(graded, p["rung"])

    def middle(self, p: Params) -> Array:
        """See :meth:`AirliftLaw.middle`: 0.2 m/s up the outlet half."""
        return np.asarray(0.2 * p["outlet_area"])


class TubeLaw(AirliftLaw):
    """Tubes in parallel, which end at the outlet level, or above it in a free fall."""

    name = "airlift tube"
    fields = (
        *SITE_FIELDS,
        "air",
        "injection_level",
        "outlet_level",
        "diameter",
        "tubes",
        "foot_length",
        "entry_k",
        "discharge_k",
        "roughness",
    )

    def riser(self, p: Params, ha: Array) -> Riser:
        """See :meth:`AirliftLaw.riser`."""
        return Tubes(
            ha - p["injection_level"],
            p["diameter"],
            p["tubes"],
            p["foot_length"],
            p["entry_k"],
            p["discharge_k"],
            p["roughness"],
        )

    def closure(self, p: Params) -> Closure:
        """See :meth:`AirliftLaw.closure`."""
        return tube

    def middle(self, p: Params) -> Array:
        """See :meth:`AirliftLaw.middle`: 0.4 m/s up the tubes."""
        return np.asarray(0.4 * np.pi / 4.0 * p["diameter"] ** 2 * p["tubes"])

    def _margin(self, p: Params, q: Array, ha: Array, hb: Array) -> Array:
        return super()._margin(p, q, ha, np.maximum(hb, p["outlet_level"]))
