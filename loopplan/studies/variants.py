"""Variants of a solved loop: its first duty state again, with sizes of elements changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from loopplan.declare import Element, Passage
from loopplan.loop.compile import columns
from loopplan.loop.solution import Solved
from loopplan.loop.solve import State, solve


def solve_changed(solved: Solved, changes: Sequence[Mapping[str, Element]]) -> State:
    """Solve the first duty state again, once for each set of changed elements.

    A change is of sizes only: each element keeps its kind and its chain of parts.
    """
    compiled = solved.compiled
    system = columns(compiled.system, [0] * len(changes))
    groups = [replace(g, params={n: v.copy() for n, v in g.params.items()}) for g in system.groups]
    place = {int(j): (group, row) for group in groups for row, j in enumerate(group.index.tolist())}
    conditions = compiled.scenario.states[0].conditions
    for column, change in enumerate(changes):
        chains = {n: e.parts(conditions, compiled.graph.ends[n]) for n, e in change.items()}
        for j, branch in enumerate(compiled.graph.branches):
            if branch.element not in chains or j not in place:
                continue
            part = chains[branch.element][branch.part]
            assert isinstance(part, Passage)
            group, row = place[j]
            for name, values in group.params.items():
                values[..., row, column] = part.params[name]
    start = replace(
        solved.state,
        flows=np.repeat(solved.flows[:, :1], len(changes), axis=1),
        heads=np.repeat(solved.heads[:, :1], len(changes), axis=1),
    )
    return solve(replace(system, groups=tuple(groups)), start=start)
