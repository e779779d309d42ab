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
declare_finding(
    "flow-share-idle",
    "the share of flow of this duty state changes nothing",
    Severity.NOTE,
    cause="A share of flow is of lifts with a given flow. Here every lift runs on its curve, keeps "
    "a level or serves a pressure need.",
    effect="The state shows the flow of the usual one under another name.",
    cure="Say in the state what changes: the speed or the count of a lift with a curve, the level "
    "that is kept, or the flow of a side stream.",
    source="duty states as given in the file",
)
