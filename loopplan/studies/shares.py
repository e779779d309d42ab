"""Shares: how evenly like tanks and filters divide the flow, and what sets them apart.

Units that are alike and stand side by side ought to get the same. What they really get is
solved by head; a sill that is set a few millimetres low takes more than its share, and how
much is found by solving the loop again with that sill moved.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loopplan.laws import Array
from loopplan.loop.alike import side_by_side
from loopplan.loop.compile import Compiled
from loopplan.loop.solution import Solved
from loopplan.loop.solve import solve
from loopplan.studies.share_results import SILL_ERROR, Share, ShareSet
from loopplan.studies.variants import repeated


def share_sets(solved: Solved) -> tuple[ShareSet, ...]:
    """Return the sets of like elements, each in every duty state.

    Sill errors are worked out for the first state only.
    """
    compiled = solved.compiled
    sets = side_by_side(compiled.scenario, compiled.graph)
    if not sets:
        return ()
    errors = _sill_errors(solved, [name for names in sets for name in names])
    found = []
    for names in sets:
        kind = compiled.scenario.elements[names[0]].kind
        for k, state in enumerate(compiled.names):
            flows = [flow_of(compiled, solved.flows[:, k], name, k) for name in names]
            mean = sum(flows) / len(flows)
            if mean <= 0.0:
                continue
            shares = []
            for name, flow in zip(names, flows, strict=True):
                sill, error = errors.get(name, (None, None)) if k == 0 else (None, None)
                shares.append(Share(name, flow, flow / mean, sill, error))
            spread = (max(flows) - min(flows)) / mean
            found.append(ShareSet(kind, state, tuple(shares), spread))
    return tuple(found)


def _first_branch(compiled: Compiled, name: str) -> int | None:
    """The branch that brings an element its flow: its own first, or the first into it."""
    graph = compiled.graph
    own = [j for j, b in enumerate(graph.branches) if b.element == name]
    node = next((i for i, n in enumerate(graph.nodes) if n.basin and n.basin[0] == name), None)
    if node is None:
        return own[0] if own else None
    return next((j for j, b in enumerate(graph.branches) if b.down == node), None)


def flow_of(compiled: Compiled, flows: Array, name: str, k: int) -> float:
    """Return the flow of one unit of an element [m3/s]; `flows` are of all branches, state `k`."""
    graph = compiled.graph
    units = float(compiled.scenario.states[k].elements[name].count)
    node = next((i for i, n in enumerate(graph.nodes) if n.basin and n.basin[0] == name), None)
    if node is None:
        j = _first_branch(compiled, name)
        return float(flows[j]) / units if j is not None else 0.0
    into = sum(float(q) for b, q in zip(graph.branches, flows, strict=True) if b.down == node)
    return into / units


def _sill(compiled: Compiled, name: str) -> int | None:
    """The sill that governs an element's flow: its own, or the only one before or after it."""
    graph = compiled.graph
    own = [j for j, b in enumerate(graph.branches) if b.element == name and b.law == "weir"]
    if own:
        return own[0]
    near = [*graph.elements.predecessors(name), *graph.elements.successors(name)]
    lone = [n for n in near if graph.elements.degree(n) == 2]
    found = [j for j, b in enumerate(graph.branches) if b.element in lone and b.law == "weir"]
    return found[0] if found else None


def _sill_errors(solved: Solved, names: list[str]) -> dict[str, tuple[str, float]]:
    """Solve the first duty state again, each element's sill set low in turn."""
    compiled = solved.compiled
    sills = {name: j for name in names if (j := _sill(compiled, name)) is not None}
    if not sills:
        return {}
    system = repeated(compiled.system, len(sills))
    groups = []
    for group in system.groups:
        if group.law != "weir":
            groups.append(group)
            continue
        crest = group.params["crest"].copy()
        for column, j in enumerate(sills.values()):
            crest[np.flatnonzero(group.index == j), column] -= SILL_ERROR
        groups.append(replace(group, params={**group.params, "crest": crest}))
    moved = solve(replace(system, groups=tuple(groups)))
    found = {}
    for column, (name, j) in enumerate(sills.items()):
        before = flow_of(compiled, solved.flows[:, 0], name, 0)
        if moved.converged[column] and before > 0.0:
            after = flow_of(compiled, moved.flows[:, column], name, 0)
            branch = compiled.graph.branches[j]
            found[name] = (branch.element, after / before - 1.0)
    return found
