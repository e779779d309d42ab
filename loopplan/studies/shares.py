"""Shares: how evenly like tanks and filters divide the flow, and what sets them apart.

Units that are alike and stand side by side ought to get the same. What they really get is
solved by head; a sill that is set a few millimetres low, or a nozzle that is bored wide, takes
more than its share, and how much is found by solving the loop again with that one moved.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from loopplan.laws import Array
from loopplan.loop.alike import side_by_side
from loopplan.loop.compile import Compiled, columns
from loopplan.loop.solution import Solved
from loopplan.loop.solve import solve
from loopplan.studies.share_results import NOZZLE_ERROR, SILL_ERROR, Share, ShareSet


def share_sets(solved: Solved) -> tuple[ShareSet, ...]:
    """Return the sets of like elements, each in every duty state.

    What errors of sills and nozzles do is worked out for the first state only.
    """
    compiled = solved.compiled
    sets = side_by_side(compiled.scenario, compiled.graph)
    if not sets:
        return ()
    listed = [name for names in sets for name in names]
    sills = _errors(solved, listed, _sill, "crest", lambda crest, low: crest - low, _sill_low)
    # The loss of a jet goes with the fourth power of its bore.
    jets = _errors(
        solved, listed, _nozzle, "c2", lambda c2, wide: c2 / (1.0 + wide) ** 4, _nozzle_wide
    )
    found = []
    for names in sets:
        kind = compiled.scenario.elements[names[0]].kind
        usual = {name: flow_of(compiled, solved.flows[:, 0], name, 0) for name in names}
        for k, state in enumerate(compiled.names):
            out = tuple(name for name in names if is_out(compiled, name, k))
            running = [name for name in names if name not in out]
            flows = [flow_of(compiled, solved.flows[:, k], name, k) for name in running]
            mean = sum(flows) / len(flows) if flows else 0.0
            if mean <= 0.0:
                continue
            shares = []
            for name, flow in zip(running, flows, strict=True):
                sill, error, low = sills.get(name, _UNMOVED) if k == 0 else _UNMOVED
                nozzle, wide, _ = jets.get(name, _UNMOVED) if k == 0 else _UNMOVED
                of_usual = flow / usual[name] if usual[name] > 0.0 else None
                shares.append(
                    Share(name, flow, flow / mean, sill, error, low, of_usual, nozzle, wide)
                )
            spread = (max(flows) - min(flows)) / mean
            fewer = tuple(name for name in running if _units(compiled, name, k)[0])
            found.append(ShareSet(kind, state, tuple(shares), spread, out, fewer))
    return tuple(found)


_UNMOVED: tuple[str | None, float | None, float] = (None, None, SILL_ERROR)


def _units(compiled: Compiled, name: str, k: int) -> tuple[bool, float]:
    """Whether fewer units of an element run than usual, and how many do."""
    units = compiled.scenario.states[k].elements[name].count
    return units < compiled.scenario.elements[name].count, float(units)


def is_out(compiled: Compiled, name: str, k: int) -> bool:
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


def _nozzle(compiled: Compiled, name: str) -> int | None:
    """The nozzles that govern an element's flow: itself, its inlet, or the only ones next to it."""
    graph, elements = compiled.graph, compiled.scenario.elements
    near = [*graph.elements.predecessors(name), *graph.elements.successors(name)]
    lone = {n for n in (name, *near) if elements[n].kind == "nozzles"}
    lone = {n for n in lone if graph.elements.degree(n) == 2}
    inlet = getattr(elements[name], "inlet", None)
    own = name if getattr(inlet, "kind", "") == "nozzles" else None
    return next(
        (
            j
            for j, b in enumerate(graph.branches)
            if b.element in lone or (b.element == own and b.name == "inlet")
        ),
        None,
    )


_Moved = dict[str, tuple[str | None, float | None, float]]
"""By element: whose part was moved, the change of the element's flow [-], and by how much."""


def _errors(
    solved: Solved,
    names: list[str],
    governs: Callable[[Compiled, str], int | None],
    field: str,
    moved: Callable[[Array, float], Array],
    by: Callable[[Compiled, int], float],
) -> _Moved:
    """Solve the first duty state again, what governs each element's flow moved in turn.

    `field` is the parameter of its law that `moved` moves, by what `by` tells of a branch.
    """
    compiled = solved.compiled
    parts = {name: j for name in names if (j := governs(compiled, name)) is not None}
    if not parts:
        return {}
    system = columns(compiled.system, [0] * len(parts))
    groups = []
    for group in system.groups:
        if field not in group.params:
            groups.append(group)
            continue
        values = group.params[field].copy()
        for column, j in enumerate(parts.values()):
            rows = np.flatnonzero(group.index == j)
            values[rows, column] = moved(values[rows, column], by(compiled, j))
        groups.append(replace(group, params={**group.params, field: values}))
    again = solve(replace(system, groups=tuple(groups)))
    found: _Moved = {}
    for column, (name, j) in enumerate(parts.items()):
        before = flow_of(compiled, solved.flows[:, 0], name, 0)
        if again.converged[column] and before > 0.0:
            after = flow_of(compiled, again.flows[:, column], name, 0)
            branch = compiled.graph.branches[j]
            found[name] = (branch.element, after / before - 1.0, by(compiled, j))
    return found


def _nozzle_wide(compiled: Compiled, j: int) -> float:
    """How much wider a nozzle is made, as a share of its bore [-]."""
    return NOZZLE_ERROR


def _sill_low(compiled: Compiled, j: int) -> float:
    """How far a sill is set low [m]: its stated tolerance, if it has one."""
    element = compiled.scenario.elements[compiled.graph.branches[j].element]
    stated = element.sill_tolerance() if element.states_tolerance() else None
    return stated or SILL_ERROR
