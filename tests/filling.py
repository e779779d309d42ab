"""A slow second way to the levels of a loop: let its basins fill and drain until they rest.

Feasible or not? The loop starts from somewhere and runs in time: every basin holds what flows
in less what flows out, every passage carries what its law says of the levels at the moment.
Where levels come to rest there is a solution, whatever the solver says of it; where they run
away there is none to be had. Implicit Euler, each step by Newton, steps as long as they go well
(Hairer and Wanner, Solving Ordinary Differential Equations II, 1996, section VI.1, from memory).
It takes the laws of :mod:`loopplan.laws` and nothing else of the solver's way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from loopplan.laws import Array
from loopplan.loop.compile import System, columns
from loopplan.loop.newton import Local, Newton, planned
from loopplan.loop.start import start_flows, start_heads

RESTS, RUNS_AWAY, UNDECIDED = "rests", "runs away", "undecided"

_STEPS, _ROUNDS = 1500, 15
_SHORTEST, _FIRST, _LONGEST = 1e-6, 1.0, 1e9
"""Steps of time [s]; levels that the longest one leaves alone are at rest."""
_JUNCTION = 0.2
"""Area [m2] of the surface that a join without a basin is given while it fills."""
_FAR = 30.0
"""Distance [m] beyond all levels of the start at which a level has run away."""
_CLOSED = 1e-7
"""Residual [m, m3/s] of a solution."""
_LOSS, _NO_LOSS = 1.0, 1e-7
"""Loss of a side branch by its own flow [m/(m3/s)], at first and at the end."""


@dataclass(frozen=True)
class Filled:
    """How filling ended, and where: heads [m] (nodes + 1), flows [m3/s] (branches), residual."""

    end: Literal["rests", "runs away", "undecided"]
    heads: Array
    flows: Array
    residual: float


def one(system: System, variant: int) -> System:
    """Return a system of one variant of many."""
    return columns(system, [variant])


def fill(system: System, areas: Sequence[float], lift: float = 0.0) -> Filled:
    """Fill a system of one variant, until its levels rest or run away.

    Side branches of channels lose nothing by their own flow, and levels that fill and drain
    do not settle what two of them share. Where filling stops at that, they are given a loss of
    their own first, and then less and less of it.

    Args:
        system: the loop; stored volumes are not known here.
        areas: plan area [m2] of each node, zero where it has no basin.
        lift: how far above the usual levels it starts [m].
    """
    assert system.variants == 1 and not system.volumes
    q = start_flows(system)
    h = start_heads(system, q)
    h[~system.fixed] += lift
    with np.errstate(all="ignore"):
        march = _March(system, areas, q, h)
        filled = march.go(q, h)
        if filled.end == UNDECIDED and march.taps.size:
            march.loss = _LOSS
            softened = march.go(q, h)
            if softened.end == RESTS:
                return march.harden(softened)
        return filled


class _March:
    """The implicit steps of one loop; unknowns are the open heads, then all flows."""

    def __init__(self, system: System, areas: Sequence[float], q: Array, h: Array) -> None:
        self.newton = Newton(planned(system, q))
        self.s = system
        self.open = self.newton.columns
        self.rows = self.newton.rows
        self.law = np.setdiff1d(np.arange(system.branches), system.free)
        self.areas = np.where(np.asarray(areas) > 0.0, areas, _JUNCTION)
        taps = [g.index for g in system.groups if g.law == "tap"]
        self.taps = np.concatenate(taps) if taps else np.zeros(0, dtype=np.intp)
        self.loss = 0.0
        n = system.nodes
        incidence = np.zeros((n + 1, system.branches))
        np.add.at(incidence, (system.down, np.arange(system.branches)), 1.0)
        np.subtract.at(incidence, (system.up, np.arange(system.branches)), 1.0)
        self.incidence = incidence[self.rows]
        self.stores = np.zeros((self.rows.size, self.open.size))
        self.place = np.full(n + 1, -1)
        self.place[self.open] = np.arange(self.open.size)
        for i, node in enumerate(self.rows):
            if self.place[node] >= 0:
                self.stores[i, self.place[node]] = self.areas[node]

    def residual(self, q: Array, h: Array, was: Array, step: float) -> tuple[Array, Local]:
        """Water balances with what is stored [m3/s], then laws; and the laws' slopes."""
        local = self.newton.laws(q, h)
        local.g[self.taps] -= self.loss * q[self.taps]
        local.gq[self.taps] -= self.loss
        moved = (h - was)[self.open, 0]
        balance = self.incidence @ q[:, 0] - self.stores @ moved / step
        return np.concatenate([balance, local.g[self.law, 0]]), local

    def slopes(self, local: Local, step: float) -> Array:
        """Slopes of the residual with every unknown."""
        k, rows = self.open.size, self.rows.size
        matrix = np.zeros((rows + self.law.size, k + self.s.branches))
        matrix[:rows, :k] = -self.stores / step
        matrix[:rows, k:] = self.incidence
        for i, j in enumerate(self.law, rows):
            matrix[i, k + j] = local.gq[j, 0]
            for node, slope in ((self.s.up[j], local.ga[j, 0]), (self.s.down[j], local.gb[j, 0])):
                if self.place[node] >= 0:
                    matrix[i, self.place[node]] += slope
        return matrix

    def step(self, q: Array, h: Array, step: float) -> tuple[Array, Array] | None:
        """Take one step of time [s]; None if its Newton does not come home."""
        was, k = h, self.open.size
        for _ in range(_ROUNDS):
            r, local = self.residual(q, h, was, step)
            if float(np.abs(r).max()) < 0.1 * _CLOSED:
                return q, h
            try:
                change = np.linalg.solve(self.slopes(local, step), -r)
            except np.linalg.LinAlgError:
                return None
            if not np.isfinite(change).all():
                return None
            size = min(1.0, 1.0 / max(float(np.abs(change[:k]).max(initial=0.0)), 1e-12))
            h, q = h.copy(), q.copy()
            h[self.open, 0] += size * change[:k]
            q[:, 0] += size * change[k:]
        return None

    def go(self, q: Array, h: Array) -> Filled:
        """Take steps of time until levels rest or run away, or nothing goes on."""
        step = _FIRST
        top, bottom = float(h[:-1].max()) + _FAR, float(h[:-1].min()) - _FAR
        for _ in range(_STEPS):
            found = self.step(q, h, step)
            if found is None:
                step *= 0.3
                if step < _SHORTEST:
                    break
                continue
            q, h = found
            if h[:-1].max() > top or h[:-1].min() < bottom:
                return self._end("runs away", q, h)
            if step >= _LONGEST:
                return self._end("rests", q, h)
            step *= 2.0
        return self._end("undecided", q, h)

    def harden(self, filled: Filled) -> Filled:
        """Take the loss of the side branches away, a share at a time."""
        q, h, share = filled.flows[:, None], filled.heads[:, None], 0.5
        while self.loss > _NO_LOSS:
            before = self.loss
            self.loss *= share
            found = self.step(q, h, _LONGEST)
            if found is None:
                self.loss, share = before, share**0.5
                if share > 0.999:
                    return self._end("undecided", q, h)
            else:
                (q, h), share = found, max(share**1.5, 0.3)
        self.loss = 0.0
        found = self.step(q, h, _LONGEST)
        return self._end("undecided", q, h) if found is None else self._end("rests", *found)

    def _end(self, end: Literal["rests", "runs away", "undecided"], q: Array, h: Array) -> Filled:
        r, _ = self.residual(q, h, h, 1.0)
        return Filled(end, h[:, 0], q[:, 0], float(np.abs(r).max()))
