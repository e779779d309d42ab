"""Water in, round and out."""

from __future__ import annotations

import numpy as np

from loopplan.loop.solution import Solved
from loopplan.studies.results import WaterBalance


def water_balance(solved: Solved, k: int) -> WaterBalance:
    """Return circulation, replacement and passes of one duty state.

    Circulation is the greatest flow that passes one place of the loop. Replacement is what
    enters: make-up, and what comes in at outside levels and from open water.
    """
    compiled = solved.compiled
    graph, system = compiled.graph, compiled.system
    flows = solved.flows[:, k]
    out_of = np.zeros(system.nodes + 1)
    into = np.zeros(system.nodes + 1)
    np.add.at(out_of, system.up, np.maximum(flows, 0.0))
    np.add.at(out_of, system.down, np.maximum(-flows, 0.0))
    np.add.at(into, system.down, np.maximum(flows, 0.0))
    np.add.at(into, system.up, np.maximum(-flows, 0.0))
    circulation = float(np.maximum(out_of[:-1], into[:-1]).max(initial=0.0))
    make_up = discharge = 0.0
    exchanges: list[tuple[str, float]] = []
    for j, branch in enumerate(graph.branches):
        role = compiled.scenario.elements[branch.element].role
        flow = float(flows[j])
        if role == "source":
            make_up += flow
        elif role == "sink":
            discharge += flow
            exchanges.append((branch.element, flow))
    gained = 0.0
    nodes = [int(n) for n in np.flatnonzero(system.outside[:-1])]
    nodes += [int(v.nodes[0]) for v in system.volumes]
    for node in nodes:
        found = graph.nodes[node].basin
        leaves = float(solved.state.exchanges[node, k])
        # What is below the solver's own residual is no exchange.
        if abs(leaves) <= 1e-9 * circulation:
            leaves = 0.0
        exchanges.append((found[0] if found else graph.nodes[node].name, leaves))
        if leaves > 0.0:
            discharge += leaves
        else:
            gained -= leaves
    replacement = make_up + gained
    passes = circulation / replacement if replacement > 0.0 else None
    return WaterBalance(circulation, make_up, discharge, replacement, passes, tuple(exchanges))
