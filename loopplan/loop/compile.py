"""Compile a graph and its duty states to arrays: one row a branch, one column a variant."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopplan.declare import Basin, Part, Passage
from loopplan.errors import Problem, Refused
from loopplan.laws import LAWS, Array
from loopplan.loop.graph import Graph, build
from loopplan.loop.shut import closed_branches, isolated_nodes
from loopplan.loop.side_streams import steady_lifts
from loopplan.scenario.models import Scenario

Ints = NDArray[np.intp]


@dataclass(frozen=True)
class LawGroup:
    """All branches of one law: branch numbers, their two nodes, parameters, units."""

    law: str
    index: Ints
    up: Ints
    down: Ints
    params: Mapping[str, Array]
    units: Array
    beside: Ints | None = None
    """Branches whose flow these feel; their law reads it as `main`."""

    def at(self, q: Array, h: Array) -> tuple[Mapping[str, Array], Array, Array, Array]:
        """Parameters, flow of one unit, and heads of these branches among all flows and heads."""
        params = self.params
        if self.beside is not None:
            params = {**params, "main": q[self.beside] / self.units}
        return params, q[self.index] / self.units, h[self.up], h[self.down]


@dataclass(frozen=True)
class Volume:
    """Stored water: nodes, their plan areas and floors (nodes, variants), volume."""

    closure: int
    nodes: Ints
    areas: Array
    floors: Array
    volume: Array


@dataclass(frozen=True)
class System:
    """The loop as arrays; nodes[-1] is the outside.

    `fixed` marks nodes whose level is given in `levels`; `outside` those of them that
    exchange water with the outside; `free` the branches whose flow keeps a level.
    """

    nodes: int
    branches: int
    variants: int
    up: Ints
    down: Ints
    groups: tuple[LawGroup, ...]
    fixed: NDArray[np.bool_]
    outside: NDArray[np.bool_]
    levels: Array
    free: Ints
    volumes: tuple[Volume, ...]
    surface: NDArray[np.bool_]
    ground: Array
    """A start level [m] for nodes that nothing else reaches, and the outside's head."""
    closed: NDArray[np.bool_] | None = None
    """Branches out of service (branches, variants), whose flow is nought; None without any."""


def columns(system: System, numbers: Sequence[int]) -> System:
    """Return a system whose variants are these of another one, side by side; any may repeat."""
    picked = np.array(numbers, dtype=np.intp)

    def of(values: Array) -> Array:
        return np.ascontiguousarray(values[..., picked])

    groups = tuple(
        replace(g, params={n: of(v) for n, v in g.params.items()}, units=of(g.units))
        for g in system.groups
    )
    volumes = tuple(
        replace(v, areas=of(v.areas), floors=of(v.floors), volume=of(v.volume))
        for v in system.volumes
    )
    return replace(
        system,
        variants=picked.size,
        groups=groups,
        volumes=volumes,
        levels=of(system.levels),
        ground=of(system.ground),
        closed=None if system.closed is None else system.closed[:, picked],
    )


@dataclass(frozen=True)
class Compiled:
    """A scenario's graph, its system, and the parts of each element in each state."""

    scenario: Scenario
    graph: Graph
    system: System
    parts: tuple[dict[str, list[Part]], ...]
    names: tuple[str, ...] = field(default=())
    isolated: NDArray[np.bool_] | None = None
    """Levels that are cut off (nodes + 1, states); None where none is."""

    def is_closed(self, branch: int, state: int) -> bool:
        """Whether a branch is out of service in a state."""
        closed = self.system.closed
        return closed is not None and bool(closed[branch, state])

    def is_isolated(self, node: int, state: int) -> bool:
        """Whether a level is cut off from the loop in a state."""
        return self.isolated is not None and bool(self.isolated[node, state])

    def passage(self, branch: int, state: int) -> Passage:
        """Return the passage behind a branch in a state."""
        b = self.graph.branches[branch]
        part = self.parts[state][b.element][b.part]
        assert isinstance(part, Passage)
        return part

    def basin(self, node: int, state: int) -> Basin | None:
        """Return the basin behind a node in a state, None at a junction."""
        found = self.graph.nodes[node].basin
        if found is None:
            return None
        part = self.parts[state][found[0]][found[1]]
        assert isinstance(part, Basin)
        return part


def compile_scenario(scenario: Scenario, graph: Graph | None = None) -> Compiled:
    """Build graph and arrays of a scenario, all its duty states as variants.

    `graph` is that of the scenario, where it was built already.
    Raises :class:`Refused` where the loop cannot be closed as described.
    """
    graph = graph or build(scenario)
    steady = steady_lifts(scenario, graph)
    parts = tuple(
        {
            name: state.elements[name].parts(
                replace(state.conditions, flow=1.0) if name in steady else state.conditions,
                graph.ends[name],
            )
            for name in scenario.elements
        }
        for state in scenario.states
    )
    names = tuple(state.name for state in scenario.states)
    closures = _Closures(scenario, graph)
    count, variants = len(graph.branches), len(parts)
    node_count = len(graph.nodes) - 1
    up = np.array([b.up for b in graph.branches], dtype=np.intp)
    down = np.array([b.down for b in graph.branches], dtype=np.intp)
    levels = np.zeros((node_count + 1, variants))
    fixed = np.zeros(node_count + 1, dtype=bool)
    outside = np.zeros(node_count + 1, dtype=bool)
    for node, (value, exchanges) in closures.given.items():
        fixed[node] = True
        outside[node] = exchanges
        levels[node] = value
        at = graph.nodes[node].basin
        assert at is not None
        for k, state in enumerate(scenario.states):
            # Open water carries its own level, which a duty state may change as any field.
            own = getattr(state.elements[at[0]], "level", value)
            levels[node, k] = state.levels.get(at[0], own)
    fixed[node_count] = True
    closed = closed_branches(scenario, graph, outside, closures.free)
    isolated = None if closed is None else isolated_nodes(graph, closed)
    if isolated is not None:
        closures.refuse_isolated(isolated)
    ground, areas, floors = _surfaces(graph, parts)
    levels[node_count] = ground.min(initial=0.0) - 100.0
    ground[node_count] = levels[node_count]
    volumes = tuple(
        Volume(
            number,
            np.array(nodes, dtype=np.intp),
            areas[nodes],
            floors[nodes],
            np.array([state.volumes.get(number, volume) for state in scenario.states]),
        )
        for number, nodes, volume in closures.volumes
    )
    _refuse_changed_shape(scenario, graph, parts)
    free = np.array(sorted(closures.free), dtype=np.intp)
    system = System(
        node_count,
        count,
        variants,
        up,
        down,
        _groups(graph, parts, closures.free, up, down),
        fixed,
        outside,
        levels,
        free,
        volumes,
        np.array([n.basin is not None for n in graph.nodes]),
        ground,
        closed,
    )
    return Compiled(scenario, graph, system, parts, names, isolated)


class _Closures:
    """Closures of a scenario, by node and branch number."""

    def __init__(self, scenario: Scenario, graph: Graph) -> None:
        self.scenario, self.graph = scenario, graph
        self.node_of = {n.basin[0]: i for i, n in enumerate(graph.nodes) if n.basin is not None}
        self.given: dict[int, tuple[float, bool]] = {}
        self.free: set[int] = set()
        self.volumes: list[tuple[int, list[int], float]] = []
        self.problems: list[Problem] = []
        for name, element in scenario.elements.items():
            if element.role == "water":
                self.given[self.node_of[name]] = (getattr(element, "level", 0.0), True)
        for number, closure in enumerate(scenario.closures):
            if closure.way == "stored volume":
                nodes = [self._node(number, name, "in") for name in closure.in_]
                self.volumes.append((number, [n for n in nodes if n >= 0], closure.volume or 0.0))
                continue
            node = self._node(number, closure.at or "", "at")
            if node < 0:
                continue
            if node in self.given:
                self._say(
                    number, "at", f"the level of '{closure.at}' is given twice", "drop one entry"
                )
                continue
            self.given[node] = (closure.level or 0.0, closure.way == "outside level")
            if closure.way == "kept level":
                self._keep(number, closure.by or "", graph)
        if self.problems:
            raise Refused(self.problems)

    def refuse_isolated(self, isolated: NDArray[np.bool_]) -> None:
        """Refuse a stored volume that counts a basin which a duty state cuts off."""
        for number, nodes, _ in self.volumes:
            for node in nodes:
                for k in np.flatnonzero(isolated[node]):
                    name, state = self.graph.nodes[node].name, self.scenario.states[k].name
                    self._say(
                        number,
                        "in",
                        f"the stored volume counts '{name}', which is cut off in the state "
                        f"'{state}'",
                        "count only basins that stay in the loop",
                    )
        if self.problems:
            raise Refused(self.problems)

    def _say(self, number: int, key: str, message: str, cure: str) -> None:
        self.problems.append(self.scenario.problem(("levels", number, key), message, cure))

    def _node(self, number: int, name: str, key: str) -> int:
        node = self.node_of.get(name, -1)
        if node < 0:
            self._say(
                number,
                key,
                f"'{name}' has no level of its own: it is no basin",
                "name a tank, a sump, a box or another basin",
            )
        return node

    def _keep(self, number: int, name: str, graph: Graph) -> None:
        # What stands behind a pump's flange is a passage of its own, after the pump.
        own = [i for i, b in enumerate(graph.branches) if b.element == name]
        element = self.scenario.elements[name]
        if not own or element.kind not in ("lift", "valve"):
            self._say(number, "by", f"'{name}' cannot keep a level", "name a lift or a valve")
            return
        if own[0] in self.free:
            self._say(
                number, "by", f"'{name}' keeps two levels", "let another lift or valve keep one"
            )
        self.free.add(own[0])


def _surfaces(graph: Graph, parts: tuple[dict[str, list[Part]], ...]) -> tuple[Array, Array, Array]:
    """Start levels, plan areas and floors of all nodes (nodes, variants)."""
    shape = (len(graph.nodes), len(parts))
    ground, areas, floors = np.full(shape, np.nan), np.zeros(shape), np.zeros(shape)
    for i, node in enumerate(graph.nodes):
        if node.basin is None:
            continue
        for k, state in enumerate(parts):
            basin = state[node.basin[0]][node.basin[1]]
            assert isinstance(basin, Basin)
            ground[i, k] = basin.floor + 0.7 * (basin.wall_top - basin.floor)
            areas[i, k] = basin.area * basin.units
            floors[i, k] = basin.floor
    known = ground[~np.isnan(ground)]
    ground[np.isnan(ground)] = known.mean() if known.size else 0.0
    return ground, areas, floors


def _groups(
    graph: Graph,
    parts: tuple[dict[str, list[Part]], ...],
    free: set[int],
    up: Ints,
    down: Ints,
) -> tuple[LawGroup, ...]:
    by_law: dict[str, list[int]] = {}
    for i, branch in enumerate(graph.branches):
        if i not in free:
            by_law.setdefault(branch.law, []).append(i)
    groups = []
    for law, members in by_law.items():
        index = np.array(members, dtype=np.intp)
        rows = [
            [state[graph.branches[i].element][graph.branches[i].part] for state in parts]
            for i in members
        ]
        params = {n: _stack(rows, n) for n in LAWS[law].fields if n != "main"}
        units = np.array(
            [[p.units if isinstance(p, Passage) else 1.0 for p in row] for row in rows]
        )
        beside = _beside(graph, members)
        groups.append(LawGroup(law, index, up[index], down[index], params, units, beside))
    return tuple(groups)


def _beside(graph: Graph, members: list[int]) -> Ints | None:
    """Branch numbers of the passages that these run beside, None for laws without."""
    if graph.branches[members[0]].beside is None:
        return None
    number = {(b.element, b.part): j for j, b in enumerate(graph.branches)}
    found = [number[graph.branches[i].element, graph.branches[i].beside or 0] for i in members]
    return np.array(found, dtype=np.intp)


def _stack(rows: list[list[Any]], name: str) -> Array:
    """Stack one parameter to (branches, variants), or (points, branches, variants)."""
    first = rows[0][0].params[name]
    if isinstance(first, list | tuple):
        longest = max(len(p.params[name]) for row in rows for p in row)
        table = np.array([[_padded(p.params, name, longest) for p in row] for row in rows])
        return np.ascontiguousarray(np.moveaxis(table, 2, 0))
    return np.array([[p.params[name] for p in row] for row in rows], dtype=np.float64)


def _padded(params: Mapping[str, Any], name: str, longest: int) -> list[float]:
    values = list(params[name])
    slope = params["slopes"][-1]
    while len(values) < longest:
        values.append(
            values[-1] + 1.0
            if name == "flows"
            else values[-1] + slope
            if name == "heads"
            else slope
        )
    return values


def _refuse_changed_shape(
    scenario: Scenario, graph: Graph, parts: tuple[dict[str, list[Part]], ...]
) -> None:
    for state, chains in zip(scenario.states[1:], parts[1:], strict=True):
        for name, chain in chains.items():
            want = [(type(p), getattr(p, "law", "")) for p in parts[0][name]]
            if [(type(p), getattr(p, "law", "")) for p in chain] != want:
                raise Refused(
                    [
                        scenario.problem(
                            ("duty states", state.name, "change", name),
                            f"the change turns '{name}' into another kind of passage",
                            "change sizes only; describe another layout in a file of its own",
                        )
                    ]
                )
