"""From flow paths to a graph of elements, and from that to levels and branches.

The only module, with its siblings here, that knows networkx. Elements are nodes of a
directed graph, their joins its edges; all joins that touch one basin share its level, and
two passages that meet without a basin share a junction with one total head.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import networkx as nx

from loopplan.declare import Basin, Conditions, Ends, Passage
from loopplan.errors import Problem, Refused
from loopplan.scenario.models import Scenario

Port = tuple[str, int]
"""An element and a position along its chain."""

OUTSIDE = "outside"
"""Name of what is not the loop: sewer, well, sea."""

_PROBE = Conditions(12.0, 0.0, 999.5, 1.2e-6, False, 1.0)


@dataclass(frozen=True)
class Branch:
    """One passage between two levels: node numbers `up` and `down`."""

    element: str
    part: int
    name: str
    law: str
    up: int
    down: int
    beside: int | None = None
    """Part of the same element whose flow it feels."""


@dataclass(frozen=True)
class Node:
    """A level: a basin's free surface, or a junction of passages."""

    name: str
    basin: tuple[str, int] | None


@dataclass(frozen=True)
class Graph:
    """Elements, joins, and the levels and branches that they make.

    `nodes[-1]` is the outside. `ends` tells each element what it joins.
    """

    elements: nx.DiGraph
    nodes: tuple[Node, ...]
    branches: tuple[Branch, ...]
    ends: dict[str, Ends]


class _Sets:
    """Disjoint sets of port positions, in order of first sight."""

    def __init__(self) -> None:
        self.parent: dict[Port, Port] = {}

    def find(self, key: Port) -> Port:
        parent = self.parent
        parent.setdefault(key, key)
        while parent[key] != key:
            parent[key] = parent[parent[key]]
            key = parent[key]
        return key

    def join(self, a: Port, b: Port) -> None:
        self.parent[self.find(b)] = self.find(a)


def build(scenario: Scenario) -> Graph:
    """Build the graph of a scenario.

    Raises :class:`Refused` naming each element that stands in no flow path, leads
    nowhere, feeds itself, or joins two basins without a passage between them.
    """
    elements, problems = _elements_and_joins(scenario)
    problems += _dead_ends(scenario, elements)
    problems += _closed_ends(scenario, elements)
    if problems:
        raise Refused(problems)
    _refuse_loops_without_lift(scenario, elements)
    return _Builder(scenario, elements).graph()


class _Builder:
    """Turns joins of elements into levels and branches.

    Along the chain of an element, positions count the passages passed: position 0 is its
    inlet, the last its outlet; a basin gives its level to the position that it stands at.
    """

    def __init__(self, scenario: Scenario, elements: nx.DiGraph) -> None:
        self.scenario, self.elements = scenario, elements
        self.chains = {
            name: element.parts(_PROBE, Ends(False, False))
            for name, element in scenario.elements.items()
        }
        self.last = {
            name: sum(isinstance(p, Passage) and p.span is None for p in chain)
            for name, chain in self.chains.items()
        }
        self.basin_of: dict[Port, tuple[str, int]] = {}
        self.number: dict[Port, int] = {}
        self.nodes: list[Node] = []
        self.problems: list[Problem] = []

    def graph(self) -> Graph:
        """Number the levels, then the branches between them."""
        for keys in self._joined():
            self._add_node(keys)
        ends = {name: self._ends(name) for name in self.chains}
        outside = len(self.nodes)
        self.nodes.append(Node(OUTSIDE, None))
        branches = [b for name in self.chains for b in self._branches(name, outside)]
        if self.problems:
            raise Refused(self.problems)
        return Graph(self.elements, tuple(self.nodes), tuple(branches), ends)

    def _joined(self) -> list[list[Port]]:
        """Positions that share a level, set by set."""
        sets = _Sets()
        for name, chain in self.chains.items():
            position = 0
            sets.find((name, 0))
            for index, part in enumerate(chain):
                if isinstance(part, Basin):
                    self.basin_of[(name, position)] = (name, index)
                elif part.span is None:
                    position += 1
                    sets.find((name, position))
                else:
                    for end in part.span:
                        sets.find((name, end))
        for a, b in self.elements.edges:
            after = self.scenario.elements[a].tap(b)
            before = self.scenario.elements[b].tap(a)
            sets.join((a, self.last[a] if after is None else after), (b, before or 0))
        members: dict[Port, list[Port]] = {}
        for key in sets.parent:
            members.setdefault(sets.find(key), []).append(key)
        return list(members.values())

    def _add_node(self, keys: list[Port]) -> None:
        outer = [k for k in keys if self._is_outside(k)]
        if len(outer) == len(keys):
            self.number.update(dict.fromkeys(keys, -1))
            return
        self.number.update(dict.fromkeys(keys, len(self.nodes)))
        basins = [k for k in keys if k in self.basin_of]
        if len(basins) > 1:
            self.problems.append(self._basins_joined([n for n, _ in basins]))
        if basins:
            self.nodes.append(Node(basins[0][0], self.basin_of[basins[0]]))
        else:
            self.nodes.append(Node(self._junction([k for k in keys if k not in outer]), None))

    def _basins_joined(self, names: list[str]) -> Problem:
        """Say that basins share a level: one behind the other, or side by side."""
        told = " and ".join(f"'{n}'" for n in names)
        place = ("elements", names[1])
        first, second = names[:2]
        if second in nx.all_neighbors(self.elements, first):
            return self.scenario.problem(
                place,
                f"{told} are joined with nothing between them",
                "put what is between them into the flow path: a weir, an opening, a pipe, a lift",
            )
        sides: tuple[tuple[str, Any], ...] = (
            ("behind", self.elements.predecessors),
            ("before", self.elements.successors),
        )
        where = [
            f" {word} '{common[0]}'"
            for word, beside in sides
            if (common := [n for n in beside(first) if n in set(beside(second))])
        ]
        return self.scenario.problem(
            place,
            f"{told} stand side by side{where[0] if where else ''} with nothing between them, so "
            "that nothing parts their levels",
            "give each a passage of its own there (a weir, an opening, a pipe), or write like "
            "units once, with a `count`",
        )

    def _is_outside(self, key: Port) -> bool:
        role = self.scenario.elements[key[0]].role
        return (role == "source" and key[1] == 0) or (
            role == "sink" and key[1] == self.last[key[0]]
        )

    def _junction(self, keys: list[Port]) -> str:
        before = [n for n, p in keys if p == self.last[n]]
        after = [n for n, p in keys if p == 0 and p != self.last[n]]
        if before and after:
            return f"{before[0]} | {after[0]}"
        name, position = keys[0]
        if position > self.last[name]:
            others = after or before
            return f"{name} beside {others[0]}" if others else name
        inner = [p for p in self.chains[name] if isinstance(p, Passage) and p.span is None]
        return f"{name} after {inner[position - 1].name or name}" if position else f"{name} inlet"

    def _ends(self, name: str) -> Ends:
        spans = [p.span for p in self.chains[name] if isinstance(p, Passage) and p.span]
        beside = {end for span in spans for end in span if end > self.last[name]}
        return Ends(
            self._at_basin((name, 0)),
            self._at_basin((name, self.last[name])),
            frozenset(end for end in beside if self._at_basin((name, end))),
        )

    def _at_basin(self, port: Port) -> bool:
        node = self.number[port]
        return node >= 0 and self.nodes[node].basin is not None

    def _branches(self, name: str, outside: int) -> Iterable[Branch]:
        position = 0
        for index, part in enumerate(self.chains[name]):
            if isinstance(part, Basin):
                continue
            start, end = part.span or (position, position + 1)
            up, down = self.number[(name, start)], self.number[(name, end)]
            position = position if part.span else end
            if up == down:
                self.problems.append(
                    self.scenario.problem(
                        ("elements", name),
                        f"'{name}' feeds itself: the same level stands on both its sides",
                        "lead its flow path on to another basin",
                    )
                )
            yield Branch(
                name,
                index,
                part.name or name,
                part.law,
                outside if up < 0 else up,
                outside if down < 0 else down,
                part.beside,
            )


def _elements_and_joins(scenario: Scenario) -> tuple[nx.DiGraph, list[Problem]]:
    graph = nx.DiGraph()
    graph.add_nodes_from(scenario.elements)
    problems: list[Problem] = []
    for path, names in scenario.paths.items():
        for index, (a, b) in enumerate(pairwise(names)):
            if a == b:
                problems.append(
                    scenario.problem(
                        ("flow paths", path, index + 1),
                        f"'{a}' feeds itself",
                        "name another element after it, or drop the second mention",
                    )
                )
            graph.add_edge(a, b)
    used = {name for names in scenario.paths.values() for name in names}
    for name in scenario.elements:
        if name not in used:
            problems.append(
                scenario.problem(
                    ("elements", name),
                    f"'{name}' stands in no flow path",
                    "name it in a flow path, or take it out",
                )
            )
    return graph, problems


def _dead_ends(scenario: Scenario, graph: nx.DiGraph) -> list[Problem]:
    closed_at = {c.at for c in scenario.closures if c.way == "outside level"}
    problems = []
    for name, element in scenario.elements.items():
        if not graph.degree(name):
            # It stands in no flow path, and that has been said.
            continue
        free_end = name in closed_at or element.role == "water"
        if graph.in_degree(name) == 0 and element.role != "source" and not free_end:
            problems.append(
                scenario.problem(
                    ("elements", name),
                    f"dead end: nothing flows into '{name}'",
                    "lead a flow path into it, or begin the path with a make-up or open water",
                )
            )
        if graph.out_degree(name) == 0 and element.role != "sink" and not free_end:
            problems.append(
                scenario.problem(
                    ("elements", name),
                    f"dead end: nothing flows out of '{name}'",
                    "lead its flow path on, or end the path with a discharge or an overflow",
                )
            )
        if graph.in_degree(name) and element.role == "source":
            problems.append(
                scenario.problem(
                    ("elements", name),
                    f"'{name}' is a {element.kind}: nothing can flow into it from the loop",
                    "begin a flow path with it",
                )
            )
        if graph.out_degree(name) and element.role == "sink":
            problems.append(
                scenario.problem(
                    ("elements", name),
                    f"'{name}' is a {element.kind}: water that enters it leaves the farm",
                    "end the flow path with it",
                )
            )
    return problems


def _closed_ends(scenario: Scenario, graph: nx.DiGraph) -> list[Problem]:
    """Nothing follows on the closed end of a header."""
    problems = []
    for name, element in scenario.elements.items():
        places = getattr(element, "places", None)
        if places is None or not graph.degree(name):
            continue
        for other in graph.successors(name):
            if other not in places and getattr(element, "closed_end", False):
                problems.append(
                    scenario.problem(
                        ("elements", name, "places"),
                        f"'{other}' would follow on the closed end of '{name}'",
                        "name it here with its distance, or let the header run on behind its last "
                        "branch",
                    )
                )
    return problems


def _refuse_loops_without_lift(scenario: Scenario, graph: nx.DiGraph) -> None:
    gravity = [n for n, e in scenario.elements.items() if e.role != "lift"]
    below = graph.subgraph(gravity)
    # Far faster than a search that finds nothing.
    if nx.is_directed_acyclic_graph(below):
        return
    names = [a for a, _ in nx.find_cycle(below)]
    raise Refused(
        [
            scenario.problem(
                ("elements", names[0]),
                "the loop " + " > ".join([*names, names[0]]) + " has no lift: water would have "
                "to run uphill somewhere on it",
                "put a lift into the flow path where the water is to be raised",
            )
        ]
    )
