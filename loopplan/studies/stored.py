"""How much water a loop holds in each duty state: its basins, and its channels as they run."""

from __future__ import annotations

import numpy as np

from loopplan.laws import Array
from loopplan.loop.compile import LawGroup
from loopplan.loop.solution import Solved
from loopplan.loop.solve import State
from loopplan.physics.channels import depth_from_energy
from loopplan.physics.sections import Section


class Stored:
    """The water of a solved loop, and what it would be in other states of the same system.

    Pipes run full and hold always the same. Units that are fewer than in the first state stand
    full, as they ran there; so does what is cut off, at the level that it comes to stand at.
    """

    def __init__(self, solved: Solved, sump: int) -> None:
        """`sump` is the node of the basin whose water may fall below its floor, as a number."""
        self.solved = solved
        compiled, variants = solved.compiled, solved.compiled.system.variants
        elements = compiled.scenario.elements
        self.nodes = [
            i
            for i, n in enumerate(compiled.graph.nodes)
            if n.basin is not None and elements[n.basin[0]].role != "water"
        ]
        self.areas, self.floors = np.zeros((2, len(self.nodes), variants))
        for row, i in enumerate(self.nodes):
            for k in range(variants):
                basin = compiled.basin(i, k)
                assert basin is not None
                self.areas[row, k], self.floors[row, k] = basin.area * basin.units, basin.floor
        self._least = np.where(np.array(self.nodes) == sump, -np.inf, 0.0)[:, None]
        self._channels = [g for g in compiled.system.groups if g.law == "channel"]
        self._apart = self._standing_apart()

    def water(self, state: State) -> Array:
        """Return the water in all basins and channels [m3] of each duty state."""
        heads = self.heads(state)
        depth = np.maximum(heads[self.nodes] - self.floors, self._least)
        total: Array = (self.areas * depth).sum(axis=0) + self._apart
        for group in self._channels:
            total += (_in_one_channel(group, heads, state.flows) * group.units).sum(axis=0)
        return total

    def heads(self, state: State) -> Array:
        """Return the heads of a state [m], with levels that are cut off where they stand."""
        isolated = self.solved.compiled.isolated
        if isolated is None:
            return state.heads
        return np.where(isolated, self.solved.heads, state.heads)

    def _standing_apart(self) -> Array:
        """Water [m3] in the units that do not run."""
        state = self.solved.state
        depth = np.maximum(state.heads[self.nodes, :1] - self.floors[:, :1], 0.0)
        total: Array = ((self.areas[:, :1] - self.areas) * depth).sum(axis=0)
        for group in self._channels:
            one = _in_one_channel(group, state.heads, state.flows)[:, :1]
            total += (one * (group.units[:, :1] - group.units)).sum(axis=0)
        return total


def _in_one_channel(group: LawGroup, heads: Array, flows: Array) -> Array:
    """Water [m3] in one unit of each channel: the mean area of its two ends times its length.

    The depth at an end has the head there for its energy, or for its level where the channel
    runs into still water; it is never below critical.
    """
    p = group.params
    section = Section(p["width"], p["side_slope"], p["diameter"])
    flow = np.abs(flows[group.index] / group.units)
    total = np.zeros(flow.shape)
    for nodes, floor, still in (
        (group.up, p["floor_up"], p["thrust_up"]),
        (group.down, p["floor_down"], np.maximum(p["to_basin"], p["thrust_down"])),
    ):
        head = np.maximum(heads[nodes] - floor, 1e-9)
        depth = depth_from_energy(head, flow, section).depth
        total += section.area(np.where(still > 0.0, np.maximum(head, depth), depth))
    return np.asarray(total / 2.0 * p["length"])
