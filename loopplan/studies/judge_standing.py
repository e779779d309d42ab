"""Findings about what stands still: dead legs, and duty states that change nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loopplan.declare import Passage, Seen
from loopplan.findings import Finding, Severity, find
from loopplan.limits import Limits
from loopplan.loop.compile import Compiled
from loopplan.loop.side_streams import steady_lifts

_SALINE = 5.0
"""Salinity [g/kg] from which sulphate makes a dead leg severe; common practice, no source."""


def judge_standing(compiled: Compiled, seen: Sequence[Seen]) -> Iterable[Finding]:
    """Yield dead legs, from what was seen in all duty states, and shares that nothing follows."""
    yield from _dead_legs(compiled, seen)
    yield from _idle_shares(compiled)


def _dead_legs(compiled: Compiled, seen: Sequence[Seen]) -> Iterable[Finding]:
    limits = compiled.scenario.limits
    assert isinstance(limits, Limits)
    fastest: dict[tuple[str, str], float] = {}
    for view in seen:
        if isinstance(view.part, Passage) and view.part.law in ("channel", "pipe"):
            key = view.element, view.part.name
            fastest[key] = max(fastest.get(key, 0.0), abs(view.velocity or 0.0))
    saline = compiled.scenario.water.salinity >= _SALINE
    for (element, part), speed in fastest.items():
        if speed >= limits.dead_leg_velocity:
            continue
        words = getattr(compiled.scenario.elements[element], "reach_words", str)(part)
        where = f"in {words} " if words else ""
        moves = f"moves at {1000.0 * speed:.1f} mm/s at most" if speed >= 5e-5 else "stands"
        yield find(
            "dead-leg",
            element,
            value=speed,
            limit=limits.dead_leg_velocity,
            unit="m/s",
            severity=Severity.SEVERE if saline else None,
            message=f"water {where}{moves}, in every duty state"
            + ("; it is salt, and hydrogen sulphide forms" if saline else ""),
        )


def _idle_shares(compiled: Compiled) -> Iterable[Finding]:
    scenario, free = compiled.scenario, compiled.system.free
    steady = steady_lifts(scenario, compiled.graph)
    lifts = [
        j
        for j, b in enumerate(compiled.graph.branches)
        if scenario.elements[b.element].role == "lift"
    ]
    follows = any(
        compiled.graph.branches[j].law == "given"
        and j not in free
        and compiled.graph.branches[j].element not in steady
        for j in lifts
    )
    if not lifts or follows:
        return
    for state in scenario.states:
        if state.conditions.flow != 1.0:
            yield find(
                "flow-share-idle",
                "farm",
                state=state.name,
                value=state.conditions.flow,
                message=f"{100.0 * state.conditions.flow:.0f} % of the flow is asked for, and no "
                "lift follows a share of flow",
            )
