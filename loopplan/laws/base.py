"""The form of every law: a residual with its three slopes.

A law relates the flow Q of one unit of a passage to the heads Ha and Hb on its two sides
as g(Q, Ha, Hb) = 0. The signs are the same for all laws, so that the solver can rely on
them: g rises with Ha, falls with Hb and falls with Q.

Arrays have the shape (branches, variants).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Params = Mapping[str, Array]
Residual = tuple[Array, Array, Array, Array]
"""g and its slopes with Q, Ha and Hb."""

VELOCITY_FLOOR = 1e-4
"""Flow speed [m/s] below which quadratic losses keep a finite slope in the Jacobian."""

DRY_HEAD = 0.05
"""Fall of level [m] that the Newton takes for each backward flow asked of a dry sill."""

NEAR_HEAD = 1e-3
"""Head [m] between two levels below which the plain tangent serves."""

EASE_HEAD = 0.1
"""Head [m] at which the ease of passages is compared."""


class Law:
    """One law, written once over arrays."""

    name: ClassVar[str]
    fields: ClassVar[tuple[str, ...]]
    """Parameters that the law reads, each an array (branches, variants)."""
    unit: ClassVar[str] = "m"
    """Unit of the residual: m or m3/s."""
    tie: ClassVar[str] = "level"
    """level: ties the levels of its two sides; cut: upstream level from flow alone;
    given: the flow is a number."""

    smooth: ClassVar[bool] = True
    """Whether loss grows with flow all the way, as in pipes."""
    lifts: ClassVar[bool] = False
    """Whether it always adds head."""
    rests: ClassVar[bool] = False
    """Whether the law may jump at no flow, so that the Newton stops there when it turns."""

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """Return g, dg/dQ (<= 0), dg/dHa (>= 0) and dg/dHb (<= 0).

        `q` is the flow of one unit [m3/s], `ha` and `hb` the heads on both sides [m].
        """
        raise NotImplementedError

    def tangent(self, p: Params, q: Array, ha: Array, hb: Array, at: Residual) -> Residual:
        """Return the straight line that the Newton follows: value and slopes as of the residual.

        `at` is the residual at the same point, and most laws' answer. Wherever the residual is
        zero, this must be zero too.
        """
        if self.unit != "m" or not self.smooth:
            return at
        asked = np.abs(ha - hb)
        # Losses grow faster than the flow. Followed from a flow that is far too small, the
        # straight line overshoots; it is taken at the flow that the heads ask for instead.
        ease = p["ease"] if "ease" in p else self.ease(p, q)
        reach = ease * np.sqrt(asked / EASE_HEAD)
        short = at[0] * np.sign(ha - hb) > 0.5 * asked
        lags = short & (reach > 1.5 * np.abs(q)) & (asked > NEAR_HEAD)
        if not lags.any():
            return at
        there = np.where(lags, np.sign(ha - hb) * reach, q)
        g, by_flow, by_up, by_down = self.residual(p, there, ha, hb)
        value = g + by_flow * (q - there)
        return (
            np.where(lags, value, at[0]),
            np.where(lags, by_flow, at[1]),
            np.where(lags, by_up, at[2]),
            np.where(lags, by_down, at[3]),
        )

    def by_main(self, p: Params, q: Array, ha: Array, hb: Array) -> Array:
        """Return the slope of the residual with `main`, the flow of one more branch.

        Of either sign. Only laws that have `main` among their `fields` are asked.
        """
        raise NotImplementedError

    def plan(self, p: Params, q: Array, hb: Array) -> NDArray[np.int_] | None:
        """Return the steps that each inner march needs (branches, variants), None for no march."""
        return None

    def sill(self, p: Params) -> Array | None:
        """Return the level [m] that water must top to pass either way; None if there is none."""
        return None

    def most(self, p: Params, ha: Array, hb: Array) -> Array | None:
        """Return a flow [m3/s] that heads of this height cannot drive; None if none is known."""
        return None

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """Return (least upstream head [m], loss [m]) for starting values.

        The upstream head is near max(least, downstream head + loss).
        """
        raise NotImplementedError

    def ease(self, p: Params, like: Array) -> Array:
        """Return the flow [m3/s] of one unit at 0.1 m of head, roughly, for starting values.

        `like` has the shape that is due. Found by halving on the loss of :meth:`start`.
        """
        low, high = np.full(like.shape, -14.0), np.full(like.shape, 5.0)
        for _ in range(14):
            middle = 0.5 * (low + high)
            over = self.start(p, np.exp(middle))[1] > EASE_HEAD
            low, high = np.where(over, low, middle), np.where(over, middle, high)
        found: Array = np.exp(low)
        return found


class FlowLaw(Law):
    """A law that gives the flow from the heads on both sides: sills and openings.

    Far from its solution the flow that heads ask for and the flow that the water balance asks
    for differ. The Newton follows the tangent at the larger of them: a weir is then never
    followed along the flat of a dry sill, nor a drowned one along the wall at equal levels.
    """

    unit = "m3/s"

    def flow(self, p: Params, ha: Array, hb: Array) -> tuple[Array, Array, Array]:
        """Return flow of one unit [m3/s] and its slopes with Ha and Hb."""
        raise NotImplementedError

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m3/s]."""
        flow, d_up, d_down = self.flow(p, ha, hb)
        return flow - q, -np.ones_like(q), d_up, d_down

    def tangent(self, p: Params, q: Array, ha: Array, hb: Array, at: Residual) -> Residual:
        """See :meth:`Law.tangent`."""
        asked, dry = np.abs(q), at[0] == -q
        # A dry sill that is asked for a backward flow gives way a little, less and less.
        at = (at[0], at[1], np.where(dry, np.maximum(at[2], asked / DRY_HEAD), at[2]), at[3])
        ease = p["ease"] if "ease" in p else self.ease(p, q)
        lags = (asked > 1.1 * np.abs(at[0] + q)) & (asked > 1e-5 * ease) & ~(dry & (q < 0.0))
        if not lags.any():
            return at
        back = q < 0.0
        tail = np.where(back, ha, hb)
        head = self._head_for(p, np.abs(q), tail)
        up, down = np.where(back, ha, head), np.where(back, head, hb)
        flow, d_up, d_down = self.flow(p, up, down)
        value = flow - q + d_up * (ha - up) + d_down * (hb - down)
        return (
            np.where(lags, value, at[0]),
            at[1],
            np.where(lags, d_up, at[2]),
            np.where(lags, d_down, at[3]),
        )

    def _head_for(self, p: Params, size: Array, tail: Array) -> Array:
        """Upstream head [m] at which a flow runs, nearly: Newton between bounds."""
        free, loss = self.start(p, size)
        low = np.maximum(tail, free - 1.0)
        high = np.full(tail.shape, np.inf)
        head = np.maximum(free, tail + loss)
        for _ in range(12):
            flow, slope, _ = self.flow(p, head, tail)
            miss = size - flow
            found = np.abs(miss) <= 1e-6 * size
            if found.all():
                break
            low, high = np.where(miss > 0.0, head, low), np.where(miss < 0.0, head, high)
            trial = head + miss / np.maximum(slope, 1e-12)
            far = np.where(np.isfinite(high), 0.5 * (low + high), head + 2.0)
            inside = (trial > low) & (trial < np.minimum(high, head + 2.0))
            # What is found stays, whatever the others still need.
            head = np.where(found, head, np.where(inside, trial, far))
        return head
