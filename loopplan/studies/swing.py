"""The swing of the sump: the loop's water stays the same, and the sump takes up the difference.

Tanks, channels and filters hold more or less water from one duty state to the next. Where
nothing enters or leaves, the basin that the lifts draw from gives or takes it. That level is
found by solving the loop again with the closure of that basin replaced by a level, which is
moved until the stored water is that of the first state.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loopplan.laws import Array
from loopplan.loop.solution import Solved
from loopplan.loop.solve import State, solve
from loopplan.loop.structure import groups_of_levels
from loopplan.physics.submergence import inlet_submergence
from loopplan.studies.stored import Stored
from loopplan.studies.swing_results import SumpLevel, SumpSwing

_ROUNDS = 8
"""Times that the sump's level is moved."""
_CLOSE = 4e-4
"""Level of the sump [m] to which its water is balanced."""
_FIRST = 0.1
"""Most that it is moved at first [m]."""
_FIT = 5e-4
"""Level [m] to which it must be, for a result."""
_FAR = 2e-3
"""Move of the level [m] from which on it tells how much water a metre holds."""
_LEAST_AREA = 1e-6


def sump_swings(solved: Solved) -> tuple[SumpSwing, ...]:
    """Return the swing of each basin that lifts draw from and that closes the loop's water.

    Those whose level a lift keeps have none, nor those that hang on open water. States that set
    the sump's level themselves are left out. Water stored in pipes does not change.
    """
    if len(solved.compiled.names) < 2:
        return ()
    return tuple(_Sump(solved, *found).swing() for found in _sumps(solved))


@dataclass(frozen=True)
class _Closure:
    """How a sump's water is closed: the node whose level is moved, sills, stored volumes."""

    node: int
    sills: tuple[int, ...]
    volumes: tuple[int, ...]


def _sumps(solved: Solved) -> Iterable[tuple[int, tuple[str, ...], _Closure]]:
    """Yield each suction basin with the lifts that draw from it, and its closure."""
    compiled = solved.compiled
    graph, system, elements = compiled.graph, compiled.system, compiled.scenario.elements
    group = groups_of_levels(system)
    drawn: dict[int, list[str]] = {}
    for branch in graph.branches:
        if elements[branch.element].role == "lift" and branch.up != system.nodes:
            node = _basin_before(solved, branch.up)
            if node is not None:
                drawn.setdefault(node, []).append(branch.element)
    kept = {c.at for c in compiled.scenario.closures if c.way == "kept level"}
    done: set[int] = set()
    for node, lifts in drawn.items():
        members = {i for i in range(system.nodes) if group[i] == group[node]}
        names = {graph.nodes[i].name for i in members}
        water = any(n in elements and elements[n].role == "water" for n in names)
        if group[node] in done or water or names & kept:
            continue
        sills = tuple(
            j
            for j, b in enumerate(graph.branches)
            if b.up in members and b.down == system.nodes and b.law != "given"
        )
        given = [i for i in members if system.outside[i]]
        volumes = tuple(n for n, v in enumerate(system.volumes) if int(v.nodes[0]) in members)
        if len(given) + bool(sills) + len(volumes) != 1:
            continue
        done.add(group[node])
        yield node, tuple(lifts), _Closure(given[0] if given else node, sills, volumes)


def _basin_before(solved: Solved, node: int) -> int | None:
    """The first basin at or before a node."""
    graph, seen, stack = solved.compiled.graph, {node}, [node]
    while stack:
        here = stack.pop(0)
        if graph.nodes[here].basin is not None:
            return here
        for branch in graph.branches:
            if branch.down == here and branch.up not in seen and branch.up < len(graph.nodes) - 1:
                seen.add(branch.up)
                stack.append(branch.up)
    return None


def _leads_to(solved: Solved, node: int, lifts: tuple[str, ...]) -> bool:
    """Whether a run leads to one of the lifts with no basin between."""
    graph, seen, stack = solved.compiled.graph, {node}, [node]
    while stack:
        here = stack.pop()
        if graph.nodes[here].basin is not None:
            continue
        for branch in graph.branches:
            if branch.up == here and branch.element in lifts:
                return True
            if branch.up == here and branch.down not in seen:
                seen.add(branch.down)
                stack.append(branch.down)
    return False


class _Sump:
    """One suction basin whose level is moved until the loop's water is what it was."""

    def __init__(
        self, solved: Solved, node: int, lifts: tuple[str, ...], closure: _Closure
    ) -> None:
        self.solved, self.node, self.lifts, self.closure = solved, node, lifts, closure
        self.stored = Stored(solved, node)

    def swing(self) -> SumpSwing:
        """Move the level until the water is that of the first state, in all states at once."""
        c, start, asked = self.closure.node, self.solved.state, self._asked()
        water = self.stored.water(start)
        due = water[0]
        level, miss = start.heads[c].copy(), water - due
        slope = self._slope()
        reached = start
        for number in range(_ROUNDS):
            move = np.where(asked & np.isfinite(miss), -miss / slope, 0.0)
            if number == 0:
                # The first slope is of what is tied for certain; more may rise with it.
                move = np.clip(move, -_FIRST, _FIRST)
            if np.abs(move).max(initial=0.0) <= _CLOSE:
                break
            tried = level + move
            state = self._solved_at(tried, reached)
            after = np.where(state.converged, self.stored.water(state) - due, np.nan)
            # Of a short move the difference is more of the rounding than of the water.
            far = np.abs(move) > _FAR
            gained = (after - miss) / np.where(far, move, 1.0)
            slope = np.where(far & (gained > 0.1 * slope), gained, slope)
            level, miss, reached = tried, after, state
        fits = np.abs(miss) / slope <= _FIT
        return self._result(reached, asked, fits, slope)

    def _asked(self) -> NDArray[np.bool_]:
        """States that leave the sump's level to the loop, and the sump in it."""
        compiled = self.solved.compiled
        first = compiled.scenario.states[0]
        return np.array(
            [
                (s.levels, s.volumes) == (first.levels, first.volumes)
                and not compiled.is_isolated(self.node, k)
                for k, s in enumerate(compiled.scenario.states)
            ]
        )

    def _slope(self) -> Array:
        """Plan area [m2] that rises with the sump, in a first guess: its group of levels."""
        system = self.solved.compiled.system
        found = np.zeros(system.variants)
        for k in range(system.variants):
            group = groups_of_levels(system, k)
            rises = [group[i] == group[self.node] for i in self.stored.nodes]
            found[k] = self.stored.areas[rises, k].sum()
        return np.maximum(found, _LEAST_AREA)

    def _solved_at(self, level: Array, start: State) -> State:
        """The loop with a level given where its water was closed, and no way out there."""
        system, c = self.solved.compiled.system, self.closure.node
        fixed, outside, levels = system.fixed.copy(), system.outside.copy(), system.levels.copy()
        fixed[c] = outside[c] = True
        levels[c] = level
        shape = (system.branches, system.variants)
        closed = np.zeros(shape, dtype=bool) if system.closed is None else system.closed.copy()
        closed[list(self.closure.sills)] = True
        volumes = tuple(v for n, v in enumerate(system.volumes) if n not in self.closure.volumes)
        heads, flows = start.heads.copy(), start.flows.copy()
        heads[c] = level
        flows[list(self.closure.sills)] = 0.0
        given = replace(
            system, fixed=fixed, outside=outside, levels=levels, closed=closed, volumes=volumes
        )
        return solve(given, start=replace(start, heads=heads, flows=flows))

    def _needs(self) -> Iterable[float]:
        """Levels [m] that the lifts, and the inlets of their suction pipes, must have."""
        solved, compiled = self.solved, self.solved.compiled
        for name in self.lifts:
            level = getattr(compiled.scenario.elements[name], "least_level", None)
            if level is not None:
                yield float(level)
        for j, branch in enumerate(compiled.graph.branches):
            invert = getattr(compiled.scenario.elements[branch.element], "inlet_level", None)
            if branch.up != self.node or branch.law != "pipe" or invert is None:
                continue
            if not _leads_to(solved, branch.down, self.lifts):
                continue
            for k in range(compiled.system.variants):
                part = compiled.passage(j, k)
                bore = float(part.params["diameter"])
                speed = abs(float(solved.flows[j, k])) / part.units / (np.pi / 4.0 * bore**2)
                yield float(invert) + 0.5 * bore + float(inlet_submergence(speed, bore))

    def _result(
        self, state: State, asked: NDArray[np.bool_], fits: NDArray[np.bool_], slope: Array
    ) -> SumpSwing:
        compiled = self.solved.compiled
        basin = compiled.basin(self.node, 0)
        assert basin is not None
        areas = self.stored.areas[self.stored.nodes.index(self.node)]
        usual = float(self.solved.heads[self.node, 0])
        heads = self.stored.heads(state)
        levels, unsolved = [], []
        for k, name in enumerate(compiled.names):
            if not asked[k]:
                continue
            if not fits[k]:
                unsolved.append(name)
                continue
            level = float(heads[self.node, k])
            levels.append(SumpLevel(name, level, float(areas[k]) * (usual - level)))
        high = max(range(len(levels)), key=lambda n: levels[n].level)
        crests = [
            float(compiled.passage(j, 0).params["crest"])
            for j in self.closure.sills
            if compiled.graph.branches[j].up == self.node
            and "crest" in compiled.passage(j, 0).params
        ]
        overflow = min(crests, default=None)
        spilled = 0.0
        if overflow is not None:
            area = float(slope[compiled.names.index(levels[high].state)])
            spilled = area * max(levels[high].level - max(overflow, usual), 0.0)
        low = min(levels, key=lambda s: s.level)
        area = float(slope[compiled.names.index(low.state)])
        return SumpSwing(
            compiled.graph.nodes[self.node].name,
            self.lifts,
            usual,
            tuple(levels),
            basin.floor,
            max([basin.floor, *self._needs()]),
            basin.wall_top,
            overflow,
            spilled,
            low.level - spilled / area,
            tuple(unsolved),
        )
