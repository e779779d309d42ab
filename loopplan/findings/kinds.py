"""The kinds of findings: what each means, what comes of it, and what helps.

Limits are not here: they belong to the checks and to the farm's own `limits`.
"""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

_PRACTICE = "common practice, no source"
_MECHANICS = "open-channel hydraulics, closed form"

declare_finding(
    "velocity-low",
    "water moves too slowly to carry its solids",
    Severity.WARNING,
    cause="The section is large for the flow of this duty state.",
    effect="Faeces and feed settle, rot and shed fines and ammonia; in salt water sludge can form "
    "hydrogen sulphide, which kills fish and people.",
    cure="Make the section smaller (a dividing channel: in steps along it), bring lines together, "
    "or plan access and a flow for flushing. "
    "Never enter a closed shaft or channel to clean it without gas measurement and a second "
    "person.",
    source=_PRACTICE,
)
declare_finding(
    "velocity-high",
    "water moves faster than the head can afford",
    Severity.WARNING,
    cause="The section is small for the flow of this duty state.",
    effect="Losses grow with the square of velocity and are paid for every hour of the year; in "
    "channels the surface drops and becomes uneven, and flocs are broken into fines.",
    cure="Take the next larger size or a second line, and compare its price with the lift it "
    "saves.",
    source=_PRACTICE,
)
declare_finding(
    "freeboard-short",
    "the wall stands less above the water than it should",
    Severity.WARNING,
    cause="The level in this duty state, with its losses downstream, comes close to the wall top.",
    effect="Waves, feeding fish, foam or a slightly blinded screen are enough for water and fish "
    "to go over.",
    cure="Raise the wall, lower the level that holds this basin up, or give it an overflow to a "
    "safe place.",
    source=_PRACTICE,
)
declare_finding(
    "level-above-wall",
    "the water would stand above the wall",
    Severity.SEVERE,
    cause="The losses downstream in this duty state need a higher level than the wall allows.",
    effect="The basin overflows: the flow of this state cannot be reached, and water is lost from "
    "the loop until the lift runs dry.",
    cure="Raise the wall, cut the losses downstream, or lower the flow; clean screens earlier.",
    source="levels and wall tops as given; closed form",
)
declare_finding(
    "weir-drowned",
    "the weir is drowned from below",
    Severity.WARNING,
    cause="The level below stands above the crest.",
    effect="The weir no longer fixes the level above it: changes downstream travel up to the tank, "
    "and its flow is no longer told by one level.",
    cure="Raise the crest, lower the level below, or accept it and measure levels on both sides.",
    source="Villemonte 1947 for the drowned flow",
)
declare_finding(
    "weir-out-of-range",
    "the weir works outside the range of its formula",
    Severity.WARNING,
    cause="Head, crest height or width is beyond what the discharge coefficient was measured for; "
    "at small heads the sheet clings to the crest.",
    effect="Flow and level have a larger error than the source states.",
    cure="Change crest length or height so that the head comes into the range, or calibrate the "
    "weir on site.",
    source="range of the weir formula in use",
)
declare_finding(
    "channel-critical",
    "the flow in the channel passes through critical depth",
    Severity.WARNING,
    cause="The channel is too steep, too narrow or ends in a free fall for this flow.",
    effect="The level above no longer depends on that below; standing waves or a jump make levels "
    "uneven and the surface loss hard to foretell.",
    cure="Widen or deepen the channel or raise the level at its end, unless the control is meant.",
    source=_MECHANICS,
)
declare_finding(
    "channel-overtops",
    "the water surface in the channel rises above its walls",
    Severity.SEVERE,
    cause="Slope and section cannot carry the flow of this duty state, or the level at the end "
    "backs up.",
    effect="Water leaves the loop over the walls; what arrives is less than the plan says.",
    cure="Raise the walls, widen the channel, or lower the level at its downstream end.",
    source=_MECHANICS,
)
declare_finding(
    "pipe-not-full",
    "the pipe does not run full",
    Severity.WARNING,
    cause="Part of the pipe lies above the head line, or its end is not below water.",
    effect="Air gathers at the high point or is drawn in: the flow is less and surges, and the "
    "full-pipe loss printed here is not what will be measured.",
    cure="Lay the pipe below the head line, drown both ends, vent high points, or plan a channel.",
    source="head line and pipe levels, closed form",
)
declare_finding(
    "basin-dry",
    "the basin runs dry",
    Severity.SEVERE,
    cause="The level that would balance the flows lies at or below the floor.",
    effect="Fish are stranded or the lift draws air and fails; the flows of this duty state do not "
    "exist.",
    cure="Hold the basin with a sill, lower the floor or the outlet, or give the lift a low-level "
    "stop.",
    source="water balance, closed form",
)
declare_finding(
    "airlift-lift-limit",
    "the airlift has to lift higher than airlifts do well",
    Severity.WARNING,
    cause="The losses round the loop ask for more lift than the depth of the riser supports.",
    effect="Flow falls steeply with every further centimetre, the need for air climbs, and a "
    "little fouling stops the circulation.",
    cure="Cut losses or lower the return level, deepen the shaft, or use a low-head propeller "
    "pump.",
    source=_PRACTICE,
)
declare_finding(
    "airlift-pressure",
    "the air supply does not reach the pressure that the airlift needs",
    Severity.SEVERE,
    cause="Depth of air entry and losses of pipes, filter and diffuser add up to more than the "
    "blower gives; starting against a full riser needs more than running.",
    effect="No air enters, or only after the level has dropped: the circulation does not start "
    "again by itself after a stop.",
    cure="Raise the air entry, widen the air pipes, or take a blower with reserve in pressure; "
    "keep a second one ready.",
    source="hydrostatic pressure at the air entry, closed form",
)
declare_finding(
    "exchange-small-level",
    "a millimetre of level over the sill is many times the replacement",
    Severity.WARNING,
    cause="The sill is long and its head small, so that the overflow answers strongly to level.",
    effect="A wave, a crest set a little wrong or a reading to the millimetre changes the "
    "replacement water by more than all of it.",
    cure="Shorten the sill or use a notch, or fix the replacement by a metered make-up and let the "
    "overflow follow.",
    source="slope of the weir law, closed form",
)
declare_finding(
    "reverse-flow",
    "water runs backwards here",
    Severity.SEVERE,
    cause="The head at the outlet is above that at the inlet in this duty state.",
    effect="Treated and untreated water mix or a stopped lift drains its basin; the element does "
    "not do its job.",
    cure="Check the levels, and give a stopped line a non-return flap, a siphon break or a sill.",
    source="solved flow, closed form",
)
declare_finding(
    "outside-range",
    "a formula is used outside the range of its source",
    Severity.WARNING,
    cause="Size, flow or temperature is beyond what the source measured or states.",
    effect="The stated error does not hold for this number.",
    cure="Treat it as an estimate: bring the design into the range, or get data of the maker or a "
    "measurement.",
    source="range stated by the source in use",
)
declare_finding(
    "head-wasted",
    "head is spent here that nothing needs",
    Severity.NOTE,
    cause="A free fall or a throttled fitting lies between two levels that could stand closer.",
    effect="Every centimetre is lifted back at all hours, and paid for.",
    cure="Lower the upstream level or raise the downstream one, as far as control of levels, "
    "degassing and the fouled state allow.",
    source="head budget, closed form",
)
declare_finding(
    "passes-high",
    "the water goes round more often than is usual",
    Severity.WARNING,
    cause="The replacement flow is very small beside the circulation, or one of them is mistyped.",
    effect="Nitrate, fine solids, colour and metals pile up; the result hangs on the replacement "
    "flow and on leaks that are hard to measure.",
    cure="Check both flows; if they are meant, look at what builds up and plan its removal. A "
    "usual upper bound is about 300 passes.",
    source=_PRACTICE,
)
declare_finding(
    "nozzle-pressure-short",
    "there is not enough head to drive the nozzles",
    Severity.WARNING,
    cause="The head before the nozzles is below what their jet velocity needs at this flow.",
    effect="The water in the tank turns too slowly to sweep solids to the outlet and to mix; the "
    "shares of the nozzles drift apart.",
    cure="Raise the feeding level, take larger or more nozzles, or give the nozzles a lift of "
    "their own.",
    source="jet head v2/2g over the nozzle's coefficient, closed form",
)
declare_finding(
    "fall-short",
    "the drop is shorter than it has to be",
    Severity.WARNING,
    cause="The level below stands too near the lip, usually because what follows is fouled or the "
    "flow is higher than planned.",
    effect="Aeration, degassing or the air gap that the drop is there for falls short.",
    cure="Raise the lip, lower the level below, or cut the loss of what follows.",
    source="needed fall as stated in the file",
)
