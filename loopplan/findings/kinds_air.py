"""The kinds of findings about the air supply."""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

_PRACTICE = "common practice, no source"
_SOLVED = "solved pressures and air flows of the header, closed form"

declare_finding(
    "blower-pressure-short",
    "the blower's rated pressure is below what its users ask for",
    Severity.SEVERE,
    cause="Water above the outlets of air, losses of diffusers, pipes and valves, and the intake "
    "filter add up to more than the blower may be run at.",
    effect="Air does not come out at the depth, or the relief valve blows it off; the motor is "
    "overloaded.",
    cure="Raise the outlets of air, widen the pipes, clean or change the diffusers, or take a "
    "blower of a higher rated pressure.",
    source=_SOLVED,
)
declare_finding(
    "blower-start-short",
    "the blower does not reach the pressure that it must start against",
    Severity.SEVERE,
    cause="Before the start water stands at its highest level above the outlets of air, and fills "
    "the drop pipe: that is more than the column of running.",
    effect="After a stop no air comes out, and the circulation does not begin again by itself.",
    cure="Take a blower, and set its relief valve, for the highest standing level; or raise the "
    "outlets of air.",
    source="standing water above the outlets, closed form",
)
declare_finding(
    "blower-air-short",
    "the blowers give less air than the users state",
    Severity.SEVERE,
    cause="Running blowers at the speed that they may have draw in less than the users add up to; "
    "height, heat and humidity thin the air, slip takes a share.",
    effect="Every user gets less than planned; an airlift moves less water.",
    cure="Take larger blowers or run one more, or state less air.",
    source=_SOLVED,
)
declare_finding(
    "blower-depth-varies",
    "a blower whose air hangs on pressure feeds users of varying pressure",
    Severity.WARNING,
    cause="A side-channel blower gives less air as the pressure rises, a turbo surges; the "
    "pressure at this header differs between duty states.",
    effect="The air differs from what is reckoned here (their rated air at any pressure), just "
    "when the water is deep or the diffusers are fouled.",
    cure="Take rotary lobes or screws for varying depth, hold the depth, or get the maker's curve "
    "for the whole range.",
    source=_PRACTICE,
)
declare_finding(
    "blower-speed-low",
    "the blower would run below its least speed",
    Severity.WARNING,
    cause="The stated air is little beside what the running blowers give at full speed.",
    effect="Rotary lobes overheat, turbos surge; air must be blown off, which is paid for.",
    cure="Run fewer blowers or smaller ones, or state the speed.",
    source="least speeds of the classes; common practice, no source",
)
declare_finding(
    "blower-motor-small",
    "the blower asks for more power than its motor is rated for",
    Severity.WARNING,
    cause="The stated motor is smaller than the shaft power of this duty state.",
    effect="The motor trips, and the header stands still.",
    cure="Take the next larger motor, or less speed or pressure.",
    source="shaft power by class, IEC 60072-1 sizes",
)
declare_finding(
    "blower-no-standby",
    "no blower stands by",
    Severity.SEVERE,
    cause="All blowers of the header are needed to run it.",
    effect="One belt, fuse or bearing stops the air; with an airlift the circulation goes with "
    "it, and the fish have minutes.",
    cure="Add one more blower than is needed, piped and wired, on a supply of its own, and an "
    "alarm on the header's pressure.",
    source=_PRACTICE,
)
declare_finding(
    "air-pipe-hot",
    "the air is too hot for the pipe",
    Severity.SEVERE,
    cause="Compression heats the air; plastic loses its strength, and there is no rating of its "
    "maker for air at this temperature.",
    effect="The pipe sags, bursts or shatters; people are burned or hit, and the air is gone.",
    cure="Use steel or stainless steel up to where the air has cooled, or a plastic that its maker "
    "rates for air at this temperature.",
    source="compression as an ideal gas, closed form; limits of plastics: common practice, no "
    "source",
)
declare_finding(
    "air-velocity-high",
    "the air is fast for its pipe",
    Severity.WARNING,
    cause="The bore is small for the air flow at its pressure and temperature.",
    effect="Noise, and pressure that is paid for every hour; users drift apart.",
    cure="Take the next larger bore, or a second pipe beside it.",
    source="Metcalf & Eddy, velocities in air headers, from memory",
)
declare_finding(
    "air-pipe-not-above-water",
    "the air pipe does not rise above the highest water",
    Severity.WARNING,
    cause="Between blower and water the pipe has no high point above the highest level.",
    effect="At a stop water siphons back through the pipe into the blower.",
    cure="Lead the pipe up over the highest water on its way, and fit a check valve as well.",
    source=_PRACTICE,
)
declare_finding(
    "air-user-short",
    "a user gets less air than it states",
    Severity.WARNING,
    cause="Air takes the easy way: in this duty state others stand less deep, are cleaner, or are "
    "turned on as well.",
    effect="Mixing and oxygen fall short there; at no air at all, nothing moves.",
    cure="Give deep and shallow users headers of their own, put more loss into valves or "
    "diffusers, or add air.",
    source=_SOLVED,
)
declare_finding(
    "air-wash-starves-airlift",
    "air that is turned on elsewhere takes the airlift's air",
    Severity.WARNING,
    cause="Another user of the same header is on in this state, and it stands less deep.",
    effect="The circulation drops for as long as that lasts; below stall it stops.",
    cure="Give it a blower of its own, start the standby blower for the time, or throttle it.",
    source=_SOLVED,
)
declare_finding(
    "air-moves-too-little",
    "the air that is supplied moves less water than is asked of the airlift",
    Severity.WARNING,
    cause="The air that the supply states for the airlift, or what it gets of its header, is less "
    "than its lift takes in this state.",
    effect="Less water goes round than the plan counts on: tanks turn over more slowly, with less "
    "oxygen and more waste in them.",
    cure="Supply more air, lower the lift, or plan with the smaller flow.",
    source=_SOLVED,
)
declare_finding(
    "relief-valve-due",
    "a relief valve for each blower is not stated",
    Severity.NOTE,
    cause="A blower that displaces a volume pushes against a shut valve until something gives.",
    effect="Motor, blower or pipe fail when a valve is shut or diffusers clog.",
    cure="Fit one to each blower before its first valve, set below its rated pressure and above "
    "the starting pressure.",
    source=_PRACTICE,
)
declare_finding(
    "check-valve-due",
    "a check valve for each blower is not stated",
    Severity.NOTE,
    cause="Blowers side by side, or water above the outlets, press back into one that stands.",
    effect="A standing blower turns backward and lets the header's air out, or takes water.",
    cure="Fit a check valve (non-return valve) behind each blower.",
    source=_PRACTICE,
)
