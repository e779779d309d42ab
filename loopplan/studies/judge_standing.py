"""Findings about water that stands still: dead legs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loopplan.declare import Passage, Seen
from loopplan.findings import Finding, Severity, find
from loopplan.limits import Limits
from loopplan.loop.compile import Compiled

_SALINE = 5.0
"""Salinity [g/kg] from which sulphate makes a dead leg severe; common practice, no source."""


def judge_standing(compiled: Compiled, seen: Sequence[Seen]) -> Iterable[Finding]:
    """Yield dead legs, from what was seen in all duty states."""
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
