"""Kinds of findings about the water balance."""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

_PRACTICE = "common practice, no source"
_BALANCE = "water balance of the loop, closed form"

declare_finding(
    "wash-beyond-replacement",
    "more water is lost than enters",
    Severity.SEVERE,
    cause="Wash water, purge, sludge, evaporation and leakage together are more than the "
    "replacement.",
    effect="The levels fall from day to day until a lift draws air, or someone tops up with water "
    "that is not in the permit.",
    cure="Wash less often or with less water, thicken the sludge and lead its water back, seal "
    "what leaks, or raise the make-up.",
    source=_BALANCE,
)
declare_finding(
    "wash-takes-replacement",
    "wash water and other losses take most of the replacement",
    Severity.WARNING,
    cause="Wash water, purge, sludge, evaporation and leakage leave little of the make-up to be "
    "drained at will.",
    effect="The replacement follows the washing and not the water quality: little is left to drain "
    "against nitrate, and a season of heavy washing takes it all.",
    cure="Check what one wash takes and how often it runs, wash at a higher differential, or plan "
    "more make-up.",
    source=_PRACTICE,
)
declare_finding(
    "make-up-short",
    "the make-up does not cover all that leaves",
    Severity.SEVERE,
    cause="Stated exits are fixed and take their share of the replacement first; the averaged "
    "losses do not find room in what is left.",
    effect="The levels fall from day to day, whatever the solved state shows.",
    cure="Raise the make-up, or lower the stated discharge by as much as the losses take.",
    source=_BALANCE,
)
declare_finding(
    "water-counted-twice",
    "water may be counted twice",
    Severity.NOTE,
    cause="An exit in a flow path carries the same thing that another element states as a mean of "
    "its own.",
    effect="If both mean the same water, the balance shows more loss than there is.",
    cure="Keep one of the two: the exit where the levels feel the flow, else the stated mean. "
    "Leave both where they are different water.",
    source="manner of counting, docs/scenario-file.md",
)
