"""The power-off study: every lift stops, and the water finds its rest by volume alone.

No time is stepped. Make-up and stated discharges stand still. Each duty state is a start,
first with all flaps working, then with each flap stuck open in turn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopplan.loop.solution import Solved
from loopplan.studies.oxygen_reserve import (
    CONSUMPTION_HIGH,
    CONSUMPTION_LOW,
    USABLE,
    oxygen_time,
)
from loopplan.studies.poweroff_network import WALL, Network, air_level, network
from loopplan.studies.poweroff_results import PlaceAtRest, PowerCase, PowerOff, Suction
from loopplan.studies.settle import Rest, settle

_HAIR = 1e-9
"""Levels [m] closer than this count as one."""


def power_off(solved: Solved) -> PowerOff | None:
    """Stop every lift in every duty state; None for a loop without a lift.

    Levels and volumes are of the loop as solved; see :mod:`loopplan.studies.settle` for how the
    water comes to rest.
    """
    compiled = solved.compiled
    if not any(e.role == "lift" for e in compiled.scenario.elements.values()):
        return None
    cases = tuple(power_case(solved, k) for k in range(len(compiled.names)))
    worst = max(cases, key=_badness)
    # One flap stuck is worst where the stop as such is.
    stuck = _stuck_cases(solved, compiled.names.index(worst.state))
    return PowerOff(
        cases,
        stuck,
        worst,
        max(stuck, key=_badness, default=None),
        USABLE,
        (CONSUMPTION_LOW, CONSUMPTION_HIGH),
    )


def _badness(case: PowerCase) -> tuple[float, ...]:
    drained = sum(max(p.drained, 0.0) for p in case.places)
    # Rounded, so that the last bits do not choose between like states.
    return tuple(round(v, 6) for v in (case.over_walls, case.short, case.lost, drained))


def power_case(solved: Solved, k: int) -> PowerCase:
    """Stop every lift in duty state number `k`, all flaps working."""
    net = network(solved, k)
    reached = _settled(solved, k, net, _Reached(Rest(tuple(p.level for p in net.places), {})))
    return _case(solved, k, "", net, reached)


def _stuck_cases(solved: Solved, k: int) -> tuple[PowerCase, ...]:
    """Each flap stuck open in turn: it lets go once all other water has come to rest."""
    net = network(solved, k)
    start = _Reached(Rest(tuple(p.level for p in net.places), {}))
    rest = _settled(solved, k, net, start)
    found = []
    for name in net.flaps:
        open_net = net.with_stuck(name)
        found.append(_case(solved, k, name, open_net, _settled(solved, k, open_net, rest)))
    return tuple(found)


@dataclass(frozen=True)
class _Reached:
    """Where the water stands, and the pipes that ran empty with their volume [m3]."""

    rest: Rest
    pipes: float = 0.0
    emptied: frozenset[int] = frozenset()


def _settled(solved: Solved, k: int, net: Network, start: _Reached) -> _Reached:
    """Let the water come to rest, and what pipes then lose with it."""
    stores, ways = [place.store for place in net.places], net.ways()
    levels, left = list(start.rest.levels), dict(start.rest.left)
    pipes, emptied = start.pipes, set(start.emptied)
    while True:
        after = settle(stores, levels, ways)
        for name, volume in after.left.items():
            left[name] = left.get(name, 0.0) + volume
        levels = list(after.levels)
        drained = _emptied_pipes(solved, k, net, levels, emptied)
        if not drained:
            return _Reached(Rest(after.levels, left), pipes, frozenset(emptied))
        for store, volume in drained:
            levels[store] = stores[store].level(stores[store].volume(levels[store]) + volume)
            pipes += volume


def _emptied_pipes(
    solved: Solved, k: int, net: Network, levels: list[float], emptied: set[int]
) -> list[tuple[int, float]]:
    """Pipes that run empty, as (store that takes their water, volume [m3]).

    A pipe does so when both waters fall below its stated inlet, or when air enters at the
    outlet or siphon break of a stopped lift above it. Where along it the pipe lies is not
    known: all of its water is taken to drain.
    """
    compiled = solved.compiled
    elements = compiled.scenario.states[k].elements
    found = []
    for j, branch in enumerate(compiled.graph.branches):
        if (
            branch.law not in ("pipe", "header")
            or j in emptied
            or compiled.system.nodes in (branch.up, branch.down)
        ):
            continue
        element = elements[branch.element]
        edge = air_level(element, branch.name)
        join = (branch.up, branch.down)
        sides = [net.stores_near(node, join) for node in join] if edge is not None else []
        into = None
        if edge is not None and all(sides):
            heights = [max(levels[s] for s in side) for side in sides]
            # One that stands at the inlet's lower edge lets air in as well.
            if max(heights) <= edge + _HAIR and min(heights) < edge - _HAIR:
                into = sides[heights.index(min(heights))][0]
        lift = _lift_before(solved, k, branch.up, net)
        if into is None and lift is not None:
            below, level = lift
            takers = net.stores_near(below)
            if takers and levels[takers[0]] < level:
                into = takers[0]
        if into is not None:
            part = compiled.passage(j, k)
            bore = part.params["diameter"]
            emptied.add(j)
            # A valve has no length of its own, though its law is a pipe's.
            length = 0.0 if element.kind == "valve" else part.params["length"]
            found.append((into, math.pi / 4.0 * bore**2 * length * part.units))
    return found


def _lift_before(solved: Solved, k: int, node: int, net: Network) -> tuple[int, float] | None:
    """The lift whose delivery line a node lies on, if water can run back through it.

    Returns the node that it draws from and its delivery level [m], None where none is stated.
    """
    compiled = solved.compiled
    elements = compiled.scenario.states[k].elements
    seen, stack = set(), [node]
    while stack:
        here = stack.pop()
        if here in seen or compiled.graph.nodes[here].basin is not None:
            continue
        seen.add(here)
        for branch in compiled.graph.branches:
            if branch.down != here or branch.element in net.flaps:
                continue
            element = elements[branch.element]
            if element.role == "lift":
                level = getattr(element, "delivery_level", None)
                if level is not None:
                    return branch.up, float(level)
            elif branch.law != "channel":
                stack.append(branch.up)
    return None


def _case(solved: Solved, k: int, stuck: str, net: Network, reached: _Reached) -> PowerCase:
    scenario, rest, pipes = solved.compiled.scenario, reached.rest, reached.pipes
    fish = sum(p.store.volume(p.level) for p in net.places if p.fish)
    places = []
    for number, (place, level) in enumerate(zip(net.places, rest.levels, strict=True)):
        running, stop = place.store.volume(place.level), place.store.volume(level)
        oxygen = None
        if place.fish and scenario.stock.biomass is not None and running > 0.0:
            own = scenario.stock.biomass * running / fish
            oxygen = (
                oxygen_time(USABLE, stop, own, CONSUMPTION_HIGH),
                oxygen_time(USABLE, stop, own, CONSUMPTION_LOW),
            )
        places.append(
            PlaceAtRest(
                f"{place.element}, {place.part}" if place.part else place.element,
                place.kind,
                place.units,
                place.running,
                level,
                running,
                stop,
                place.wall_top,
                None if place.wall_top is None else place.wall_top - level,
                rest.left.get(f"{WALL}{number}", 0.0),
                oxygen,
            )
        )
    suctions, least = _suctions(solved, k, net, rest)
    drawn = set(least)
    start = held = 0.0
    for number, (place, done) in enumerate(zip(net.places, places, strict=True)):
        if number in drawn:
            ready = done.stop_volume - place.store.volume(least[number])
            held += max(ready, 0.0)
        else:
            start += max(done.drained, 0.0)
            # What stands higher than it runs comes back by itself.
            held += max(-done.drained, 0.0)
    leaves = sorted((n, v) for n, v in rest.left.items() if not n.startswith(WALL) and v > 0.0)
    return PowerCase(
        solved.compiled.names[k],
        stuck,
        tuple(places),
        sum(p.over_wall for p in places),
        tuple(leaves),
        pipes,
        start + pipes,
        held,
        tuple(suctions),
    )


def _suctions(
    solved: Solved, k: int, net: Network, rest: Rest
) -> tuple[list[Suction], dict[int, float]]:
    """Where each lift draws from, and the least level [m] of each such store."""
    compiled = solved.compiled
    elements = compiled.scenario.states[k].elements
    found: list[Suction] = []
    least: dict[int, float] = {}
    for j, branch in enumerate(compiled.graph.branches):
        element = elements[branch.element]
        if element.role != "lift" or compiled.is_closed(j, k):
            continue
        for number in net.stores_near(branch.up, (branch.up, branch.down))[:1]:
            place = net.places[number]
            floor = place.store.bottoms[0]
            need = getattr(element, "least_level", None)
            need = floor if need is None else max(float(need), floor)
            # What stands below its intake cannot be drawn, whatever it needs to start.
            intake = getattr(element, "intake_level", None)
            out = need if intake is None else max(need, float(intake))
            least[number] = max(out, least.get(number, floor))
            found.append(Suction(branch.element, place.element, rest.levels[number], need))
    return found, least
