"""The baseline: a general root finder on the same equations, from the same starting values."""

from __future__ import annotations

import numpy as np
from scipy.optimize import root

from loopplan.laws import Array
from loopplan.loop.compile import System
from loopplan.loop.newton import Newton, finer, planned
from loopplan.loop.start import start_flows, start_heads


def same_start(system: System) -> tuple[System, Array, Array]:
    """Return the system as the Newton plans it, and its cold start: flows and heads."""
    q = start_flows(system)
    h = start_heads(system, q)
    return planned(system, q), q, h


class General:
    """Heads and flows as one vector for `scipy.optimize.root`, method hybr (MINPACK).

    Equations are the water balance [m3/s] of each level and the law of each branch, with the
    dense Jacobian of the laws' own slopes. Laws are worked once for each point, however often
    residual and Jacobian ask.
    """

    def __init__(self, system: System) -> None:
        planned_system, self.q, self.h = same_start(system)
        self._use(planned_system)
        assert system.variants == 1
        assert not system.volumes
        assert not system.free.size
        self.none = np.zeros((0, 1))

    def _use(self, system: System) -> None:
        self.system, self.newton = system, Newton(system)
        self.levels = self.newton.heads
        self.seen: tuple[bytes, object] = (b"", None)

    def solve(self) -> tuple[Array, Array, bool]:
        """Return flows, heads and whether the root finder says that it is done.

        Channels get the steps that they need at a solution, as with the Newton.
        """
        x = np.concatenate([self.h[self.newton.columns, 0], self.q[:, 0]])
        while True:
            found = root(self.residual, x, jac=self.jacobian, method="hybr")
            x = found.x
            q, h = self._split(x)
            more = finer(self.system, q, h, np.array([found.success]))
            if more is None:
                return q, h, bool(found.success)
            self._use(more)

    def _split(self, x: Array) -> tuple[Array, Array]:
        h = self.h.copy()
        h[self.newton.columns, 0] = x[: self.levels]
        return x[self.levels :, None], h

    def _laws(self, x: Array):
        key = x.tobytes()
        if self.seen[0] != key:
            self.seen = (key, self.newton.laws(*self._split(x)))
        return self.seen[1]

    def residual(self, x: Array) -> Array:
        """Water balances, then laws."""
        q, _ = self._split(x)
        balance = self.newton.balance(q, self.none)[self.newton.rows, 0]
        return np.concatenate([balance, self._laws(x).g[:, 0]])

    def jacobian(self, x: Array) -> Array:
        """The dense Jacobian of :meth:`residual`."""
        s, newton, local = self.system, self.newton, self._laws(x)
        matrix = np.zeros((newton.rows.size + s.branches, x.size))
        branch = np.arange(s.branches)
        for node, sign, slope in ((s.up, -1.0, local.ga), (s.down, 1.0, local.gb)):
            row, column = newton.row_of[node], newton.column_of[node]
            known = row >= 0
            matrix[row[known], self.levels + branch[known]] += sign
            free = column >= 0
            matrix[newton.rows.size + branch[free], column[free]] += slope[free, 0]
        matrix[newton.rows.size + branch, self.levels + branch] = local.gq[:, 0]
        return matrix
