"""What branches feel of the flow of another one: chains that are followed in every Newton step.

Taps, tees and reaches of headers feel the flow of the run next to them, and that may feel the
next one in turn. Their flow changes with the heads at both ends of every branch further along:

    dq = c (g + ga dHa + gb dHb) + t dq_main,  t = c gm,

put into one another along the chain. Each pair of a branch and one further along it is planned
once; its weight is the product of the shares `t` on the way.
"""

from __future__ import annotations

import numpy as np

from loopplan.laws import LAWS, Array
from loopplan.loop.compile import Ints, System
from loopplan.loop.linear import Sums


class Beside:
    """The planned pairs of one system: branch `own` feels what happens to branch `far`."""

    def __init__(self, system: System) -> None:
        self.system = system
        main = np.full(system.branches, -1, dtype=np.intp)
        for group in system.groups:
            if group.beside is not None:
                main[group.index] = group.beside
        own = np.flatnonzero(main >= 0)
        far = main[own]
        # Pairs are numbered by their distance; all but those next to each other follow from a
        # shorter one.
        pairs = [(own, far)]
        self.longer: list[Ints] = []
        while (more := np.flatnonzero(main[far] >= 0)).size:
            self.longer.append(more)
            own, far = own[more], main[far[more]]
            pairs.append((own, far))
        self.near = pairs[0][0]
        self.lengths = [len(some) for some, _ in pairs]
        self.own, self.far = (np.concatenate(part) for part in zip(*pairs, strict=True))
        self.sums = Sums(self.own, system.branches, system.variants)

    def weights(self, q: Array, h: Array, ease: Array) -> Array:
        """Return the flow that each `own` gains per flow of its `far` (pairs, variants).

        `ease` is the flow that each branch gains per unit of its residual.
        """
        s = self.system
        if not self.own.size:
            return np.zeros((0, s.variants))
        share = np.zeros_like(q)
        for group in s.groups:
            if group.beside is None:
                continue
            params, *point = group.at(q, h)
            slope = LAWS[group.law].by_main(params, *point)
            # Stated for one unit: of both flows and, in m3/s, of the residual.
            by_main = slope / group.units if LAWS[group.law].unit == "m" else slope
            share[group.index] = ease[group.index] * by_main
        if s.closed is not None:
            share[s.closed] = 0.0
        found = [share[self.near]]
        start = 0
        for more, length in zip(self.longer, self.lengths, strict=False):
            last = self.far[start : start + length][more]
            found.append(found[-1][more] * share[last])
            start += length
        return np.concatenate(found)

    def passed(self, weights: Array, dq: Array) -> Array:
        """Return changes of flow with what each branch feels of the changes further along."""
        if not self.own.size:
            return dq
        total: Array = dq + self.sums(weights * dq[self.far]).T
        return total
