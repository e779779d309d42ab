"""Every law of a loop made linear, and the linear system that a Newton step solves.

Each law, linearised, gives its flow change from the head changes on its two sides, so that
only the levels (and the flows that keep levels, and the exchanges of stored volumes) stay in
the linear system. The plan of that system is made once and used for any values.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loopplan.laws import LAWS, Array
from loopplan.laws.base import FlowLaw, Residual
from loopplan.laws.channel import FIRST_STEPS
from loopplan.loop.beside import Beside
from loopplan.loop.compile import Ints, LawGroup, System
from loopplan.loop.dry import lowest_levels
from loopplan.loop.linear import Factor, Linear, Sums

_SLOPE_FLOOR = 1e-9
_STILL = 1e-10
"""Storage [m2/s] of every level: one between dry sills is moved by nothing, and stays."""
_NEAR = 1e-3
"""Miss as a share of the circulation up to which nothing is held back: Newton alone is quick."""
_MOST = 2.0
"""Most that a head near a sill moves in one iteration [m]; elsewhere half of all heads' range."""


@dataclass
class Local:
    """Laws at one point: residual and slopes, with units already counted."""

    g: Array
    gq: Array
    ga: Array
    gb: Array


@dataclass(frozen=True)
class Step:
    """A point made linear: its laws, and the eliminated system.

    `ease` is the flow per head of each branch, `felt` that per flow of branches beside it.
    """

    local: Local
    ease: Array
    felt: Array
    factor: Factor


class Newton:
    """The planned Newton of one system; the plan is made once, and used for any values."""

    def __init__(self, system: System) -> None:
        self.system = s = system
        n = s.nodes
        self.rows = np.flatnonzero(~s.outside[:n])
        self.columns = np.flatnonzero(~s.fixed[:n])
        self.row_of = np.full(n + 1, -1)
        self.row_of[self.rows] = np.arange(self.rows.size)
        self.column_of = np.full(n + 1, -1)
        self.column_of[self.columns] = np.arange(self.columns.size)
        self.heads = self.columns.size
        self.size = self.heads + s.free.size + len(s.volumes)
        law = np.ones(s.branches, dtype=bool)
        law[s.free] = False
        self.unit_is_head = np.zeros(s.branches, dtype=bool)
        # Each group with what its flows and its residuals are multiplied by for all units: flow
        # laws are stated for one unit, their residual is for all.
        self.sized: list[tuple[LawGroup, Array, Array]] = []
        for group in s.groups:
            is_head = LAWS[group.law].unit == "m"
            self.unit_is_head[group.index] = is_head
            one = np.ones_like(group.units)
            sizes = (group.units, one) if is_head else (one, group.units)
            self.sized.append((group, *sizes))
        # Where the coefficients of each branch, and of what it feels of others, go in the linear
        # system: by the heads on both sides, or by the flow where that is an unknown itself.
        self.beside = Beside(s)
        every = np.arange(s.branches)
        own = np.concatenate([every, self.beside.own])
        far = np.concatenate([every, self.beside.far])
        flow_of = np.full(s.branches, -1)
        flow_of[s.free] = self.heads + np.arange(s.free.size)
        head_of = [np.where(law, self.column_of[node], -1) for node in (s.up, s.down)]
        self.places: list[tuple[Ints, Ints, float, int]] = []
        entries: list[tuple[Ints, Ints]] = []
        for node_row, sign in ((s.up, -1.0), (s.down, 1.0)):
            for kind, column in enumerate((*head_of, flow_of)):
                i, j = self.row_of[node_row[own]], column[far]
                keep = np.flatnonzero((i >= 0) & (j >= 0))
                self.places.append((keep, far[keep], sign, kind))
                entries.append((i[keep], j[keep]))
        # Storage, on the diagonal.
        stores = np.flatnonzero((self.row_of[:n] >= 0) & (self.column_of[:n] >= 0))
        self.stores = stores
        entries.append((self.row_of[stores], self.column_of[stores]))
        constant, self.constants = self._constant_entries()
        entries.append((constant[:, 0], constant[:, 1]))
        rows, columns = (np.concatenate(part) for part in zip(*entries, strict=True))
        self.linear = Linear(rows, columns, self.size, s.variants)
        # No level of interest lies further down: what goes there has lost its way.
        bottom = np.append(np.full(n, s.ground[:n].min(initial=0.0) - 12.0), -np.inf)[:, None]
        self.lowest = np.maximum(lowest_levels(s), bottom)
        self.follow = np.ones(s.variants, dtype=bool)
        self.hold = 0.0
        # Slopes change most where a sill may dry or drown.
        self.near = np.zeros(n + 1, dtype=bool)
        for group in s.groups:
            if LAWS[group.law].sill(group.params) is not None:
                self.near[group.up] = self.near[group.down] = True
        self.into = Sums(s.down, n + 1, s.variants)
        self.out = Sums(s.up, n + 1, s.variants)

    def _constant_entries(self) -> tuple[Ints, Array]:
        """Entries that never change, of stored volumes: places and values."""
        s = self.system
        places: list[tuple[int, int]] = []
        values: list[Array] = []
        one = np.ones(s.variants)
        for k, volume in enumerate(s.volumes):
            places.append((int(self.row_of[volume.nodes[0]]), self.heads + s.free.size + k))
            values.append(one)
            for node, area in zip(volume.nodes, volume.areas, strict=True):
                if self.column_of[node] >= 0:
                    places.append((self.rows.size + k, int(self.column_of[node])))
                    values.append(area)
        table = np.array(values).reshape(len(places), s.variants)
        return np.array(places, dtype=np.intp).reshape(len(places), 2), table

    def laws(self, q: Array, h: Array) -> Local:
        """Evaluate every law at flows and heads."""
        made = Local(*(np.empty_like(q) for _ in range(4)))
        free = self.system.free
        made.g[free], made.gq[free], made.ga[free], made.gb[free] = 0.0, -1.0, 0.0, 0.0
        for group, by_flow, by_value in self.sized:
            found = LAWS[group.law].residual(*group.at(q, h))
            _store(made, group.index, found, by_flow, by_value)
        return self._shut(made, q)

    def tangent(self, q: Array, h: Array, local: Local) -> Local:
        """Return what the Newton follows from a point: the laws' tangents."""
        made = Local(local.g.copy(), local.gq.copy(), local.ga.copy(), local.gb.copy())
        for group, by_flow, by_value in self.sized:
            i = group.index
            at = (
                local.g[i] / by_value,
                local.gq[i] * by_flow,
                local.ga[i] / by_value,
                local.gb[i] / by_value,
            )
            found = LAWS[group.law].tangent(*group.at(q, h), at)
            if found is not at:
                _store(made, i, found, by_flow, by_value)
        return self._shut(made, q)

    def _shut(self, made: Local, q: Array) -> Local:
        """Let closed branches carry nothing, whatever their law says."""
        closed = self.system.closed
        if closed is not None:
            made.g[closed], made.gq[closed] = -q[closed], -1.0
            made.ga[closed] = made.gb[closed] = 0.0
        return made

    def settle(self, before: Array, q: Array, h: Array) -> None:
        """Mend flows `q` that a step from `before` has led to and that no law would give.

        A flow that turned stops at zero where the law may jump there. Nothing carries more than
        its most. If the sills are to `follow`, those that carry water uphill carry what their
        heads say.
        """
        for group in self.system.groups:
            law = LAWS[group.law]
            i, up, down = group.index, h[group.up], h[group.down]
            if law.rests:
                q[i] = np.where(before[i] * q[i] < 0.0, 0.0, q[i])
            most = law.most(group.params, up, down)
            if most is not None:
                q[i] = np.clip(q[i], -most * group.units, most * group.units)
            if isinstance(law, FlowLaw):
                wrong = self.follow & (q[i] * (up - down) < 0.0)
                if wrong.any():
                    q[i] = np.where(wrong, law.flow(group.params, up, down)[0] * group.units, q[i])

    def balance(self, q: Array, exchange: Array) -> Array:
        """Water balance [m3/s] of each level (nodes, variants): in less out."""
        s = self.system
        total = (self.into(q) - self.out(q)).T
        for k, volume in enumerate(s.volumes):
            total[volume.nodes[0]] += exchange[k]
        return total[: s.nodes]

    def eliminate(self, local: Local, q: Array, h: Array, exchange: Array) -> Step:
        """Eliminate the flows of a point made linear.

        Where the laws round a level are far from closed, their slopes there tell little: it is
        held by as much storage [m2/s] as share `hold` of that miss takes to move it by a metre.
        """
        s = self.system
        c = -1.0 / local.gq
        c[s.free] = 0.0
        felt = self.beside.weights(q, h, c)
        slopes = (c * local.ga, c * local.gb, np.ones_like(q))
        data = [sign * slopes[kind][far] for _, far, sign, kind in self.places]
        if felt.size:
            weights = np.concatenate([np.ones_like(q), felt])
            data = [v * weights[p[0]] for v, p in zip(data, self.places, strict=True)]
        most = np.maximum(np.abs(q).max(axis=0, initial=0.0), 1e-9)
        miss = np.minimum(np.abs(c * local.g), most)
        total = (self.into(miss) + self.out(miss)).T[: s.nodes] + np.abs(self.balance(q, exchange))
        held = np.where(self.near[: s.nodes, None], np.minimum(total - _NEAR * most, most), 0.0)
        storage = np.maximum(self.hold * held, _STILL)
        data.append(-storage[self.stores])
        return Step(local, c, felt, self.linear.factor(np.concatenate([*data, self.constants])))

    def correct(
        self, step: Step, g: Array, q: Array, h: Array, exchange: Array
    ) -> tuple[Array, Array, Array]:
        """Return the changes of heads, flows and exchanges for law residuals `g` at a point.

        Heads stay within what one iteration may move, and above their lowest; flows go with them.
        """
        s, c, local = self.system, step.ease, step.local
        right = np.zeros((self.size, s.variants))
        closing = self.beside.passed(step.felt, c * g)
        right[: self.rows.size] = -self.balance(q + closing, exchange)[self.rows]
        for k, volume in enumerate(s.volumes):
            stored = (volume.areas * (h[volume.nodes] - volume.floors)).sum(axis=0)
            right[self.rows.size + k] = volume.volume - stored
        x = step.factor.solve(right)
        dh = np.zeros_like(h)
        wide = np.maximum(0.5 * np.ptp(h[:-1], axis=0), _MOST)
        most = np.where(self.near[:, None], _MOST, wide)[self.columns]
        low = np.minimum(self.lowest - h, 0.0)[self.columns]
        dh[self.columns] = np.clip(x[: self.heads], np.maximum(low, -most), most)
        dq = c * (g + local.ga * dh[s.up] + local.gb * dh[s.down])
        dq[s.free] = x[self.heads : self.heads + s.free.size]
        return dh, self.beside.passed(step.felt, dq), x[self.heads + s.free.size :]


def _store(made: Local, i: Ints, found: Residual, by_flow: Array, by_value: Array) -> None:
    made.g[i] = found[0] * by_value
    made.gq[i] = np.minimum(found[1] / by_flow, -_SLOPE_FLOOR)
    made.ga[i] = found[2] * by_value
    made.gb[i] = found[3] * by_value


def planned(system: System, q: Array) -> System:
    """Return the system with what is worked out once for the starting flows."""
    return replace(system, groups=tuple(_eased(group, q) for group in system.groups))


def finer(system: System, q: Array, h: Array, done: NDArray[np.bool_]) -> System | None:
    """Return the system with the steps that its channels need at a solution; None if no more.

    Each channel of each variant that is `done` has steps of its own, by its own solution, so that
    it does not matter what is solved together. They are fixed while iterating: a step count that
    moved with the iterates would make the laws jump.
    """
    groups: list[LawGroup] = []
    more = False
    for group in system.groups:
        flow, tail = q[group.index] / group.units, h[group.down]
        needed = LAWS[group.law].plan(group.params, flow, tail)
        if needed is None:
            groups.append(group)
            continue
        had = group.params.get("steps", np.full(flow.shape, float(FIRST_STEPS)))
        steps = np.where(done, np.maximum(needed, had), had)
        more = more or bool((steps > had).any())
        most = steps.max(axis=1)
        for number in np.unique(most):
            rows = np.flatnonzero(most == number)
            params = {name: value[rows] for name, value in group.params.items()}
            params["steps"] = steps[rows]
            groups.append(
                replace(
                    group,
                    index=group.index[rows],
                    up=group.up[rows],
                    down=group.down[rows],
                    params=params,
                    units=group.units[rows],
                )
            )
    return replace(system, groups=tuple(groups)) if more else None


def _eased(group: LawGroup, q: Array) -> LawGroup:
    """Keep with a loss what :meth:`Law.tangent` would else work out at every iteration."""
    law = LAWS[group.law]
    if not isinstance(law, FlowLaw) and (law.unit != "m" or not law.smooth):
        return group
    ease = law.ease(group.params, q[group.index])
    return replace(group, params={**group.params, "ease": ease})
