"""Kinds of findings about filters, plates, lamps, cones and siphons.

Limits are not here: they belong to the checks and to the farm's own fields.
"""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

_PRACTICE = "common practice, no source"

declare_finding(
    "bypass-flows",
    "water passes the drum filter unscreened",
    Severity.WARNING,
    cause="The level before the drum stands above the sill of its bypass.",
    effect="Solids go on into the biofilter, where they rot; if the sill stands below the level at "
    "which washing starts, the drum blinds for good.",
    cure="Raise the bypass sill above the level at which washing starts, wash earlier, or add "
    "screen area.",
    source="solved flow over the sill, closed form",
)
declare_finding(
    "drum-drowned",
    "the drum stands deeper in water than it should",
    Severity.WARNING,
    cause="The sill behind the drum is high or narrow for this flow, or what follows backs up.",
    effect="Too little screen is out of the water to be washed and drained; bearings and the "
    "trough for sludge come under water, and sludge runs back.",
    cure="Lower or widen the sill behind the drum, cut the losses after it, or set the drum "
    "higher.",
    source=_PRACTICE,
)
declare_finding(
    "drum-differential",
    "the differential across the drum is more than it bears",
    Severity.SEVERE,
    cause="Flow or blinding is beyond what washing can hold.",
    effect="Screen panels bulge and tear, and water finds its way past the seals.",
    cure="Wash earlier, add a drum, or give the inlet chamber a bypass sill below that level.",
    source="greatest differential as stated in the file",
)
declare_finding(
    "drum-overloaded",
    "the drum carries more than washing can keep clear",
    Severity.WARNING,
    cause="Even the clean screen loses more than the differential that starts the washing.",
    effect="It washes without end: more wash water, more wear, and no reserve for fouling.",
    cure="Add screen area, take a coarser cloth, or lower the flow.",
    source="clean loss and trigger as stated in the file",
)
declare_finding(
    "screen-overloaded",
    "more water passes the wet screen than is stated for it",
    Severity.WARNING,
    cause="The drum is small or stands too little in water for this flow.",
    effect="Solids are pressed through the cloth, and it washes more often.",
    cure="Add screen area, or raise the level around the drum within what it bears.",
    source="greatest loading as stated in the file",
)
declare_finding(
    "settling-overloaded",
    "the settling basin is too small for its flow",
    Severity.WARNING,
    cause="Flow over plan area is above the speed at which the solids settle.",
    effect="Faeces and flocs are carried on into the biofilter and break down there.",
    cure="Give it more plan area, lead less flow through it, or screen instead.",
    source=_PRACTICE,
)
declare_finding(
    "plate-overtopped",
    "water runs over the rim of the distribution plate",
    Severity.SEVERE,
    cause="Holes are too few, too small or blinded for this flow, or the water below stands up to "
    "the plate.",
    effect="Water falls past the packing in a sheet: it is not aerated or degassed, and may leave "
    "the loop.",
    cure="Add holes, clean them, or raise the rim.",
    source="head on the holes against the rim, closed form",
)
declare_finding(
    "plate-uneven",
    "water stands too shallow on the distribution plate",
    Severity.WARNING,
    cause="The area of the holes is large for this flow.",
    effect="A plate a few millimetres out of level, or a wave, leaves part of its holes dry, and "
    "the water falls on one side.",
    cure="Close some holes, or set the plate truer.",
    source=_PRACTICE,
)
declare_finding(
    "lamps-bare",
    "the lamps are not covered by water",
    Severity.SEVERE,
    cause="The level behind the lamps falls below their top in this duty state.",
    effect="Bare lamps overheat and foul, their light escapes, which harms eyes and skin, and the "
    "water is treated on part of their length only.",
    cure="Hold the level with a sill behind the unit, lower the lamps, or switch them by level.",
    source="level against the top of the lamps, closed form",
)
declare_finding(
    "cone-pressure-short",
    "the oxygen cone does not stand under the pressure that it needs",
    Severity.WARNING,
    cause="The throttle behind the cone and the level that it delivers to hold up too little at "
    "this flow.",
    effect="Less oxygen dissolves; gas leaves undissolved and collects at high points.",
    cure="Close the throttle further, and check that the pump and the cone bear it, or dissolve "
    "oxygen at low head. Pressure vessels and oxygen have rules of their own.",
    source="needed pressure as stated in the file",
)
declare_finding(
    "siphon-vacuum",
    "the vacuum at the crest of the siphon is too deep",
    Severity.SEVERE,
    cause="The crest stands too far above the head line.",
    effect="Gas and vapour leave the water at the crest, the column breaks, and the flow stops or "
    "surges.",
    cure="Lower the crest, or move losses from before the crest to behind it.",
    source="about 7 m of water at sea level; common practice, no source",
)
declare_finding(
    "siphon-not-primed",
    "the siphon does not start or go on by itself",
    Severity.SEVERE,
    cause="The crest stands above the water before it and nothing draws the air out, or the water "
    "has fallen to the siphon's break.",
    effect="After a stop no water comes, and the basin before it rises until it overflows.",
    cure="Lower the crest below the water, or give it a vacuum pump or a filling line, with an "
    "alarm.",
    source="level against crest, closed form",
)
declare_finding(
    "siphon-without-break",
    "nothing stops the siphon from emptying the basin before it",
    Severity.WARNING,
    cause="No break is stated, or it lies at the floor.",
    effect="When the lift stops or a pipe breaks, the siphon draws the basin down to its own "
    "mouth.",
    cure="Bore a break into the leg before the crest, at the lowest level that the fish can bear, "
    "and keep it clear.",
    source=_PRACTICE,
)
declare_finding(
    "standpipe-drowned",
    "the rim of the standpipe works no longer as a sill",
    Severity.WARNING,
    cause="The head over the rim is above a quarter of its diameter.",
    effect="The rim chokes and the level before it rises steeply with every further litre, with "
    "gulping and noise.",
    cure="Take a wider standpipe, widen its rim to a funnel, or set a second one.",
    source="overflow perimeter against area of a round pipe: equal at a quarter of the diameter, "
    "closed form",
)
