"""Which elements stand side by side: alike in kind, none before another on the way."""

from __future__ import annotations

import networkx as nx

from loopplan.loop.graph import Graph
from loopplan.scenario.models import Scenario


def side_by_side(scenario: Scenario, graph: Graph) -> list[tuple[str, ...]]:
    """Return groups of two or more elements of one kind that share a flow.

    Two of a kind are side by side if neither lies downstream of the other on a way that
    passes no lift, and some place lies upstream of both. Channels, pipes and the like are
    left out: they lead to what is alike, and are not it.
    """
    elements = graph.elements
    lifts = [n for n, e in scenario.elements.items() if e.role == "lift"]
    gravity = elements.subgraph([n for n in elements if n not in lifts])
    below = {n: nx.descendants(gravity, n) for n in gravity}
    above = {n: nx.ancestors(gravity, n) for n in gravity}
    kinds: dict[str, list[str]] = {}
    for name, element in scenario.elements.items():
        if element.shared and name in gravity:
            kinds.setdefault(element.kind, []).append(name)
    groups = []
    for names in kinds.values():
        left = list(names)
        while left:
            first = left.pop(0)
            group = [first]
            for other in list(left):
                apart = all(other not in below[n] and n not in below[other] for n in group)
                if apart and above[first] & above[other]:
                    group.append(other)
                    left.remove(other)
            if len(group) > 1:
                groups.append(tuple(group))
    return groups
