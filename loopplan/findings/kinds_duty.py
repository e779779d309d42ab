"""The kinds of findings about duty states: what a state cannot do, and what it asks of the sump."""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

_VOLUMES = "water stored in basins and channels as solved, closed form"

declare_finding(
    "lift-stands-still",
    "a lift carries no water: its check valve is held shut",
    Severity.WARNING,
    cause="The head that the other lifts hold behind its check valve is more than its curve gives "
    "at no flow.",
    effect="It takes power, moves nothing and heats the water in its casing; what the state counts "
    "on it for is not there.",
    cure="Stop it in this state, raise its speed, or choose lifts whose curves end at like heads.",
    source="solved: the lift's curve at no flow against the head across it and its valve",
)
declare_finding(
    "flow-share-idle",
    "the share of flow that a duty state asks for does not reach a lift",
    Severity.NOTE,
    cause="The share is of flows that are given; this lift has a curve, or keeps a level with no "
    "given flow to follow.",
    effect="The state is solved with that lift as it is, so that it says less about low or peak "
    "flow than its name does.",
    cure="Give the lift another speed in that state, or fewer units, under `change`.",
    source="definition of the duty state",
)
declare_finding(
    "state-left-out",
    "a duty state that belongs to every plan could not be solved",
    Severity.WARNING,
    cause="With a unit out of service, its sills out of level or its water low or high the loop "
    "does not close.",
    effect="The loop may not run like that at all, and nothing in this plan tells what would "
    "happen.",
    cure="Read the reason; give the loop a way round, or name the duty states that matter in the "
    "file.",
    source="solved: what the solver says of that state",
)
declare_finding(
    "sump-swing-dry",
    "the sump cannot give what the rest of the loop takes up",
    Severity.WARNING,
    cause="From one duty state to another tanks, filters and channels hold more water, and the "
    "sump falls below what its lifts need before they have it.",
    effect="The lifts draw air until make-up has brought the difference, which may take hours.",
    cure="Enlarge the sump, run it higher, or keep the levels above it steadier: longer sills, "
    "less loss through filters.",
    source=_VOLUMES,
)
declare_finding(
    "sump-swing-over",
    "the sump cannot take what the rest of the loop gives up",
    Severity.WARNING,
    cause="From one duty state to another tanks, filters and channels hold less water, and the "
    "sump rises above its wall, or above its overflow.",
    effect="Water runs over at every such change and is missing when the loop goes back, until "
    "make-up has replaced it.",
    cure="Enlarge the sump, raise its wall or its overflow, or keep the levels above it steadier.",
    source=_VOLUMES,
)
