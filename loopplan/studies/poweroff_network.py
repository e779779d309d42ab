"""A solved loop as standing water: what stores it, and the ways that it can run down by.

Basins store water above their floors, channels above theirs; every other passage is a way
with a level that water must stand above to pass: a sill's crest, an opening's lower edge, a
screen's floor, none at all for a pipe. Places where passages meet without a basin hold no
water: the ways through them are joined end to end.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from loopplan.declare import Element
from loopplan.elements.manifold import FIRST
from loopplan.elements.one_way import OneWayFields
from loopplan.lifts.lift import Lift
from loopplan.loop.shut import NO_CONTROL, control_level, shut_branches
from loopplan.loop.solution import Solved
from loopplan.physics.sections import Section
from loopplan.studies.recheck import again
from loopplan.studies.settle import Store, Way

WALL = "wall:"
"""What stands before the name of a store whose water ran over its wall."""
_SLICES = 24
_LEAST_AREA = 1e-9


@dataclass(frozen=True)
class Place:
    """A store with a name: the element and its part, its kind, wall top and start level [m].

    `running` is the level that is printed for it; `node` its number in the network.
    """

    element: str
    part: str
    kind: str
    units: float
    store: Store
    level: float
    running: float
    wall_top: float | None
    node: int
    fish: bool


@dataclass
class Network:
    """Places by node, half-ways between nodes, and ways out of the loop by node."""

    places: list[Place] = field(default_factory=list)
    store_of: dict[int, int] = field(default_factory=dict)
    steps: dict[int, list[tuple[int, float, float]]] = field(default_factory=dict)
    outs: dict[int, list[tuple[str, float, float]]] = field(default_factory=dict)
    flaps: dict[str, tuple[int, int, float, float]] = field(default_factory=dict)
    """What a flap holds back, by its element: the step that it would be if it stuck open."""

    def step(self, start: int, end: int, control: float, weight: float) -> None:
        """Let water pass from one node to another above a level [m]."""
        self.steps.setdefault(start, []).append((end, control, weight))

    def with_stuck(self, name: str) -> Network:
        """Return the same standing water with the flap of an element open."""
        steps = {node: list(found) for node, found in self.steps.items()}
        flaps = {other: step for other, step in self.flaps.items() if other != name}
        net = replace(self, steps=steps, flaps=flaps)
        net.step(*self.flaps[name])
        return net

    def ways(self) -> list[Way]:
        """Return the ways from store to store, and out of the loop."""
        found: list[Way] = []
        for place in self.places:
            start = self.store_of[place.node]
            found += (
                Way(start, None, level, weight, name)
                for name, level, weight in self.outs.get(place.node, [])
            )
            found += self._from(place.node, start)
        return found

    def _from(self, node: int, start: int) -> Iterable[Way]:
        """Ways from one store through nodes that hold no water, each by its lowest control."""
        done: set[int] = set()
        # Lowest control first, so that each node is met first on its easiest way.
        queue = [(c, e, w) for e, c, w in self.steps.get(node, [])]
        heapq.heapify(queue)
        while queue:
            control, here, weight = heapq.heappop(queue)
            if here in done or here == node:
                continue
            done.add(here)
            if here in self.store_of:
                yield Way(start, self.store_of[here], control, weight)
                continue
            for name, level, share in self.outs.get(here, []):
                yield Way(start, None, max(control, level), min(weight, share), name)
            for end, level, share in self.steps.get(here, []):
                heapq.heappush(queue, (max(control, level), end, min(weight, share)))

    def stores_near(self, node: int, without: tuple[int, int] | None = None) -> list[int]:
        """Return the stores that a node is, or meets without another store between."""
        found, stack, seen = [], [node], {node}
        while stack:
            here = stack.pop()
            if here in self.store_of:
                found.append(self.store_of[here])
                continue
            for end in self._beside(here):
                if end not in seen and without not in ((here, end), (end, here)):
                    seen.add(end)
                    stack.append(end)
        return sorted(found)

    def _beside(self, node: int) -> list[int]:
        ends = [end for end, _, _ in self.steps.get(node, [])]
        return ends + [s for s, steps in self.steps.items() for e, _, _ in steps if e == node]


def _has_flap(element: Element) -> bool:
    if isinstance(element, Lift | OneWayFields):
        return element.has_flap
    return element.kind == "valve" and getattr(element, "type", "") == "swing check"


def network(solved: Solved, k: int) -> Network:
    """Return the standing water of one duty state, all flaps working."""
    compiled, net = solved.compiled, Network()
    elements = compiled.scenario.states[k].elements
    graph = compiled.graph
    water = _basins(solved, k, net)
    outside = compiled.system.nodes
    shut = shut_branches(graph, compiled.scenario.states[k])
    for j, branch in enumerate(graph.branches):
        if j in shut:
            continue
        element = elements[branch.element]
        weight = abs(float(solved.flows[j, k]))
        part = compiled.passage(j, k)
        if outside in (branch.up, branch.down):
            if element.role == "sink" and branch.law != "given":
                control = control_level(part.params)
                net.outs.setdefault(branch.up, []).append((branch.element, control, weight))
            continue
        if branch.law == "channel":
            _channel(solved, k, j, net)
            continue
        # Behind the first reach of a header water passes from branch to branch.
        first = not hasattr(element, "places") or branch.name == FIRST
        air = air_level(element, branch.name) if first else None
        control = control_level(part.params) if air is None else air
        if element.role == "lift":
            level = getattr(element, "delivery_level", None)
            control = NO_CONTROL if level is None else level
        # Forward through a stopped lift runs only what stands above its intake.
        intake = getattr(element, "intake_level", None)
        forward = control if intake is None else max(control, intake)
        for start, end, edge in (
            (branch.up, branch.down, forward),
            (branch.down, branch.up, control),
        ):
            # Open water takes what runs to it; what it could give is taken to be shut off.
            if start in water:
                continue
            if end in water:
                name, level = water[end]
                net.outs.setdefault(start, []).append((name, max(edge, level), weight))
            elif start == branch.down and _has_flap(element) and not part.name:
                net.flaps[branch.element] = (start, end, edge, weight)
            else:
                net.step(start, end, edge, weight)
    return net


def air_level(element: Element, name: str) -> float | None:
    """Level [m] at which air enters a pipe run: its stated inlet or siphon break.

    `name` is that of the run in its element. None where neither is stated.
    """
    # A basin's own inlet or outlet is a declaration of its own.
    run = getattr(element, name, element) if element.role == "basin" else element
    level = getattr(run, "inlet_level", None)
    level = getattr(run, "break_level", None) if level is None else level
    return None if level is None else float(level)


def _basins(solved: Solved, k: int, net: Network) -> dict[int, tuple[str, float]]:
    """Add the basins to the network; return open waters by node, with name and level."""
    compiled = solved.compiled
    elements = compiled.scenario.states[k].elements
    water = {}
    for i, node in enumerate(compiled.graph.nodes):
        basin = compiled.basin(i, k)
        if basin is None or node.basin is None:
            continue
        name = node.basin[0]
        element = elements[name]
        level = float(solved.heads[i, k])
        if element.role == "water":
            water[i] = (name, level)
            continue
        _add(
            net,
            Place(
                name,
                "",
                element.kind,
                basin.units,
                Store((basin.floor,), (max(basin.area * basin.units, _LEAST_AREA),)),
                min(max(level, basin.floor), basin.wall_top),
                level,
                basin.wall_top,
                i,
                bool(getattr(element, "fish", False)),
            ),
        )
    return water


def _add(net: Network, place: Place) -> None:
    net.store_of[place.node] = len(net.places)
    net.places.append(place)
    if place.wall_top is not None:
        name = f"{WALL}{len(net.places) - 1}"
        net.outs.setdefault(place.node, []).append((name, place.wall_top, 0.0))


def _channel(solved: Solved, k: int, j: int, net: Network) -> None:
    """Add a channel as a store between its two ends, holding what it held when it ran."""
    compiled = solved.compiled
    branch, part = compiled.graph.branches[j], compiled.passage(j, k)
    element = compiled.scenario.states[k].elements[branch.element]
    p = part.params
    low, high = sorted((p["floor_up"], p["floor_down"]))
    wall = getattr(element, "wall_top", None)
    top = max(wall if wall is not None else high, high) + 1.0
    store = _hypsometry(p, part.units, low, high, top)
    level = store.level(running_volume(solved, k, j))
    level = level if wall is None else min(level, wall)
    node = len(compiled.graph.nodes) + j
    weight = abs(float(solved.flows[j, k]))
    where = (branch.element, part.name, element.kind, part.units)
    _add(net, Place(*where, store, level, level, wall, node, False))
    for end, floor in ((branch.up, p["floor_up"]), (branch.down, p["floor_down"])):
        net.step(end, node, floor, weight)
        net.step(node, end, floor, weight)


def _hypsometry(p: Mapping[str, Any], units: float, low: float, high: float, top: float) -> Store:
    """A channel's plan area by height, in slices that hold its true volume."""
    length = p["length"] * units
    if high == low and not p["diameter"] and not p["side_slope"]:
        return Store((low,), (max(p["width"] * length, _LEAST_AREA),))
    section = Section(*(np.array(p[n]) for n in ("width", "side_slope", "diameter")))
    # Closer where the sloping floor falls dry, and up to a pipe's crown.
    marks = np.unique(np.concatenate([np.linspace(low, high, 9), np.linspace(high, top, _SLICES)]))
    along = (np.arange(64) + 0.5) / 64.0
    floors = p["floor_up"] + (p["floor_down"] - p["floor_up"]) * along
    depths = np.maximum(marks[:, None] - floors[None, :], 0.0)
    volumes = section.area(depths).mean(axis=1) * length
    areas = np.maximum(np.diff(volumes) / np.diff(marks), _LEAST_AREA)
    return Store(tuple(map(float, marks[:-1])), tuple(map(float, areas)))


def running_volume(solved: Solved, k: int, j: int) -> float:
    """Water in a channel that runs [m3]: mean area of its two ends times its length."""
    known = solved.channel_volumes
    if (j, k) not in known:
        known[j, k] = _running_volume(solved, k, j)
    return known[j, k]


def _running_volume(solved: Solved, k: int, j: int) -> float:
    compiled = solved.compiled
    branch, part = compiled.graph.branches[j], compiled.passage(j, k)
    p, flow = part.params, float(solved.flows[j, k]) / part.units
    up, down = (float(solved.heads[n, k]) for n in (branch.up, branch.down))
    worked = again("channel", p, flow, down, up)
    if flow and worked.velocity_up and worked.velocity_down:
        ends = [abs(flow / worked.velocity_up), abs(flow / worked.velocity_down)]
    else:
        section = Section(*(np.array(p[n]) for n in ("width", "side_slope", "diameter")))
        gaps = (up - p["floor_up"], down - p["floor_down"])
        ends = [float(section.area(np.array(max(gap, 0.0)))) for gap in gaps]
    return float(sum(ends) / 2.0 * p["length"] * part.units)
