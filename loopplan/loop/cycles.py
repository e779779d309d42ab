"""A basis of the loops that water can go round."""

from __future__ import annotations

import networkx as nx

from loopplan.loop.graph import Graph


def cycle_basis(graph: Graph) -> list[list[tuple[int, int]]]:
    """Return a cycle basis as lists of (branch number, +1 along or -1 against the branch).

    Loops through the outside do not count: no head is handed on there. A spanning forest
    gives one loop for each branch that is not in it.
    """
    outside = len(graph.nodes) - 1
    forest = nx.Graph()
    forest.add_nodes_from(range(outside))
    chords = []
    for j, branch in enumerate(graph.branches):
        if outside in (branch.up, branch.down):
            continue
        if forest.has_edge(branch.up, branch.down):
            chords.append(j)
            continue
        forest.add_edge(branch.up, branch.down, branch=j)
    tree = nx.minimum_spanning_edges(forest, weight="branch", data=True)
    spanning = nx.Graph()
    spanning.add_nodes_from(range(outside))
    kept = set()
    for a, b, data in tree:
        spanning.add_edge(a, b, branch=data["branch"])
        kept.add(data["branch"])
    chords += [d["branch"] for _, _, d in forest.edges(data=True) if d["branch"] not in kept]
    parent, depth = _rooted(spanning)
    cycles = []
    for j in sorted(chords):
        branch = graph.branches[j]
        cycle = [(j, 1)]
        # Back from its lower end to its upper end along the tree.
        a, b = branch.down, branch.up
        back: list[tuple[int, int]] = []
        while a != b:
            if depth[a] >= depth[b]:
                edge = spanning.edges[a, parent[a]]["branch"]
                cycle.append((edge, 1 if graph.branches[edge].up == a else -1))
                a = parent[a]
            else:
                edge = spanning.edges[b, parent[b]]["branch"]
                back.append((edge, 1 if graph.branches[edge].down == b else -1))
                b = parent[b]
        cycles.append(cycle + back[::-1])
    return cycles


def _rooted(spanning: nx.Graph) -> tuple[dict[int, int], dict[int, int]]:
    parent: dict[int, int] = {}
    depth: dict[int, int] = {}
    for root in spanning.nodes:
        if root in depth:
            continue
        depth[root], parent[root] = 0, root
        stack = [root]
        while stack:
            a = stack.pop()
            for b in spanning.neighbors(a):
                if b not in depth:
                    depth[b], parent[b] = depth[a] + 1, a
                    stack.append(b)
    return parent, depth
