"""Kinds of findings about one-way passages, inlets of pipes and the make-up."""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

declare_finding(
    "one-way-shut",
    "the flap or check valve is shut",
    Severity.NOTE,
    cause="The head behind it, with what it takes to open it, is above the head before it.",
    effect="Nothing passes in this duty state; what should, stands still or goes another way.",
    cure="Fine where it is meant to hold water back. Else lower the level behind it, raise the "
    "level before it, or take a lighter flap.",
    source="heads on both sides, closed form",
)
declare_finding(
    "air-at-inlet",
    "the inlet of the pipe lies too shallow and can draw air",
    Severity.WARNING,
    cause="The water before the inlet stands less above it than its velocity asks for.",
    effect="Vortices draw air: the flow falls off and surges, pumps lose head and wear, and air "
    "that is pressed into the water supersaturates it with nitrogen, which harms fish.",
    cure="Lay the inlet deeper, raise the level, widen the inlet to a bell, or hold vortices off "
    "with a plate, a cross or a floating raft.",
    source="ANSI/HI 9.8, S = D (1 + 2.3 Fr), from memory",
)
declare_finding(
    "air-gap-short",
    "the outlet of the make-up stands too near the water",
    Severity.SEVERE,
    cause="The gap between the outlet and the highest water is less than twice its bore, or less "
    "than 20 mm.",
    effect="At a loss of pressure in the supply, water of the farm can be sucked back into it.",
    cure="Raise the outlet, lower the level or its overflow; measure from the highest water that "
    "a blocked overflow can reach. Local codes on backflow come first.",
    source="EN 1717, air gap of type AA, from memory",
)
declare_finding(
    "float-shut",
    "the float would shut the make-up at this level",
    Severity.WARNING,
    cause="The level stands above the one at which the float shuts.",
    effect="The stated flow of new water does not come in: the water goes round more often than "
    "reckoned.",
    cure="Set the float higher, or close the level by an overflow below it.",
    source="level and float as given, closed form",
)
declare_finding(
    "manifold-uneven",
    "like branches of the manifold carry unlike flows",
    Severity.WARNING,
    cause="The static head along the header changes too much beside the head that the branches "
    "lose: it rises toward the closed end of a dividing header, falls toward the outlet of a "
    "collecting one, and friction works on top.",
    effect="The units at one end get less water than the mean, and less oxygen with it.",
    cure="Widen the header, throttle each branch by an orifice or a nozzle (with less area in all "
    "than the header), or feed the header from its middle.",
    source="common practice, no source",
)
