"""The head line along a pipe run: is it full at its crown, is its inlet deep enough?

Friction and fittings are spread evenly along the run; the loss of the entrance lies at its
start, the exit loss at its end.
"""

from __future__ import annotations

from collections.abc import Iterable

from loopplan.declare import Seen
from loopplan.elements._fittings import sum_of_fittings
from loopplan.findings import Finding, find

DEEPEST = -7.0
"""Pressure head at a crest [m] below which the column may break; common practice, no source."""

_CONTRACTED = 1.5
"""Velocity heads by which the pressure falls inside a sharp inlet: one, and its loss of 0.5."""


def pressure_line(seen: Seen, entrance: str, exit_: str, share: float) -> float:
    """Return the level [m] that the water would rise to in a standing tube at a place of the run.

    `share` [-] is the way from the inlet, 0 to 1, in the direction of the run. `entrance` and
    `exit_` are the words of the run's fields.
    """
    from loopplan.physics.constants import GRAVITY

    speed = seen.velocity or 0.0
    head = speed**2 / (2.0 * GRAVITY)
    # Only a basin's level is its head: the join of two pipes has a velocity head.
    start, end = seen.head_up, seen.head_down
    if seen.level_up == seen.head_up and entrance != "none" and speed > 0.0:
        start -= sum_of_fittings({f"{entrance} entrance": 1})[0] * head
    if seen.level_down == seen.head_down and exit_ != "none" and speed > 0.0:
        end += head
    return start + share * (end - start) - head


def check_crown(seen: Seen, crown: float, line: float, where: str) -> Iterable[Finding]:
    """Yield findings of a crown [m] above the pressure line [m] at its place."""
    if line >= crown:
        return
    yield find(
        "pipe-not-full",
        seen.element,
        state=seen.state,
        value=line,
        limit=crown,
        unit="m",
        message=f"the crown stands {crown - line:.3f} m above the head line at its place, {where}: "
        "air gathers there unless it is drawn off",
    )
    if line - crown < DEEPEST:
        yield find(
            "siphon-vacuum",
            seen.element,
            state=seen.state,
            value=line - crown,
            limit=DEEPEST,
            unit="m",
            message=f"the pressure at the crown is {line - crown:.2f} m of water",
        )


def check_inlet(seen: Seen, bore: float, invert: float) -> Iterable[Finding]:
    """Yield a finding of an inlet that can draw air: its lower edge `invert` [m], `bore` [m].

    The submergence is counted to the middle of the inlet. Where the water does not even stand
    above the upper edge by what the entrance takes, the run is not full, and that is severe.
    """
    from loopplan.findings import Severity
    from loopplan.physics.constants import GRAVITY
    from loopplan.physics.submergence import inlet_submergence

    speed = seen.velocity or 0.0
    if speed <= 0.0 or seen.level_up != seen.head_up:
        return
    needed = float(inlet_submergence(speed, bore))
    depth = seen.level_up - invert - 0.5 * bore
    if depth >= needed:
        return
    drawdown = _CONTRACTED * speed**2 / (2.0 * GRAVITY)
    bare = depth - 0.5 * bore < drawdown
    message = (
        f"{depth:.3f} m of water stand above the middle of the inlet, {needed - depth:.3f} m short"
    )
    if bare:
        message += "; its upper edge comes out of the water, the run is not full"
    yield find(
        "air-at-inlet",
        seen.element,
        state=seen.state,
        value=depth,
        limit=needed,
        unit="m",
        message=message,
        severity=Severity.SEVERE if bare else None,
    )
