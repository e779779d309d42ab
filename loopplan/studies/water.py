"""Water in, round and out, and what of it is no surplus.

An exit that stands in a flow path is solved: the levels feel its flow, all the time. Washes and
draw-offs that elements state come and go, and what the section `water lost` states seeps away:
their mean of a day is taken from the replacement, so that less of it is left for the exits that
give way. Each is counted in one of the two ways, never in both.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from loopplan.declare import DAY
from loopplan.loop.solution import Solved
from loopplan.scenario.models import WaterLost
from loopplan.studies.poweroff_network import running_volume
from loopplan.studies.results import LevelRow
from loopplan.studies.shares import is_out
from loopplan.studies.water_results import WaterBalance, WaterLoss

_YEAR = 365.0 * DAY
_UNSOLVED = 1e-9
"""Share of circulation below which a flow is no more than the solver's own residual."""


def water_balance(solved: Solved, k: int, levels: list[LevelRow]) -> WaterBalance:
    """Return the water balance of one duty state, whose basins are `levels`."""
    compiled = solved.compiled
    graph, scenario = compiled.graph, compiled.scenario
    circulation = _circulation(solved, k)
    make_up = discharge = yielding = 0.0
    exchanges: list[tuple[str, float]] = []
    losses: list[WaterLoss] = []
    for j, branch in enumerate(graph.branches):
        element = scenario.elements[branch.element]
        flow = float(solved.flows[j, k])
        if element.role == "source":
            make_up += flow
        elif element.role == "sink":
            discharge += flow
            exchanges.append((branch.element, flow))
            carries = str(getattr(element, "carries", "surplus"))
            if carries != "surplus":
                losses.append(WaterLoss(branch.element, carries, flow, averaged=False))
            elif branch.law != "given":
                yielding += flow
    gained = 0.0
    for name, leaves in _crossing(solved, k, circulation):
        exchanges.append((name, leaves))
        if leaves > 0.0:
            discharge += leaves
            yielding += leaves
        else:
            gained -= leaves
    volume = sum(row.volume for row in levels if row.wall_top is not None)
    volume += _in_passages(solved, k)
    losses += _averaged(solved, k, levels, volume)
    production = scenario.stock.yearly_production
    return WaterBalance(
        circulation,
        make_up,
        discharge,
        make_up + gained,
        tuple(exchanges),
        tuple(losses),
        volume,
        yielding,
        scenario.stock.feed,
        None if production is None else production / _YEAR,
    )


def _circulation(solved: Solved, k: int) -> float:
    """The greatest flow that passes one place of the loop."""
    system = solved.compiled.system
    flows = solved.flows[:, k]
    out_of = np.zeros(system.nodes + 1)
    into = np.zeros(system.nodes + 1)
    np.add.at(out_of, system.up, np.maximum(flows, 0.0))
    np.add.at(out_of, system.down, np.maximum(-flows, 0.0))
    np.add.at(into, system.down, np.maximum(flows, 0.0))
    np.add.at(into, system.up, np.maximum(-flows, 0.0))
    return float(np.maximum(out_of[:-1], into[:-1]).max(initial=0.0))


def _crossing(solved: Solved, k: int, circulation: float) -> Iterable[tuple[str, float]]:
    """What leaves (less than zero: comes in) where a level is given from outside."""
    graph, system = solved.compiled.graph, solved.compiled.system
    nodes = [int(n) for n in np.flatnonzero(system.outside[:-1])]
    nodes += [int(v.nodes[0]) for v in system.volumes]
    for node in nodes:
        found = graph.nodes[node].basin
        leaves = float(solved.state.exchanges[node, k])
        if abs(leaves) <= _UNSOLVED * circulation:
            leaves = 0.0
        yield found[0] if found else graph.nodes[node].name, leaves


def _in_passages(solved: Solved, k: int) -> float:
    """Water in channels and in pipes, which are taken to run full [m3]."""
    volume = 0.0
    for j, branch in enumerate(solved.compiled.graph.branches):
        if branch.law == "channel":
            volume += running_volume(solved, k, j)
        elif branch.law == "pipe":
            part = solved.compiled.passage(j, k)
            bore = float(part.params["diameter"])
            volume += math.pi / 4.0 * bore**2 * float(part.params["length"]) * part.units
    return volume


def _averaged(solved: Solved, k: int, levels: list[LevelRow], volume: float) -> Iterable[WaterLoss]:
    """The losses that are no exit of the solved loop."""
    state = solved.compiled.scenario.states[k]
    for name, element in state.elements.items():
        flow = element.waste(state.conditions)
        if flow > 0.0 and not is_out(solved.compiled, name, k):
            yield WaterLoss(name, element.waste_kind, flow, averaged=True)
    lost = solved.compiled.scenario.water_lost
    surface = sum(row.area for row in levels if row.wall_top is not None)
    for what, flow in (
        ("evaporation", _evaporation(lost, surface)),
        ("leakage", _leakage(lost, volume)),
    ):
        if flow > 0.0:
            yield WaterLoss("farm", what, flow, averaged=True)


def _evaporation(lost: WaterLost, surface: float) -> float:
    if lost.evaporation_rate is None:
        return lost.evaporation or 0.0
    return lost.evaporation_rate * (lost.evaporation_area or surface)


def _leakage(lost: WaterLost, volume: float) -> float:
    if lost.leakage_share is None:
        return lost.leakage or 0.0
    return lost.leakage_share * volume / DAY
