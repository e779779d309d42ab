"""Which lifts keep their flow whatever share of it a duty state asks for.

Wash pumps, and pumps of oxygen cones, are set for a pressure: they do not follow the season. A
share of flow is of the lifts that make the water go round.
"""

from __future__ import annotations

import math

from loopplan.declare import Conditions, Element, Passage
from loopplan.limits import Limits
from loopplan.loop.graph import Graph
from loopplan.scenario.models import Scenario


def steady_lifts(scenario: Scenario, graph: Graph) -> frozenset[str]:
    """Return the names of lifts that a share of flow leaves alone.

    Those with a pressure need beyond the heads of low-head pumps between them and the next
    basin, where another lift of the farm carries more. A lift that drives a loop through jets
    into a tank follows the share, and so does the greatest one, whatever it serves.
    """
    lifts = {name: _carries(e) for name, e in scenario.elements.items() if e.role == "lift"}
    limits = scenario.limits
    assert isinstance(limits, Limits)
    return frozenset(
        name
        for name, flow in lifts.items()
        if flow < max(lifts.values()) and _pressure(scenario, graph, name) > limits.propeller_most
    )


def _carries(lift: Element) -> float:
    """Stated flow of all units, the end of the curve, or without limit if a level decides."""
    curve = getattr(lift, "curve", [])
    flow = getattr(lift, "flow", None) or (curve[-1][0] if curve else math.inf)
    return float(flow) * lift.count


def _pressure(scenario: Scenario, graph: Graph, lift: str) -> float:
    """The greatest pressure need on the way from a lift to the next basins [m]."""
    at: Conditions = scenario.states[0].conditions
    stack = [b.down for b in graph.branches if b.element == lift]
    seen = set(stack)
    pressure = 0.0
    while stack:
        node = stack.pop()
        if graph.nodes[node].basin is not None:
            continue
        for branch in graph.branches:
            if branch.up != node:
                continue
            element = scenario.elements[branch.element]
            part = element.parts(at, graph.ends[branch.element])[branch.part]
            if isinstance(part, Passage) and part.pressure:
                pressure = max(pressure, part.useful)
            if branch.down not in seen:
                seen.add(branch.down)
                stack.append(branch.down)
    return pressure
