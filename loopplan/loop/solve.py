"""One Newton for all laws and all variants at once.

Unknown are the heads at all levels and the flows of all branches. Each law, linearised,
gives its flow change from the head changes on its two sides, so that only the levels (and
the flows that keep levels, and the exchanges of stored volumes) stay in the linear system.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loopplan.laws import LAWS, Array
from loopplan.laws.base import FlowLaw
from loopplan.loop.compile import Ints, LawGroup, System
from loopplan.loop.linear import Factor, Linear, Sums
from loopplan.loop.start import start_flows, start_heads

log = logging.getLogger("loopplan.loop")

_SLOPE_FLOOR = 1e-9
_STILL = 1e-10
_TRIALS = 5
_PATIENCE = 4
_FIRST = 10
"""Newton iterations before a variant that is not there yet is approached by secants."""
_APPROACH = 10
_FINISH = 15
_NEAR = 1e-4
"""Residuals [share, m] from which on a variant is left to the Newton."""
_HOLD = 1e-3
_SHARE = 0.6
_CAP = 0.3


@dataclass(frozen=True)
class Options:
    """How far the Newton goes.

    `balance` is the share of circulation, `head` [m] and `flow` (share of circulation) are
    for law residuals; `step` [m] is the most that a free surface moves in one iteration.
    """

    iterations: int = 60
    balance: float = 5e-10
    head: float = 1e-9
    flow: float = 5e-10
    step: float = 2.0


@dataclass(frozen=True)
class State:
    """Heads, flows and residuals of all variants; what is not `converged` is no result.

    `exchanges` (nodes, variants) is what leaves the loop at each level: in less out.
    """

    heads: Array
    flows: Array
    exchanges: Array
    converged: NDArray[np.bool_]
    iterations: NDArray[np.int_]
    balance: Array
    laws: Array
    circulation: Array


@dataclass
class _Local:
    """Laws at one point: residual and slopes, with units already counted."""

    g: Array
    gq: Array
    ga: Array
    gb: Array


@dataclass(frozen=True)
class _Step:
    """A point made linear: its laws, flow per head of each branch, and the eliminated system."""

    local: _Local
    ease: Array
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
        for group in s.groups:
            self.unit_is_head[group.index] = LAWS[group.law].unit == "m"
        # Where each branch's four coefficients go in the linear system.
        self.places: list[tuple[Ints, float, bool]] = []
        entries: list[tuple[Ints, Ints]] = []
        for node_row, sign in ((s.up, -1.0), (s.down, 1.0)):
            for node_column, upstream in ((s.up, True), (s.down, False)):
                i, j = self.row_of[node_row], self.column_of[node_column]
                keep = np.flatnonzero((i >= 0) & (j >= 0) & law)
                self.places.append((keep, sign, upstream))
                entries.append((i[keep], j[keep]))
        # Storage of the lagged run, on the diagonal.
        stores = np.flatnonzero((self.row_of[:n] >= 0) & (self.column_of[:n] >= 0))
        self.stores = stores.size
        entries.append((self.row_of[stores], self.column_of[stores]))
        constant, self.constants = self._constant_entries()
        entries.append((constant[:, 0], constant[:, 1]))
        rows, columns = (np.concatenate(part) for part in zip(*entries, strict=True))
        self.linear = Linear(rows, columns, self.size, s.variants)
        # No level of interest lies further down: what goes there has lost its way.
        self.lowest = np.append(np.full(n, s.ground[:n].min(initial=0.0) - 3.0), -np.inf)[:, None]
        self.follow = False
        self._eases: list[Array] | None = None
        self.into = Sums(s.down, n + 1, s.variants)
        self.out = Sums(s.up, n + 1, s.variants)

    def _constant_entries(self) -> tuple[Ints, Array]:
        """Entries that never change: free flows, exchanges, stored volumes; places and values."""
        s = self.system
        places: list[tuple[int, int]] = []
        values: list[Array] = []
        one = np.ones(s.variants)
        for k, j in enumerate(s.free):
            for node, sign in ((s.up[j], -1.0), (s.down[j], 1.0)):
                if self.row_of[node] >= 0:
                    places.append((int(self.row_of[node]), self.heads + k))
                    values.append(sign * one)
        for k, volume in enumerate(s.volumes):
            places.append((int(self.row_of[volume.nodes[0]]), self.heads + s.free.size + k))
            values.append(one)
            for node, area in zip(volume.nodes, volume.areas, strict=True):
                if self.column_of[node] >= 0:
                    places.append((self.rows.size + k, int(self.column_of[node])))
                    values.append(area)
        table = np.array(values).reshape(len(places), s.variants)
        return np.array(places, dtype=np.intp).reshape(len(places), 2), table

    def laws(self, q: Array, h: Array) -> _Local:
        """Evaluate every law at flows and heads."""
        return self._gather(q, h, None)

    def tangent(self, q: Array, h: Array, local: _Local) -> _Local:
        """Return what the Newton follows from a point: the laws' tangents."""
        return self._gather(q, h, local)

    def _gather(self, q: Array, h: Array, local: _Local | None) -> _Local:
        made = _Local(*(np.zeros_like(q) for _ in range(4)))
        made.gq[:] = -1.0
        for group in self.system.groups:
            i, u, law = group.index, group.units, LAWS[group.law]
            # Flow laws are stated for one unit, their residual for all units.
            by_flow, by_value = (u, 1.0) if law.unit == "m" else (1.0, u)
            point = q[i] / u, h[group.up], h[group.down]
            params = group.params
            if group.beside is not None:
                params = {**params, "main": q[group.beside]}
            if local is None:
                found = law.residual(params, *point)
            else:
                at = (
                    local.g[i] / by_value,
                    local.gq[i] * by_flow,
                    local.ga[i] / by_value,
                    local.gb[i] / by_value,
                )
                found = law.tangent(params, *point, at)
            made.g[i] = found[0] * by_value
            made.gq[i] = np.minimum(found[1] / by_flow, -_SLOPE_FLOOR)
            made.ga[i] = found[2] * by_value
            made.gb[i] = found[3] * by_value
        return made

    def secant(self, q: Array, h: Array) -> _Local:
        """Return the laws as straight lines from no flow to the flows at hand."""
        made = _Local(*(np.zeros_like(q) for _ in range(4)))
        made.gq[:] = -1.0
        if self._eases is None:
            self._eases = [LAWS[g.law].ease(g.params, q[g.index]) for g in self.system.groups]
        for group, ease in zip(self.system.groups, self._eases, strict=True):
            i, u = group.index, group.units
            params = group.params
            if group.beside is not None:
                params = {**params, "main": q[group.beside]}
            found = LAWS[group.law].secant(params, q[i] / u, h[group.up], h[group.down], ease)
            made.g[i], made.ga[i], made.gb[i] = found[0] * u, found[2] * u, found[3] * u
        return made

    def turn(self, q: Array, h: Array) -> None:
        """Let sills and openings that carry water uphill carry what their heads say."""
        for group in self.system.groups:
            law = LAWS[group.law]
            if not isinstance(law, FlowLaw):
                continue
            i, up, down = group.index, h[group.up], h[group.down]
            wrong = q[i] * (up - down) < 0.0
            if wrong.any():
                q[i] = np.where(wrong, law.flow(group.params, up, down)[0] * group.units, q[i])

    def rested(self, before: Array, after: Array) -> Array:
        """Stop flows at zero that turned, where the law may jump there."""
        for group in self.system.groups:
            if LAWS[group.law].rests:
                i = group.index
                after[i] = np.where(before[i] * after[i] < 0.0, 0.0, after[i])
        return after

    def balance(self, q: Array, exchange: Array) -> Array:
        """Water balance [m3/s] of each level (nodes, variants): in less out."""
        s = self.system
        total = (self.into(q) - self.out(q)).T
        for k, volume in enumerate(s.volumes):
            total[volume.nodes[0]] += exchange[k]
        return total[: s.nodes]

    def eliminate(self, local: _Local, lag: Array | None) -> _Step:
        """Eliminate the flows of a linearised point; `lag` is storage [m2/s] of each variant."""
        s = self.system
        c = -1.0 / local.gq
        c[s.free] = 0.0
        data = [
            sign * (c * (local.ga if upstream else local.gb))[keep]
            for keep, sign, upstream in self.places
        ]
        # A level between dry sills is moved by nothing: it stays where it is.
        storage = np.full(s.variants, -_STILL) if lag is None else -np.maximum(lag, _STILL)
        data.append(np.broadcast_to(storage, (self.stores, s.variants)))
        return _Step(local, c, self.linear.factor(np.concatenate([*data, self.constants])))

    def correct(
        self, step: _Step, g: Array, q: Array, h: Array, exchange: Array
    ) -> tuple[Array, Array, Array]:
        """Return the changes of heads, flows and exchanges for law residuals `g` at a point."""
        s, c, local = self.system, step.ease, step.local
        right = np.zeros((self.size, s.variants))
        right[: self.rows.size] = -self.balance(q + c * g, exchange)[self.rows]
        for k, volume in enumerate(s.volumes):
            stored = (volume.areas * (h[volume.nodes] - volume.floors)).sum(axis=0)
            right[self.rows.size + k] = volume.volume - stored
        x = step.factor.solve(right)
        dh = np.zeros_like(h)
        dh[self.columns] = x[: self.heads]
        dq = c * (g + local.ga * dh[s.up] + local.gb * dh[s.down])
        dq[s.free] = x[self.heads : self.heads + s.free.size]
        return dh, dq, x[self.heads + s.free.size :]


def solve(system: System, options: Options | None = None, start: State | None = None) -> State:
    """Solve every variant of a system.

    Cold from :func:`start_flows` and :func:`start_heads`, or warm from `start`. Variants
    that would not converge come back with `converged` False and their last residuals;
    nothing is raised here.
    """
    options = options or Options()
    if start is None:
        q = start_flows(system)
        h = start_heads(system, q)
    else:
        q, h = start.flows.copy(), start.heads.copy()
    newton = Newton(planned(system, q, h))
    run = _Run(newton, q, h, options)
    run.go(options.iterations)
    return run.state()


def planned(system: System, q: Array, h: Array) -> System:
    """Return the system with its channels grouped by the steps that they need.

    Fixed once, at the starting values: a step count that moved with the iterates would
    make the laws jump.
    """
    groups: list[LawGroup] = []
    for group in system.groups:
        steps = LAWS[group.law].plan(group.params, q[group.index] / group.units, h[group.down])
        if steps is None:
            groups.append(_eased(group, q))
            continue
        for number in np.unique(steps):
            rows = np.flatnonzero(steps == number)
            params = {name: value[rows] for name, value in group.params.items()}
            params["steps"] = np.full(rows.size, float(number))
            groups.append(
                LawGroup(
                    group.law,
                    group.index[rows],
                    group.up[rows],
                    group.down[rows],
                    params,
                    group.units[rows],
                )
            )
    return replace(system, groups=tuple(groups))


def _eased(group: LawGroup, q: Array) -> LawGroup:
    """Keep with a loss what :meth:`Law.tangent` would else work out at every iteration."""
    law = LAWS[group.law]
    if law.unit != "m" or not law.smooth:
        return group
    ease = law.ease(group.params, q[group.index])
    return replace(group, params={**group.params, "ease": ease})


class _Run:
    """One solve: the iterates and what each variant has reached."""

    def __init__(self, newton: Newton, q: Array, h: Array, options: Options) -> None:
        self.newton = newton
        self.options = options
        self.q, self.h = q, h
        s = newton.system
        self.exchange = np.zeros((len(s.volumes), s.variants))
        self.done = np.zeros(s.variants, dtype=bool)
        self.count = np.zeros(s.variants, dtype=np.int_)
        self.crept = np.zeros(s.variants, dtype=np.int_)
        self._evaluate()

    def _evaluate(self) -> None:
        """Work out the laws at the iterates, and the straight lines to follow from there."""
        self.local = self.newton.laws(self.q, self.h)
        self.line = self.newton.tangent(self.q, self.h, self.local)

    def circulation(self) -> Array:
        """Greatest flow of each variant [m3/s]: what residuals are measured by."""
        largest: Array = np.maximum(np.abs(self.q).max(axis=0, initial=0.0), 1e-9)
        return largest

    def residuals(self) -> tuple[Array, Array, Array]:
        """Worst balance (share), worst head law [m], worst flow law (share)."""
        return _worst(
            self.newton, self.local, self.newton.balance(self.q, self.exchange), self.circulation()
        )

    def go(self, most: int) -> None:
        """Newton first; whoever does not get there comes near by secants, and tries again."""
        start = self.q.copy(), self.h.copy(), self.exchange.copy()
        left = most - self.iterate(min(_FIRST, most))
        # Some get there only if a sill's flow follows its heads when both disagree on the
        # way, some only if it does not: the tries take turns.
        self.newton.follow = False
        while left > 0 and not self.done.all():
            # What the Newton wandered off to is no better place to go on from.
            far = ~self.done & ~self._near()
            self._put_back(far, start)
            left -= self.approach(far, min(_APPROACH, left))
            start = self.q.copy(), self.h.copy(), self.exchange.copy()
            self.newton.follow = not self.newton.follow
            spent = self.iterate(min(_FINISH, left))
            left -= max(spent, 1)

    def _near(self) -> NDArray[np.bool_]:
        """Whether a variant is so near that the Newton will get there."""
        balance, head, flow = self.residuals()
        return (balance < _NEAR) & (head < _NEAR) & (flow < _NEAR)

    def _put_back(self, which: NDArray[np.bool_], to: tuple[Array, Array, Array]) -> None:
        self.q, self.h, self.exchange = (
            np.where(which, then, now)
            for now, then in zip((self.q, self.h, self.exchange), to, strict=True)
        )

    def approach(self, which: NDArray[np.bool_], most: int) -> int:
        """Come near by secants, until little changes; return the rounds that it took."""
        open_, rounds = which, 0
        while rounds < most and open_.any():
            rounds += 1
            scale = self.circulation()
            with np.errstate(all="ignore"):
                step = self.newton.eliminate(self.newton.secant(self.q, self.h), _HOLD * scale)
                dh, dq, de = self.newton.correct(
                    step, step.local.g, self.q, self.h, self.exchange
                )
            open_ = open_ & np.isfinite(dh).all(axis=0) & np.isfinite(dq).all(axis=0)
            self.count[open_] += 1
            self.q = np.where(open_, self.q + _SHARE * dq, self.q)
            self.h = np.where(open_, self.h + np.clip(dh, -_CAP, _CAP), self.h)
            self.exchange = np.where(open_, self.exchange + de, self.exchange)
            large = np.abs(dq).max(axis=0) / scale > 0.01
            open_ = open_ & (large | (np.abs(dh).max(axis=0) > 0.005))
        self._evaluate()
        return rounds

    def iterate(self, most: int) -> int:
        """Iterate until all variants are done or `most` is spent; return what was spent."""
        s, o = self.newton.system, self.options
        for spent in range(most + 1):
            balance, head, flow = self.residuals()
            volume = self._volume_residual()
            self.done = (
                (balance <= o.balance) & (head <= o.head) & (flow <= o.flow) & (volume <= 1e-12)
            )
            log.debug(
                "worst balance %.1e, head %.1e m, flow %.1e; %d of %d variants done",
                balance.max(),
                head.max(),
                flow.max(),
                self.done.sum(),
                s.variants,
            )
            if self.done.all() or spent == most:
                break
            self.count[~self.done] += 1
            with np.errstate(all="ignore"):
                step = self.newton.eliminate(self.line, None)
                change = self.newton.correct(step, self.line.g, self.q, self.h, self.exchange)
            good = np.isfinite(change[0]).all(axis=0) & np.isfinite(change[1]).all(axis=0)
            good &= ~self.done
            if not good.any():
                break
            dh, dq, de = (np.where(good, x, 0.0) for x in change)
            moved = np.abs(dh[s.surface]).max(axis=0, initial=0.0)
            size = np.minimum(1.0, o.step / np.maximum(moved, 1e-12))
            self._search(step, (dh, dq, de), size, good)
        return spent

    def _volume_residual(self) -> Array:
        worst = np.zeros(self.newton.system.variants)
        for volume in self.newton.system.volumes:
            stored = (volume.areas * (self.h[volume.nodes] - volume.floors)).sum(axis=0)
            worst = np.maximum(worst, np.abs(stored / volume.volume - 1.0))
        return worst

    def _length(self, dh: Array, dq: Array) -> Array:
        """Size of a change, heads against 0.1 m and flows against the circulation."""
        with np.errstate(all="ignore"):
            total = ((dh / 0.1) ** 2).sum(axis=0) + ((dq / self.circulation()) ** 2).sum(axis=0)
        return np.where(np.isfinite(total), np.sqrt(total), np.inf)

    def _search(
        self,
        step: _Step,
        change: tuple[Array, Array, Array],
        size: Array,
        good: NDArray[np.bool_],
    ) -> None:
        """Shorten each variant's step until the next correction gets smaller.

        The natural monotonicity test (Deuflhard, Newton Methods for Nonlinear Problems, 2004,
        section 3.3, from memory): what is measured is the correction that the old slopes make
        of the new residuals, so that it does not matter in which unit each law is stated.
        """
        newton, most = self.newton, self.options.step
        dh, dq, de = change
        before = self._length(dh, dq)
        best = np.full_like(before, np.inf)
        kept = (self.q, self.h, self.exchange, self.local, step.local)
        open_ = good.copy()
        # At a kink every step but a whole one gets shorter and shorter: now and then a whole
        # one is taken unseen.
        leaps = good & (self.crept >= _PATIENCE)
        whole = size
        for _ in range(_TRIALS):
            q, e = self.q + size * dq, self.exchange + size * de
            h = np.maximum(self.h + np.clip(size * dh, -most, most), newton.lowest)
            q = newton.rested(self.q, q)
            if newton.follow:
                newton.turn(q, h)
            with np.errstate(all="ignore"):
                local = newton.laws(q, h)
                line = newton.tangent(q, h, local)
                next_h, next_q, _ = newton.correct(step, line.g, q, h, e)
                after = self._length(next_h, next_q)
                bent = self._length(next_h - (1.0 - size) * dh, next_q - (1.0 - size) * dq)
            better = open_ & ((after < best) | leaps)
            if better.any():
                kept = _mix(better, (q, h, e, local, line), kept)
            best = np.where(better, after, best)
            open_ &= ~leaps & ~(after <= (1.0 - 0.25 * size) * before)
            if not open_.any():
                break
            guess = 0.5 * before * size**2 / np.maximum(bent, 1e-300)
            size = np.where(open_, np.clip(guess, 0.1 * size, 0.5 * size), size)
        self.q, self.h, self.exchange, self.local, self.line = kept
        crept = (size < 0.5 * whole) & good
        self.crept = np.where(crept & ~leaps, self.crept + 1, 0)

    def state(self) -> State:
        """Freeze what was reached."""
        balance, head, flow = self.residuals()
        return State(
            self.h,
            self.q,
            self.newton.balance(self.q, np.zeros_like(self.exchange)),
            self.done.copy(),
            self.count,
            balance,
            np.stack([head, flow]),
            self.circulation(),
        )


def _worst(
    newton: Newton, local: _Local, balance: Array, scale: Array
) -> tuple[Array, Array, Array]:
    share = np.abs(balance[newton.rows]).max(axis=0, initial=0.0) / scale
    is_head = newton.unit_is_head
    head = np.abs(local.g[is_head]).max(axis=0, initial=0.0)
    flow = np.abs(local.g[~is_head]).max(axis=0, initial=0.0) / scale
    return share, head, flow


Point = tuple[Array, Array, Array, _Local, _Local]
"""Flows, heads, exchanges, the laws there, and the straight lines that are followed."""


def _mix(which: NDArray[np.bool_], new: Point, old: Point) -> Point:
    """Take the variants in `which` from `new`, the others from `old`."""
    if which.all():
        return new
    q, h, exchange = (np.where(which, a, b) for a, b in zip(new[:3], old[:3], strict=True))
    local, line = (_mix_laws(which, a, b) for a, b in zip(new[3:], old[3:], strict=True))
    return q, h, exchange, local, line


def _mix_laws(which: NDArray[np.bool_], a: _Local, b: _Local) -> _Local:
    return _Local(
        np.where(which, a.g, b.g),
        np.where(which, a.gq, b.gq),
        np.where(which, a.ga, b.ga),
        np.where(which, a.gb, b.gb),
    )
