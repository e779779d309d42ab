"""The kinds of findings about the devices at a lift."""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

_NONE = "common practice, no source"

declare_finding(
    "device-cannot-serve",
    "the device that is asked for cannot do what its lift asks",
    Severity.SEVERE,
    cause="Head, pressure, submergence, suction head, specific speed, curve or motor rule it out "
    "in at least one duty state.",
    effect="The loop does not get its water in that state.",
    cure="Take the device that is recommended, or change what rules this one out.",
    source="device models, each with its own sources",
)
declare_finding(
    "airlift-stalls-near",
    "an airlift is near the lift at which its air moves no water",
    Severity.SEVERE,
    cause="The flow of an airlift falls with every centimetre of lift, the faster the nearer it "
    "is to stalling; fouled filters and high water downstream add lift.",
    effect="A few centimetres more stop the flow of the whole farm, without any alarm from the "
    "blower.",
    cure="Install more air, set the diffusers deeper, lower the lift (cleaner or larger filters, "
    "wider channels), or take a pump.",
    source="drift-flux balance of the riser; the 5 cm are common practice, no source",
)
declare_finding(
    "airlift-bulks-over",
    "water and air together rise above the wall of the shaft",
    Severity.SEVERE,
    cause="Gas makes the column higher than the water alone, and the dry reserve is used up.",
    effect="Foam and water run over the shaft's wall.",
    cure="Raise the wall, widen the outlet half, or lower the outlet sill.",
    source="equal thrust over the sill, closed form",
)
declare_finding(
    "gas-pressure-high",
    "the gas pressure behind an airlift may pass the limit that is stated",
    Severity.WARNING,
    cause="Air that is pressed in at depth drives nitrogen and oxygen in beyond what water holds "
    "at the surface.",
    effect="Fish get gas bubbles in blood and gills; small excess over long time does harm too.",
    cure="Let the air in less deep, let water fall freely behind the airlift, strip gases before "
    "the tanks, or take a pump; and measure total gas pressure at the tanks.",
    source="Colt 2012, sum of partial pressures (from memory)",
)
declare_finding(
    "bubbles-carried-under",
    "water goes down the inlet half faster than bubbles rise",
    Severity.WARNING,
    cause="The inlet half is small for the flow.",
    effect="Bubbles that come with the water, or slip under the partition, are carried along and "
    "take away from the weight that drives the lift.",
    cure="Make the inlet half larger, or keep air out of the water that comes to it.",
    source="Harmathy 1960, rise of bubbles (from memory)",
)
declare_finding(
    "diffusers-below-partition",
    "diffusers lie lower than the edge of the partition",
    Severity.WARNING,
    cause="The diffusers are set below the opening through which water comes from the inlet half.",
    effect="Air gets into the inlet half and works against the lift.",
    cure="Set them at the height of the edge or above it, or let the partition reach deeper.",
    source=_NONE,
)
declare_finding(
    "shaft-level-differs",
    "water stands otherwise in a shaft than it is drawn",
    Severity.WARNING,
    cause="The floor, the depth and the dry reserve that are given do not go together with the "
    "level that the loop brings about.",
    effect="Air need and stall follow from the water that is there, not from the drawing: less "
    "depth takes more air, more depth uses up the reserve.",
    cure="Correct the floor, depth or dry reserve, or the level that the loop is closed with.",
    source=_NONE,
)
declare_finding(
    "airlift-beyond-data",
    "an airlift is driven harder than the data reach that its model was held against",
    Severity.NOTE,
    cause="Much air goes through a small riser.",
    effect="The model flatters it: churning flow moves less water than is computed.",
    cure="Make the riser larger, or take a pump.",
    source="docs/validation.md",
)
declare_finding(
    "pump-throttled",
    "a pump gives more head than its duty asks, and nothing trims it",
    Severity.NOTE,
    cause="Its curve at full speed lies above the duty, and it has no frequency converter.",
    effect="More water goes round than asked for, or head is throttled away; the power is paid "
    "either way.",
    cure="Choose a smaller pump or speed, trim it, or give it a converter.",
    source="affinity of pumps, closed form",
)
declare_finding(
    "pump-shut-off-power",
    "a propeller pump would overload its motor against a closed valve",
    Severity.NOTE,
    cause="The power of propeller pumps rises as the flow is throttled.",
    effect="A valve that is shut, or a flap that does not open, trips or burns the motor.",
    cure="Never start or run it shut: no valve on its way, or an interlock; or a larger motor.",
    source="shape of propeller pump curves, assumed (from memory)",
)
declare_finding(
    "bell-velocity",
    "the velocity in the mouth of a suction bell is unusual",
    Severity.WARNING,
    cause="The bell is small or large for the flow.",
    effect="Too fast: vortices and losses; too slow: solids settle.",
    cure="Choose the bell for about 1.7 m/s.",
    source="ANSI/HI 9.8, from memory",
)
