"""Variants of a solved loop: its first duty state again, with sizes of elements changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from loopplan.declare import Element, Passage
from loopplan.laws import Array
from loopplan.loop.compile import System
from loopplan.loop.solution import Solved
from loopplan.loop.solve import State, solve


def repeated(system: System, count: int) -> System:
    """The first variant of a system, `count` times side by side."""

    def wide(values: Array) -> Array:
        return np.repeat(values[..., :1], count, axis=-1)

    groups = tuple(
        replace(g, params={n: wide(v) for n, v in g.params.items()}, units=wide(g.units))
        for g in system.groups
    )
    volumes = tuple(
        replace(v, areas=wide(v.areas), floors=wide(v.floors), volume=v.volume[:1].repeat(count))
        for v in system.volumes
    )
    return replace(
        system,
        variants=count,
        groups=groups,
        volumes=volumes,
        levels=wide(system.levels),
        ground=wide(system.ground),
    )


def solve_changed(solved: Solved, changes: Sequence[Mapping[str, Element]]) -> State:
    """Solve the first duty state again, once for each set of changed elements.

    A change is of sizes only: each element keeps its kind and its chain of parts.
    """
    compiled = solved.compiled
    system = repeated(compiled.system, len(changes))
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
