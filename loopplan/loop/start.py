"""Starting values: flows from the balance, levels by a sweep upstream from closed levels."""

from __future__ import annotations

from collections import deque

import numpy as np

from loopplan.laws import LAWS, Array
from loopplan.laws.airlift import AirliftLaw
from loopplan.loop.compile import System
from loopplan.loop.linear import Linear

_CURVE_SLOPE = 0.1
# Share of its middle flow that a lift with a curve gives up for each head of ease.


def start_flows(system: System) -> Array:
    """Return flows [m3/s] (branches, variants) that balance at every level.

    Given flows are kept; a lift with a curve starts in the middle of its curve; the rest
    is shared as a net does whose passages let through their flow at 0.1 m of head.
    """
    q = np.zeros((system.branches, system.variants))
    known = np.zeros(system.branches, dtype=bool)
    weight = np.ones_like(q)
    push = np.zeros_like(q)
    for group in system.groups:
        if group.law == "given":
            q[group.index] = group.params["flow"] * group.units
            known[group.index] = True
        elif group.law == "curve":
            flows, heads = group.params["flows"], group.params["heads"]
            middle = 0.6 * flows[-1] * group.params["speed"] * group.units
            push[group.index] = np.where(heads[-1] + heads[0] > 0.0, middle, 0.0)
        law = LAWS[group.law]
        if isinstance(law, AirliftLaw):
            push[group.index] = law.middle(group.params) * group.units
        if group.law != "given":
            ease = LAWS[group.law].ease(group.params, q[group.index]) * group.units
            weight[group.index] = np.maximum(ease, 1e-9)
    weight = np.where(push > 0.0, _CURVE_SLOPE * push, weight)
    known[system.free] = True
    spread = np.flatnonzero(~known)
    free = np.zeros_like(q)
    free[system.free] = 1.0
    given = q + push + _shared(system, spread, weight, q + push)
    if not system.free.size:
        return given
    # Nothing says what a lift carries that keeps a level: as much as costs the tightest
    # passage on its way the head of ease.
    trial = free + _shared(system, spread, weight, free)
    most = (np.abs(trial) / weight)[spread].max(axis=0, initial=0.0)
    started: Array = given + trial / np.maximum(most, 1e-9)
    return started


def _shared(
    system: System, spread: np.ndarray[tuple[int], np.dtype[np.intp]], weight: Array, known: Array
) -> Array:
    """Flows of the branches in `spread` that balance the known ones."""
    n = system.nodes
    source = np.zeros((n + 1, system.variants))
    np.add.at(source, system.down, known)
    np.subtract.at(source, system.up, known)
    potential = _spread(system, spread, weight, source[:n])
    q = np.zeros_like(known)
    q[spread] = weight[spread] * (potential[system.up[spread]] - potential[system.down[spread]])
    return q


def _spread(
    system: System, spread: np.ndarray[tuple[int], np.dtype[np.intp]], weight: Array, source: Array
) -> Array:
    """Potentials of a net of resistances, outside and outside levels at zero."""
    n = system.nodes
    ground = np.append(system.outside[:-1], True)
    up, down, w = system.up[spread], system.down[spread], weight[spread]
    potential = np.zeros((n + 1, system.variants))
    free = np.flatnonzero(~ground)
    number = np.full(n + 1, -1)
    number[free] = np.arange(free.size)
    if not free.size:
        return potential
    a, b = number[up], number[down]
    # A trace of leakage grounds nets that nothing grounds.
    leak = 1e-9
    own = np.arange(free.size)
    rows, columns, values = [own], [own], [np.full((free.size, system.variants), leak)]
    for i, j in ((a, b), (b, a)):
        keep = i >= 0
        rows.append(i[keep])
        columns.append(i[keep])
        values.append(w[keep])
        both = keep & (j >= 0)
        rows.append(i[both])
        columns.append(j[both])
        values.append(-w[both])
    net = Linear(np.concatenate(rows), np.concatenate(columns), free.size, system.variants)
    potential[free] = net.factor(np.concatenate(values)).solve(source[free])
    return potential


def start_heads(system: System, q: Array) -> Array:
    """Return heads [m] (nodes + 1, variants) by a sweep from the closed levels."""
    least = np.full(q.shape, -np.inf)
    loss = np.zeros(q.shape)
    tie = [""] * system.branches
    for group in system.groups:
        low, drop = LAWS[group.law].start(group.params, q[group.index] / group.units)
        least[group.index], loss[group.index] = low, drop
        for j in group.index.tolist():
            tie[j] = LAWS[group.law].tie
    heads = system.ground.copy()
    heads[system.fixed] = system.levels[system.fixed]
    known = system.fixed.tolist()
    # Plain lists: this walk goes from level to level, and arrays are slow at that.
    up, down = system.up.tolist(), system.down.tolist()
    into: list[list[int]] = [[] for _ in range(system.nodes + 1)]
    out: list[list[int]] = [[] for _ in range(system.nodes + 1)]
    for j in range(system.branches):
        if tie[j] in ("level", "cut"):
            into[down[j]].append(j)
            out[up[j]].append(j)
    queue = deque(i for i, is_known in enumerate(known) if is_known)
    cuts = iter([j for j in range(system.branches) if tie[j] == "cut"])
    blank = iter(range(system.nodes))
    while True:
        while queue:
            node = queue.popleft()
            for j in into[node]:
                a = up[j]
                if not known[a]:
                    heads[a] = np.maximum(least[j], heads[node] + loss[j])
                    known[a] = True
                    queue.append(a)
            for j in out[node]:
                b = down[j]
                if not known[b] and tie[j] == "level":
                    heads[b] = heads[node] - loss[j]
                    known[b] = True
                    queue.append(b)
        j_cut = next((j for j in cuts if not known[up[j]]), None)
        if j_cut is not None:
            a = up[j_cut]
            heads[a] = least[j_cut]
        else:
            found = next((i for i in blank if not known[i]), None)
            if found is None:
                return heads
            a = found
        known[a] = True
        queue.append(a)
