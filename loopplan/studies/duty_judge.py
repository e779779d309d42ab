"""Findings about duty states: idle shares of flow, lifts that stand still, the sump's swing."""

from __future__ import annotations

from collections.abc import Iterable

from loopplan.findings import Finding, Severity, find
from loopplan.loop.solution import Solved
from loopplan.studies.results import StateResult
from loopplan.studies.swing_results import SumpSwing

_HAIR = 1e-3
"""Levels [m] closer than this count as one."""
_HOUR = 3600.0


def judge_states(solved: Solved) -> Iterable[Finding]:
    """Yield what duty states could not do."""
    for state, reason in solved.left_out:
        yield find(
            "state-left-out",
            "farm",
            state=state,
            message=f"the state '{state}' is left out, because it cannot be solved: {reason}",
        )
    yield from _still(solved)
    yield from _idle_shares(solved)


def _still(solved: Solved) -> Iterable[Finding]:
    compiled = solved.compiled
    for (j, k), valve in sorted(solved.standing.items()):
        branch, part = compiled.graph.branches[j], compiled.passage(j, k)
        run = (branch, compiled.graph.branches[valve])
        need = sum(float(solved.heads[b.down, k] - solved.heads[b.up, k]) for b in run)
        most = float(part.params["heads"][0] * part.params["speed"] ** 2)
        yield find(
            "lift-stands-still",
            branch.element,
            state=compiled.names[k],
            value=need,
            limit=most,
            unit="m",
            message=f"its check valve is held shut: {need:.3f} m stand across the two, and its "
            f"curve ends at {most:.3f} m at no flow",
        )


def _idle_shares(solved: Solved) -> Iterable[Finding]:
    compiled = solved.compiled
    lifts = {
        branch.element: (branch.law, j in compiled.system.free)
        for j, branch in enumerate(compiled.graph.branches)
        if compiled.scenario.elements[branch.element].role == "lift"
    }
    # One that keeps a level follows those whose flow is given.
    follows = any(law == "given" and not free for law, free in lifts.values())
    usual = compiled.scenario.states[0].elements
    for state in compiled.scenario.states:
        share = state.conditions.flow
        for name, (law, free) in lifts.items():
            idle = law == "curve" or (free and not follows)
            if share == 1.0 or not idle or state.elements[name] != usual[name]:
                continue
            why = "it runs on its curve" if law == "curve" else "it keeps a level"
            yield find(
                "flow-share-idle",
                name,
                state=state.name,
                value=100.0 * share,
                limit=100.0,
                unit="%",
                message=f"the state asks for {100.0 * share:.0f} % of the flow, and this lift is "
                f"left as it is: {why}",
            )


def judge_swing(swing: SumpSwing, states: Iterable[StateResult]) -> Iterable[Finding]:
    """Yield whether the swing of a sump fits between what its lifts need and its wall."""
    make_up = {state.name: state.balance.replacement for state in states}
    low, high = swing.low, swing.high
    if swing.refilled <= swing.need + _HAIR:
        yield find(
            "sump-swing-dry",
            swing.element,
            state=low.state,
            value=swing.refilled,
            limit=swing.need,
            unit="m",
            message=f"the rest of the loop takes up {low.given:.2f} m3 of its water"
            + (f", after {swing.spilled:.2f} m3 ran over" if swing.spilled > 0.0 else "")
            + f": it would fall to {swing.refilled:.3f} m, and {swing.need:.3f} m are needed"
            + brought_in(low.given + swing.spilled, make_up[low.state]),
        )
    for name in swing.unsolved:
        yield find(
            "sump-swing-dry",
            swing.element,
            state=name,
            message="with the water that the loop holds in the first state, no level of this "
            "sump could be found",
        )
    if high.level > swing.wall_top - _HAIR:
        yield find(
            "sump-swing-over",
            swing.element,
            state=high.state,
            value=high.level,
            limit=swing.wall_top,
            unit="m",
            message=f"the rest of the loop gives up {-high.given:.2f} m3: it would rise to "
            f"{high.level:.3f} m, and its wall top is {swing.wall_top:.3f} m",
        )
    elif swing.overflow is not None and swing.spilled > 0.0:
        yield find(
            "sump-swing-over",
            swing.element,
            severity=Severity.NOTE,
            state=high.state,
            value=high.level,
            limit=max(swing.overflow, swing.usual),
            unit="m",
            message=f"it would rise to {high.level:.3f} m, above its overflow: {swing.spilled:.2f} "
            "m3 run over, and are missing when the loop goes back"
            + brought_in(swing.spilled, make_up[high.state]),
        )


def brought_in(volume: float, flow: float) -> str:
    """Say how long the replacement [m3/s] takes to bring a volume [m3]; nothing without any."""
    if flow <= 0.0:
        return ""
    time = volume / flow
    told = f"{time / _HOUR:.1f} h" if time >= _HOUR else f"{time / 60.0:.0f} min"
    return f"; replacement brings that in {told}"
