"""Likely reasons why a loop has no solution, looked for where the solver found none."""

from __future__ import annotations

import numpy as np

from loopplan.errors import NoSolution
from loopplan.loop.compile import Compiled

EXCHANGE_SHARE = 1e-6
"""Share of circulation by which stated flows may miss what has to cross to the outside."""


def overdrawn(compiled: Compiled, k: int) -> NoSolution | None:
    """Name what takes more water out of a part of the loop than comes into it, if it does.

    Parts hang together by whatever carries a flow that nobody states. Water leaves them over
    sills and never comes back that way, so that what is stated must at least come out even.
    """
    graph, system = compiled.graph, compiled.system
    part = list(range(system.nodes + 1))

    def find(node: int) -> int:
        while part[node] != node:
            node = part[node]
        return node

    stated = []
    for j, branch in enumerate(graph.branches):
        if branch.law == "given" and j not in system.free:
            stated.append(j)
        elif system.nodes not in (branch.up, branch.down):
            part[find(branch.up)] = find(branch.down)
    # What a level from outside or a stored volume gives is judged with the exchanges.
    fed = {find(int(n)) for n in np.flatnonzero(system.outside[:-1])}
    fed |= {find(int(n)) for volume in system.volumes for n in volume.nodes}
    flows: dict[int, list[tuple[float, str]]] = {}
    for j in stated:
        branch, passage = graph.branches[j], compiled.passage(j, k)
        flow = float(passage.params["flow"] * passage.units)
        up, down = find(branch.up), find(branch.down)
        if up != down:
            flows.setdefault(up, []).append((-flow, branch.element))
            flows.setdefault(down, []).append((flow, branch.element))
    for where, moved in flows.items():
        lost = -sum(flow for flow, _ in moved)
        taken = [(f, n) for f, n in moved if f < 0.0]
        if where in fed or where == system.nodes or not taken:
            continue
        if lost <= EXCHANGE_SHARE * -sum(f for f, _ in taken):
            continue
        came = [(f, n) for f, n in moved if f > 0.0]
        return NoSolution(
            min(taken)[1],
            "water balance",
            f"{_told(taken)} leave this part of the loop for good and "
            f"{_told(came) if came else 'nothing'} comes in: it would lose {lost * 3600:.2f} m3/h "
            "until it runs dry; bring in more new water, or take out less",
            compiled.names[k],
        )
    return None


def _told(flows: list[tuple[float, str]]) -> str:
    """Flows with the elements that carry them."""
    return ", ".join(f"{abs(f) * 3600:.2f} m3/h through '{n}'" for f, n in flows)


def fed_twice(compiled: Compiled, state: str) -> NoSolution | None:
    """Name a channel whose side branch meets that of another, with nothing in between."""
    feeds: dict[int, str] = {}
    for branch in compiled.graph.branches:
        if branch.law != "tap":
            continue
        other = feeds.setdefault(branch.down, branch.element)
        if other != branch.element:
            return NoSolution(
                branch.element,
                "flow",
                f"'{other}' feeds the same place as its {branch.name}, with nothing in between: "
                "how the two share the water there hangs on next to nothing; put an opening or a "
                "weir of its own into each side branch",
                state,
            )
    return None
