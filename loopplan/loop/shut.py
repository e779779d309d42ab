"""What is out of service in each duty state: branches that carry nothing, levels cut off.

An element that is shut closes its own branches, and a basin every branch at its level. What
then hangs on the loop by one place only, with no lift and no way out in it, carries no flow
either: by the water balance none could come back. All that is closed is a row of booleans
for each duty state; the graph stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from loopplan.declare import Passage
from loopplan.errors import Problem, Refused
from loopplan.laws import Array
from loopplan.loop.graph import Graph
from loopplan.scenario.models import Scenario, State

Bools = NDArray[np.bool_]
NO_CONTROL = float("-inf")


def closed_branches(
    scenario: Scenario, graph: Graph, outside: Bools, free: Iterable[int]
) -> Bools | None:
    """Return which branches carry nothing (branches, states); None where none is closed.

    `outside` marks nodes that exchange water with the outside, `free` are the branches that
    keep a level. Raises :class:`Refused` where a lift is left without a way round, or a level
    without what keeps it.
    """
    if not any(state.shut for state in scenario.states):
        return None
    usual = _still(scenario, graph, outside, set())
    closed = np.zeros((len(graph.branches), len(scenario.states)), dtype=bool)
    problems: list[Problem] = []
    for k, state in enumerate(scenario.states):
        if not state.shut:
            continue
        shut = shut_branches(graph, state)
        still = (_still(scenario, graph, outside, shut) - usual) | shut
        closed[sorted(still), k] = True
        problems += _without_way_round(scenario, graph, outside, state, still)
        problems += _without_keeper(scenario, graph, state, still & set(free))
    if problems:
        raise Refused(problems)
    return closed


def isolated_nodes(graph: Graph, closed: Bools) -> Bools:
    """Return which levels (nodes, states) only closed branches lead to."""
    open_at = np.zeros((len(graph.nodes), closed.shape[1]), dtype=bool)
    met = np.zeros_like(open_at)
    for j, branch in enumerate(graph.branches):
        for node in (branch.up, branch.down):
            open_at[node] |= ~closed[j]
            met[node] |= closed[j]
    open_at[-1] = True
    return np.asarray(met & ~open_at)


def shut_branches(graph: Graph, state: State) -> set[int]:
    """Return the branches of elements that are shut, and those at the levels of shut basins."""
    basins = {i for i, n in enumerate(graph.nodes) if n.basin and n.basin[0] in state.shut}
    return {
        j
        for j, b in enumerate(graph.branches)
        if b.element in state.shut or b.up in basins or b.down in basins
    }


def _still(scenario: Scenario, graph: Graph, outside: Bools, shut: set[int]) -> set[int]:
    """Branches that no water can pass: they lead to a dead end, whichever way it would run."""
    out = len(graph.nodes) - 1
    ways = nx.Graph()
    driven: set[frozenset[int]] = set()
    for j, branch in enumerate(graph.branches):
        if j in shut:
            continue
        ways.add_edge(branch.up, branch.down)
        if branch.law == "given" or scenario.elements[branch.element].role == "lift":
            driven.add(frozenset((branch.up, branch.down)))
    for node in np.flatnonzero(outside[:-1]):
        ways.add_edge(int(node), out)
        driven.add(frozenset((int(node), out)))
    blocks = [set(block) for block in nx.biconnected_components(ways)]
    cuts = set(nx.articulation_points(ways))
    live = [any(pair <= block for pair in driven) for block in blocks]
    left = set(range(len(blocks)))
    while True:
        shared = {node: [i for i in left if node in blocks[i]] for node in cuts}
        ends = [
            i
            for i in left
            if not live[i] and sum(len(shared[n]) > 1 for n in blocks[i] & cuts) <= 1
        ]
        if not ends:
            break
        left -= set(ends)
    return {
        j
        for j, b in enumerate(graph.branches)
        if j not in shut and not any(b.up in blocks[i] and b.down in blocks[i] for i in left)
    }


def _without_way_round(
    scenario: Scenario, graph: Graph, outside: Bools, state: State, still: set[int]
) -> Iterable[Problem]:
    """Yield the lifts whose water finds no way back to where they draw from."""
    out = len(graph.nodes) - 1
    ways = nx.DiGraph()
    ways.add_nodes_from(range(out + 1))
    ways.add_edges_from((b.up, b.down) for j, b in enumerate(graph.branches) if j not in still)
    for node in np.flatnonzero(outside[:-1]):
        ways.add_edges_from(((int(node), out), (out, int(node))))
    lifts = [j for j, b in enumerate(graph.branches) if scenario.elements[b.element].role == "lift"]
    if lifts and all(graph.branches[j].element in state.shut for j in lifts):
        yield _problem(
            scenario, state, "no lift is left", "leave one lift in service: nothing would go round"
        )
    for branch in (graph.branches[j] for j in lifts):
        if branch.element in state.shut:
            continue
        # A lift that stands beside a shut basin is not out of service by that.
        if not nx.has_path(ways, branch.down, branch.up):
            yield _problem(
                scenario,
                state,
                f"the water of the lift '{branch.element}' has no way round",
                f"take '{branch.element}' out of service as well, or leave a way open beside it",
            )


def _without_keeper(
    scenario: Scenario, graph: Graph, state: State, idle: set[int]
) -> Iterable[Problem]:
    kept = {c.by: c.at for c in scenario.closures if c.way == "kept level"}
    for j in sorted(idle):
        name = graph.branches[j].element
        yield _problem(
            scenario,
            state,
            f"nothing keeps the level of '{kept[name]}': '{name}' carries nothing",
            "name a set of lifts with a `count`, of which one goes out, or close the level "
            "otherwise under `levels`",
        )


def _problem(scenario: Scenario, state: State, what: str, cure: str) -> Problem:
    names = ", ".join(f"'{name}'" for name in sorted(state.shut))
    place = ("duty states", state.name, "out of service")
    message = f"in the state '{state.name}', with {names} out of service, {what}"
    return scenario.problem(place, message, cure)


def control_level(params: Mapping[str, Any]) -> float:
    """Return the level [m] that water must stand above to pass; minus infinity for a pipe."""
    levels = [float(params[n]) for n in ("crest", "invert", "plate", "floor") if n in params]
    return max(levels, default=NO_CONTROL)


def standing_levels(
    graph: Graph, passages: Mapping[int, Passage], state: State, known: Bools, heads: Array
) -> Array:
    """Return the heads of one state [m] (nodes,) with cut-off levels where they come to stand.

    `passages` are the closed ones by branch, `known` marks levels that are not cut off. What
    hangs on the loop stands at the level that it is still open to, or at the sill towards it; a
    shut basin at its own sill, or as high as the water that its outlet leads to.
    """
    found, have = heads.copy(), known.copy()
    shut, outside = shut_branches(graph, state), len(heads) - 1
    both, along, against = [], [], []
    for j, passage in passages.items():
        branch, control = graph.branches[j], control_level(passage.params)
        if outside in (branch.up, branch.down):
            continue
        along.append((branch.up, branch.down, control))
        against.append((branch.down, branch.up, control))
        if j not in shut:
            both += [along[-1], against[-1]]
    # What is still open first; then behind what is shut, by the way out before the way in.
    for ways in (both, along, against):
        _hand_on(found, have, ways)
    return found


def _hand_on(found: Array, have: Bools, ways: list[tuple[int, int, float]]) -> None:
    """Give levels to nodes that have none, the lowest first, by (here, from there, control)."""
    while True:
        offers = [
            (max(control, float(found[there])), here)
            for here, there, control in ways
            if have[there] and not have[here]
        ]
        if not offers:
            return
        level, node = min(offers)
        found[node], have[node] = level, True
