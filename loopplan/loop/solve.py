"""One solver for all laws and all variants at once.

Newton steps on heads and flows together (see :mod:`loopplan.loop.newton`), each variant with
its own step length. A variant that does not get home begins again and goes another way.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopplan.laws import Array
from loopplan.loop.compile import System
from loopplan.loop.newton import Local, Newton, Step, finer, planned
from loopplan.loop.start import start_flows, start_heads

log = logging.getLogger("loopplan.loop")

_TRIES = ((True, 0.1, 60), (False, 0.1, 60))
"""Tries from the start: whether sills follow their heads when both disagree on the way, how much
storage holds levels back [share of the miss per metre], and iterations."""
_TRIALS = 3
"""Step lengths that are tried in one iteration."""
_PATIENCE = 4
"""Short steps in a row after which a whole one is taken unseen."""
_REPLANS = 2
"""Times that the steps along channels are planned anew from a solution."""


@dataclass(frozen=True)
class Options:
    """How far the Newton goes.

    `balance` is the share of circulation, `head` [m] and `flow` (share of circulation) are
    for law residuals.
    """

    iterations: int = 120
    balance: float = 9e-10
    head: float = 1e-9
    flow: float = 9e-10


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
    newton = Newton(planned(system, q))
    run = _Run(newton, q, h, options)
    run.go(options.iterations)
    for _ in range(_REPLANS):
        more = finer(run.newton.system, run.q, run.h, run.done) if run.done.any() else None
        if more is None:
            break
        run.go_on(Newton(more), options.iterations)
    run.polish()
    return run.state()


class _Run:
    """One solve: the iterates and what each variant has reached."""

    def __init__(self, newton: Newton, q: Array, h: Array, options: Options) -> None:
        self.newton = newton
        self.options = options
        self.q, self.h = q, np.maximum(h, newton.lowest)
        s = newton.system
        self.exchange = np.zeros((len(s.volumes), s.variants))
        self.done = np.zeros(s.variants, dtype=bool)
        self.count = np.zeros(s.variants, dtype=np.int_)
        self.crept = np.zeros(s.variants)
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
        """Try one way after the other, each from the start, until all variants are done."""
        start = self.q.copy(), self.h.copy(), self.exchange.copy()
        for follow, hold, iterations in _TRIES:
            self.newton.follow[:], self.newton.hold = follow, hold
            most -= self.iterate(min(iterations, most))
            if self.done.all() or most <= 0:
                break
            self._put_back(~self.done, start)

    def go_on(self, newton: Newton, most: int) -> None:
        """Go on from what was reached, with another plan; what was lost stays lost."""
        lost = ~self.done
        self.newton = newton
        self.newton.hold = _TRIES[0][1]
        self._evaluate()
        self.iterate(most)
        self.done &= ~lost

    def polish(self) -> None:
        """Take one plain step more, so that the way a variant came does not show in its numbers."""
        before = (self.q, self.h, self.exchange, self.local, self.line)
        with np.errstate(all="ignore"):
            step = self.newton.eliminate(self.line, self.q, self.h, self.exchange)
            dh, dq, de = self.newton.correct(step, self.line.g, self.q, self.h, self.exchange)
            self.q, self.h, self.exchange = self.q + dq, self.h + dh, self.exchange + de
            self.local = self.newton.laws(self.q, self.h)
            balance, head, flow = self.residuals()
        o = self.options
        good = self.done & (balance <= o.balance) & (head <= o.head) & (flow <= o.flow)
        after = (self.q, self.h, self.exchange, self.local, self.line)
        self.q, self.h, self.exchange, self.local, self.line = _mix(good, after, before)

    def _put_back(self, which: NDArray[np.bool_], to: tuple[Array, Array, Array]) -> None:
        self.q, self.h, self.exchange = (
            np.where(which, then, now)
            for now, then in zip((self.q, self.h, self.exchange), to, strict=True)
        )
        self.crept[which] = 0
        self._evaluate()

    def iterate(self, most: int) -> int:
        """Iterate until all variants are done or `most` is spent; return what was spent."""
        s, o = self.newton.system, self.options
        for spent in range(most + 1):
            balance, head, flow = self.residuals()
            volume = self._volume_residual()
            self.done = (
                (balance <= o.balance) & (head <= o.head) & (flow <= o.flow) & (volume <= 1e-12)
            )
            if log.isEnabledFor(logging.DEBUG):
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
                step = self.newton.eliminate(self.line, self.q, self.h, self.exchange)
                change = self.newton.correct(step, self.line.g, self.q, self.h, self.exchange)
            good = np.isfinite(change[0]).all(axis=0) & np.isfinite(change[1]).all(axis=0)
            good &= ~self.done
            if not good.any():
                break
            dh, dq, de = (np.where(good, x, 0.0) for x in change)
            self._search(step, (dh, dq, de), good)
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
        step: Step,
        change: tuple[Array, Array, Array],
        good: NDArray[np.bool_],
    ) -> None:
        """Shorten each variant's step until the next correction gets smaller.

        The natural monotonicity test (Deuflhard, Newton Methods for Nonlinear Problems, 2004,
        section 3.3, from memory): what is measured is the correction that the old slopes make
        of the new residuals, so that it does not matter in which unit each law is stated.
        """
        newton = self.newton
        dh, dq, de = change
        size = np.ones_like(dh[0])
        before = self._length(dh, dq)
        best = np.full_like(before, np.inf)
        kept = (self.q, self.h, self.exchange, self.local, step.local)
        open_ = good.copy()
        # At a kink every step but a whole one gets shorter and shorter: now and then a whole
        # one is taken unseen.
        leaps = good & (self.crept >= _PATIENCE)
        newton.follow = newton.follow ^ leaps
        for _ in range(_TRIALS):
            q, e = self.q + size * dq, self.exchange + size * de
            h = self.h + size * dh
            newton.settle(self.q, q, h)
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
            size = np.where(open_, np.clip(guess, 0.3 * size, 0.5 * size), size)
        self.q, self.h, self.exchange, self.local, self.line = kept
        crept = (size < 0.5) & good
        # Whole steps between short ones are no cure: a run may swing between two points.
        rested = np.maximum(self.crept - 0.5, 0.0)
        self.crept = np.where(leaps, 0.0, np.where(crept, self.crept + 1.0, rested))

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
    newton: Newton, local: Local, balance: Array, scale: Array
) -> tuple[Array, Array, Array]:
    share = np.abs(balance[newton.rows]).max(axis=0, initial=0.0) / scale
    is_head = newton.unit_is_head
    head = np.abs(local.g[is_head]).max(axis=0, initial=0.0)
    flow = np.abs(local.g[~is_head]).max(axis=0, initial=0.0) / scale
    return share, head, flow


Point = tuple[Array, Array, Array, Local, Local]
"""Flows, heads, exchanges, the laws there, and the straight lines that are followed."""


def _mix(which: NDArray[np.bool_], new: Point, old: Point) -> Point:
    """Take the variants in `which` from `new`, the others from `old`."""
    if which.all():
        return new
    q, h, exchange = (np.where(which, a, b) for a, b in zip(new[:3], old[:3], strict=True))
    local, line = (_mix_laws(which, a, b) for a, b in zip(new[3:], old[3:], strict=True))
    return q, h, exchange, local, line


def _mix_laws(which: NDArray[np.bool_], a: Local, b: Local) -> Local:
    return Local(
        np.where(which, a.g, b.g),
        np.where(which, a.gq, b.gq),
        np.where(which, a.ga, b.ga),
        np.where(which, a.gb, b.gb),
    )
