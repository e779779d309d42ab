"""Does the head budget close? Sums round the loop of losses worked again."""

from __future__ import annotations

from loopplan.laws import Array
from loopplan.loop.compile import Compiled
from loopplan.loop.cycles import cycle_basis
from loopplan.studies.recheck import Again


def cycle_residual(compiled: Compiled, heads: Array, worked: list[Again | None]) -> float:
    """Return the worst sum of losses and gains round any loop of a basis [m].

    Losses come from the scalar laws; what a given-flow lift adds is the difference of its
    two levels, since no law gives it.
    """
    losses = []
    for branch, again in zip(compiled.graph.branches, worked, strict=True):
        up = again.head_up if again is not None else float(heads[branch.up])
        losses.append(up - float(heads[branch.down]))
    worst = 0.0
    for cycle in cycle_basis(compiled.graph):
        worst = max(worst, abs(sum(sign * losses[j] for j, sign in cycle)))
    return worst
