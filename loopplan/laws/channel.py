"""Open channel: upstream energy level from flow and the level below."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopplan.laws.base import Array, Law, Params, Residual
from loopplan.physics.channels import (
    CHEZY,
    MANNING,
    Roughness,
    critical_depth,
    depth_from_energy,
)
from loopplan.physics.constants import GRAVITY
from loopplan.physics.profile import channel_upstream, profile_grid, steps_needed
from loopplan.physics.sections import Section
from loopplan.physics.thrust import depth_from_still, still_depth

FIRST_STEPS = 8
"""Steps along a channel until :meth:`ChannelLaw.plan` says at a solution how many it needs."""

_STEEPEST = 50.0
# Slope of depth with energy that is let through near critical: beyond it the surface is at
# critical for all that matters, and the Jacobian stays tame.


class ChannelLaw(Law):
    """Ha = F(Q, Hb): the energy line followed upstream from the level below.

    A channel that runs backward is its own mirror image. `to_basin` and `free_end` are 0 or 1,
    and so are `thrust_up` and `thrust_down`: at such an end water joins from the side, and the
    head handed on there is the still depth of :mod:`loopplan.physics.thrust` above the floor.
    """

    name = "channel"
    smooth = False
    rests = True
    fields = (
        "width",
        "side_slope",
        "diameter",
        "length",
        "floor_up",
        "floor_down",
        "chezy",
        "manning",
        "k",
        "entrance_k",
        "to_basin",
        "free_end",
        "thrust_up",
        "thrust_down",
    )

    def __init__(self) -> None:
        self._made: tuple[Params, Section, Roughness] | None = None

    def _of(self, p: Params) -> tuple[Section, Roughness]:
        """Return section and roughness of a parameter set, built once for each."""
        if self._made is None or self._made[0] is not p:
            section = Section(p["width"], p["side_slope"], p["diameter"])
            stated = p["chezy"] > 0.0
            kind = np.where(stated, CHEZY, MANNING)
            self._made = (p, section, Roughness(kind, np.where(stated, p["chezy"], p["manning"])))
        return self._made[1], self._made[2]

    def _upstream(
        self, p: Params, q: Array, tail: Array, back: NDArray[np.bool_]
    ) -> tuple[Array, Array, Array]:
        """Upstream head and its slopes with |q| and the tail head; `back` marks mirrors."""
        section, rough = self._of(p)
        up = np.where(back, p["floor_down"], p["floor_up"])
        down = np.where(back, p["floor_up"], p["floor_down"])
        depth, d_tail, d_flow = self._tail_depth(p, q, tail - down, back)
        grid = profile_grid(p.get("steps", FIRST_STEPS))
        end = channel_upstream(q, depth, section, p["length"], up, down, rough, p["k"], grid)
        by_flow = end.d_energy_dflow + end.d_energy_ddepth_end * d_flow
        by_tail = end.d_energy_ddepth_end * d_tail
        head = end.energy_up - up - end.depth_up
        here = section.geometry(end.depth_up)
        rise = np.maximum(1.0 - 2.0 * head * here.top_width / here.area, 0.02)
        by_q = 2.0 * head / np.maximum(q, 1e-9)
        # The entrance loss is a share of the velocity head, which is energy less depth.
        ke = p["entrance_k"]
        depth_flow, depth_tail = (by_flow - by_q) / rise, by_tail / rise
        found = end.energy_up + ke * head
        by_flow = by_flow + ke * (by_flow - depth_flow)
        by_tail = by_tail + ke * (by_tail - depth_tail)
        thrust = np.where(back, p["thrust_down"], p["thrust_up"]) > 0.0
        if thrust.any():
            still = still_depth(q, end.depth_up, section)
            found = np.where(thrust, up + still.depth, found)
            by_flow = np.where(thrust, still.d_flow + still.slope * depth_flow, by_flow)
            by_tail = np.where(thrust, still.slope * depth_tail, by_tail)
        return found, np.maximum(by_flow, 0.0), np.clip(by_tail, 0.0, None)

    def _tail_depth(
        self, p: Params, q: Array, spare: Array, back: NDArray[np.bool_]
    ) -> tuple[Array, Array, Array]:
        """Depth at the end for the tail head above its floor, and slopes with it and with |q|."""
        level = (p["to_basin"] > 0.0) & ~back
        free = p["free_end"] > 0.0
        depth = np.where(free, 0.0, spare)
        d_tail = np.where(free, 0.0, np.ones_like(q))
        if (level | free).all():
            return depth, d_tail, np.zeros_like(q)
        section = self._of(p)[0]
        critical = critical_depth(q, section)
        kept = np.zeros_like(q)
        thrust = np.where(back, p["thrust_up"], p["thrust_down"]) > 0.0
        if thrust.any():
            still = depth_from_still(spare, q, section, critical)
            depth = np.where(thrust, still.depth, depth)
            d_tail = np.where(thrust, still.slope, d_tail)
            level = level | thrust
            kept = np.where(thrust, np.maximum(still.d_flow, -_STEEPEST), 0.0)
        energy = depth_from_energy(np.maximum(spare, 1e-6), q, section, critical)
        steepest = np.maximum(energy.d_depth_dflow, -_STEEPEST * np.sqrt(critical + 1e-9))
        return (
            np.where(free | level, depth, energy.depth),
            np.where(free | level, d_tail, np.minimum(energy.d_depth_denergy, _STEEPEST)),
            np.where(free | level, kept, steepest),
        )

    def residual(self, p: Params, q: Array, ha: Array, hb: Array) -> Residual:
        """See :meth:`Law.residual`; residual in [m].

        At exactly no flow the law may jump: a channel whose floor stands above both levels is
        dry, and any pair of such levels satisfies it.
        """
        back = q < 0.0
        g, by_flow, by_up, by_down = self._one_way(p, q, ha, hb, back)
        still = q == 0.0
        if still.any():
            other = self._one_way(p, q, ha, hb, ~back)
            turns = still & (other[0] < 0.0)
            g, by_flow, by_up, by_down = (
                np.where(turns, new, old)
                for new, old in zip(other, (g, by_flow, by_up, by_down), strict=True)
            )
            dry = still & (g < 0.0) & (other[0] >= 0.0)
            g, by_up, by_down = (np.where(dry, 0.0, x) for x in (g, by_up, by_down))
        return g, by_flow, by_up, by_down

    def _one_way(
        self, p: Params, q: Array, ha: Array, hb: Array, back: NDArray[np.bool_]
    ) -> Residual:
        head, by_flow, by_tail = self._upstream(p, np.abs(q), np.where(back, ha, hb), back)
        area = np.where(p["diameter"] > 0.0, p["diameter"], np.maximum(p["width"], 0.1)) ** 2
        # At rest the loss is flat in the flow: the Jacobian keeps the slope of a slow flow.
        by_flow = np.maximum(by_flow, 0.001 / (GRAVITY * area))
        one = np.ones_like(q)
        return (
            np.where(back, head - hb, ha - head),
            -by_flow,
            np.where(back, by_tail, one),
            np.where(back, -one, -by_tail),
        )

    def plan(self, p: Params, q: Array, hb: Array) -> NDArray[np.int_]:
        """See :meth:`Law.plan`: steps of each channel, by halving until 0.1 mm."""
        section, rough = self._of(p)
        size, depth = np.abs(q), hb - p["floor_down"]
        free = (p["free_end"] > 0.0) & np.ones(depth.shape, dtype=bool)
        depth = np.where(free, 0.0, depth)
        steps, _ = steps_needed(
            size,
            depth,
            section,
            p["length"],
            p["floor_up"],
            p["floor_down"],
            rough,
            p["k"],
        )
        return steps

    def sill(self, p: Params) -> Array:
        """See :meth:`Law.sill`: the higher end of the floor."""
        return np.maximum(p["floor_up"], p["floor_down"])

    def most(self, p: Params, ha: Array, hb: Array) -> Array:
        """See :meth:`Law.most`: twice what falls freely over a sill as wide as the channel."""
        over = np.maximum(np.maximum(ha, hb) - self.sill(p), 0.1)
        wide = np.where(p["diameter"] > 0.0, p["diameter"], p["width"] + p["side_slope"] * over)
        found: Array = 3.4 * wide * over**1.5
        return found

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        size = np.abs(q)
        low = np.full(size.shape, -1e3)
        head, _, _ = self._upstream(p, size, low, np.zeros(size.shape, dtype=bool))
        deep = np.maximum(p["floor_up"], p["floor_down"]) + 2.0 * (
            critical_depth(size, self._of(p)[0]) + 0.02
        )
        drowned, _, _ = self._upstream(p, size, deep, np.zeros(size.shape, dtype=bool))
        return head, np.maximum(drowned - deep, 0.0)

    def ease(self, p: Params, like: Array) -> Array:
        """See :meth:`Law.ease`: half a metre deep at a metre a second; channels lose little."""
        wide = np.where(p["diameter"] > 0.0, p["diameter"], p["width"] + 0.5 * p["side_slope"])
        return np.broadcast_to(0.5 * wide, like.shape)
