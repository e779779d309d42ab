"""Kinds of findings that no single element can see: shares, dead legs, duty states."""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

declare_finding(
    "shares-uneven",
    "like units along a channel or pipe get unlike flows",
    Severity.WARNING,
    cause="The level along what feeds them rises where the water slows down, or falls by friction, "
    "by more than the head over their inlets makes up for; or the ways to them differ.",
    effect="The unit that gets least has least oxygen and most waste in its water, and sets how "
    "many fish all of them may hold; the others are fed water that they do not need.",
    cure="Widen the channel, so that it runs slower, but still fast enough for its solids; or "
    "throttle the inlets by shorter sills or narrower openings. Throttling is paid for in lift at "
    "all hours, widening once in concrete.",
    source="flows solved again with other sizes; limit: common practice, no source",
)
declare_finding(
    "lift-runs-downhill",
    "water would run through a lift by itself",
    Severity.WARNING,
    cause="The head behind the lift is below the head before it, and its flow is given.",
    effect="As stated, something has to hold the water back there; a pump would be driven as a "
    "turbine and carry more than is asked for.",
    cure="Leave the lift out and let a pipe, a valve or a sill set the flow; or look for what is "
    "missing behind it, or for a level that is wrong.",
    source="solved levels",
)
declare_finding(
    "dead-leg",
    "water stands in a pipe or channel in every duty state",
    Severity.WARNING,
    cause="Nothing is drawn at its end, it is shut, or heads on both its sides are the same.",
    effect="Sludge settles and rots without oxygen. In salt water its sulphate turns to hydrogen "
    "sulphide, in fresh water to a lesser degree; when the leg is opened or flushed into the loop, "
    "that kills fish within minutes, and people who stand over it.",
    cure="Take it out, end the channel at its last branch, or let some water run through it "
    "always. Else drain it, and flush it to the outside, never into the loop; measure gas before "
    "anyone opens it.",
    source="solved flow; the least velocity is common practice, no source",
)
