"""Lifts that carry no water: held still by a check valve, or too weak for what is asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from loopplan.errors import NoSolution
from loopplan.laws import LAWS
from loopplan.loop.compile import Compiled, LawGroup
from loopplan.loop.solve import solve

if TYPE_CHECKING:
    from loopplan.loop.solution import Solved

_TRICKLE = 0.02
"""Share of the last flow of its curve at which a lift is asked whether it reaches up at all."""


def weak_lift(compiled: Compiled, k: int) -> NoSolution | None:
    """Return what to say of a lift whose curve ends below what even a trickle asks for."""
    system = compiled.system
    lifts = {
        j
        for j, b in enumerate(compiled.graph.branches)
        if b.law == "curve" and compiled.scenario.elements[b.element].role == "lift"
    } - set(system.free.tolist())
    if not lifts:
        return None
    groups: list[LawGroup] = []
    for group in system.groups:
        is_lift = np.isin(group.index, sorted(lifts))
        for rows, law in ((~is_lift, group.law), (is_lift, "given")):
            if not rows.any():
                continue
            beside = None
            if law == group.law:
                params = {n: v[..., rows, :] for n, v in group.params.items()}
                beside = None if group.beside is None else group.beside[rows]
            else:
                flow = _TRICKLE * group.params["flows"][-1] * group.params["speed"]
                params = {"flow": flow[rows]}
            index, units = group.index[rows], group.units[rows]
            ends = group.up[rows], group.down[rows]
            groups.append(LawGroup(law, index, *ends, params, units, beside))
    trickle = solve(replace(system, groups=tuple(groups)))
    if not trickle.converged[k]:
        return None
    for j in sorted(lifts):
        if compiled.is_closed(j, k):
            continue
        branch = compiled.graph.branches[j]
        part = compiled.passage(j, k)
        shut = part.params["heads"][0] * part.params["speed"] ** 2
        need = trickle.heads[branch.down, k] - trickle.heads[branch.up, k]
        if need > shut:
            reason = f"its curve ends at {shut:.3f} m at no flow, and {need:.3f} m are asked for"
            return NoSolution(branch.element, "head", reason, compiled.names[k])
    return None


def standing_lifts(solved: Solved, k: int) -> Iterable[tuple[int, int]]:
    """Yield each lift that carries no water because a check valve is shut, and that valve.

    Raises :class:`NoSolution` for a lift that would carry no water for another reason, or
    carry it backward.
    """
    compiled = solved.compiled
    scale = solved.state.circulation[k]
    lifts = [
        j
        for j, b in enumerate(compiled.graph.branches)
        if compiled.scenario.elements[b.element].role == "lift" and not compiled.is_closed(j, k)
    ]
    still = [j for j in lifts if solved.flows[j, k] <= 1e-9 * scale]
    for j in still:
        branch = compiled.graph.branches[j]
        # What the others of the farm carry is there to hold the valve shut.
        held = abs(solved.flows[j, k]) <= 1e-9 * scale and len(still) < len(lifts)
        valve = _shut_check_valve(solved, j, k) if branch.law == "curve" and held else None
        if valve is not None:
            yield j, valve
            continue
        need = solved.heads[branch.down, k] - solved.heads[branch.up, k]
        part = compiled.passage(j, k)
        shut = part.params["heads"][0] * part.params["speed"] ** 2 if branch.law == "curve" else 0.0
        reason = (
            f"{need:.3f} m are asked for and its curve ends at {shut:.3f} m: no water moves"
            if branch.law == "curve"
            else "the airlift stalls: its air moves no water over what stands behind it; blow in "
            "more, let it in deeper, or lower the lift"
            if LAWS[branch.law].lifts
            else "the level that it keeps asks for no flow, or for a flow backward"
        )
        raise weak_lift(compiled, k) or NoSolution(
            branch.element, "flow", reason, compiled.names[k]
        )


def _shut_check_valve(solved: Solved, lift: int, k: int) -> int | None:
    """A one-way passage in a lift's own run, before or after it, that is shut."""
    graph = solved.compiled.graph
    seen, stack = {lift}, [graph.branches[lift].up, graph.branches[lift].down]
    while stack:
        node = stack.pop()
        if graph.nodes[node].basin is not None:
            continue
        for j, branch in enumerate(graph.branches):
            if j in seen or node not in (branch.up, branch.down):
                continue
            if abs(solved.flows[j, k]) > 1e-9 * solved.state.circulation[k]:
                continue
            if branch.law == "one-way":
                return j
            seen.add(j)
            stack += [branch.up, branch.down]
    return None
