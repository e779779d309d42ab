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
from loopplan.loop.compile import Compiled, System
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
    sills = _errors(solved, listed, _sill, "crest", lambda crest: crest - SILL_ERROR)
    # The loss of a jet goes with the fourth power of its bore.
    jets = _errors(solved, listed, _nozzle, "c2", lambda c2: c2 / (1.0 + NOZZLE_ERROR) ** 4)
    found = []
    for names in sets:
        kind = compiled.scenario.elements[names[0]].kind
        for k, state in enumerate(compiled.names):
            flows = [_flow(compiled, solved.flows[:, k], name, k) for name in names]
            mean = sum(flows) / len(flows)
            if mean <= 0.0:
                continue
            shares = []
            for name, flow in zip(names, flows, strict=True):
                none = (None, None)
                sill, jet = (e.get(name, none) if k == 0 else none for e in (sills, jets))
                shares.append(Share(name, flow, flow / mean, *sill, *jet))
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


def _flow(compiled: Compiled, flows: Array, name: str, k: int) -> float:
    """Flow of one unit of an element [m3/s]."""
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


def _errors(
    solved: Solved,
    names: list[str],
    governs: Callable[[Compiled, str], int | None],
    field: str,
    moved: Callable[[Array], Array],
) -> dict[str, tuple[str, float]]:
    """Solve the first duty state again, what governs each element's flow moved in turn.

    `field` is the parameter of its law that `moved` moves. Returns by element whose part was
    moved, and the change of the element's flow [-].
    """
    compiled = solved.compiled
    parts = {name: j for name in names if (j := governs(compiled, name)) is not None}
    if not parts:
        return {}
    system = _repeated(compiled.system, len(parts))
    groups = []
    for group in system.groups:
        if field not in group.params:
            groups.append(group)
            continue
        values = group.params[field].copy()
        for column, j in enumerate(parts.values()):
            rows = np.flatnonzero(group.index == j)
            values[rows, column] = moved(values[rows, column])
        groups.append(replace(group, params={**group.params, field: values}))
    again = solve(replace(system, groups=tuple(groups)))
    found = {}
    for column, (name, j) in enumerate(parts.items()):
        before = _flow(compiled, solved.flows[:, 0], name, 0)
        if again.converged[column] and before > 0.0:
            after = _flow(compiled, again.flows[:, column], name, 0)
            found[name] = (compiled.graph.branches[j].element, after / before - 1.0)
    return found


def _repeated(system: System, count: int) -> System:
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
