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
from loopplan.loop.compile import Compiled, columns
from loopplan.loop.solution import Solved
from loopplan.loop.solve import solve
from loopplan.studies.share_results import SILL_ERROR, Share, ShareSet


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
        usual = {name: flow_of(compiled, solved.flows[:, 0], name, 0) for name in names}
        for k, state in enumerate(compiled.names):
            out = tuple(name for name in names if _is_out(compiled, name, k))
            running = [name for name in names if name not in out]
            flows = [flow_of(compiled, solved.flows[:, k], name, k) for name in running]
            mean = sum(flows) / len(flows) if flows else 0.0
            if mean <= 0.0:
                continue
            shares = []
            for name, flow in zip(running, flows, strict=True):
                moved = errors.get(name, _UNMOVED) if k == 0 else _UNMOVED
                of_usual = flow / usual[name] if usual[name] > 0.0 else None
                shares.append(Share(name, flow, flow / mean, *moved, of_usual))
            spread = (max(flows) - min(flows)) / mean
            fewer = tuple(name for name in running if _units(compiled, name, k)[0])
            found.append(ShareSet(kind, state, tuple(shares), spread, out, fewer))
    return tuple(found)


_UNMOVED: tuple[str | None, float | None, float] = (None, None, SILL_ERROR)


def _units(compiled: Compiled, name: str, k: int) -> tuple[bool, float]:
    """Whether fewer units of an element run than usual, and how many do."""
    units = compiled.scenario.states[k].elements[name].count
    return units < compiled.scenario.elements[name].count, float(units)


def _is_out(compiled: Compiled, name: str, k: int) -> bool:
    """Whether an element carries nothing because it, or what leads to it, is shut."""
    graph = compiled.graph
    own = [j for j, b in enumerate(graph.branches) if b.element == name]
    nodes = [i for i, n in enumerate(graph.nodes) if n.basin and n.basin[0] == name]
    if nodes:
        return all(compiled.is_isolated(i, k) for i in nodes)
    return bool(own) and all(compiled.is_closed(j, k) for j in own)


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
    _, units = _units(compiled, name, k)
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


def _sill_errors(
    solved: Solved, names: list[str]
) -> dict[str, tuple[str | None, float | None, float]]:
    """Solve the first duty state again, each element's sill set low in turn."""
    compiled = solved.compiled
    sills = {name: j for name in names if (j := _sill(compiled, name)) is not None}
    if not sills:
        return {}
    low = {name: _sill_low(compiled, j) for name, j in sills.items()}
    system = columns(compiled.system, [0] * len(sills))
    groups = []
    for group in system.groups:
        if group.law != "weir":
            groups.append(group)
            continue
        crest = group.params["crest"].copy()
        for column, (name, j) in enumerate(sills.items()):
            crest[np.flatnonzero(group.index == j), column] -= low[name]
        groups.append(replace(group, params={**group.params, "crest": crest}))
    moved = solve(replace(system, groups=tuple(groups)))
    found: dict[str, tuple[str | None, float | None, float]] = {}
    for column, (name, j) in enumerate(sills.items()):
        before = flow_of(compiled, solved.flows[:, 0], name, 0)
        if moved.converged[column] and before > 0.0:
            after = flow_of(compiled, moved.flows[:, column], name, 0)
            branch = compiled.graph.branches[j]
            found[name] = (branch.element, after / before - 1.0, low[name])
    return found


def _sill_low(compiled: Compiled, j: int) -> float:
    """How far a sill is set low [m]: its stated tolerance, if it has one."""
    element = compiled.scenario.elements[compiled.graph.branches[j].element]
    stated = element.sill_tolerance() if element.states_tolerance() else None
    return stated or SILL_ERROR
