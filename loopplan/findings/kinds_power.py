"""The kinds of findings about a stop of every lift."""

from __future__ import annotations

from loopplan.findings.model import Severity, declare_finding

_VOLUMES = "volumes of standing water between the levels, closed form"

declare_finding(
    "sump-too-small",
    "the water that runs back when the lifts stop does not find room",
    Severity.SEVERE,
    cause="What the basins and channels above hold over their sills drains down, and the basin "
    "that takes it has less room below its wall top.",
    effect="At every stop of the power water runs over the wall, onto floors, electricity and "
    "out of the loop; it is missing when the lifts start again.",
    cure="Raise the wall, enlarge the basin or run it lower, raise the sills above it, or give "
    "it an overflow to a safe place.",
    source=_VOLUMES,
)
declare_finding(
    "flap-stuck-overflows",
    "one flap that sticks open lets water run over a wall when the lifts stop",
    Severity.WARNING,
    cause="Water runs back through the stopped lift down to its delivery level, and what it "
    "runs to has no room for it.",
    effect="A flap sticks sooner or later, by fouling or wear, and nobody sees it before the "
    "lifts stop: then water runs over a wall and a tank is drained.",
    cure="Lead the lift's outlet in above the water or fit a siphon break near the running "
    "level, and state its delivery level; test the flap by stopping the lift.",
    source=_VOLUMES,
)
declare_finding(
    "restart-short",
    "there is not water enough to start again",
    Severity.WARNING,
    cause="What left the loop after the stop is more than the basins that the lifts draw from "
    "can spare.",
    effect="The lifts draw air before the channels and tanks have filled: no circulation until "
    "make-up has brought the water back, and every minute counts for the fish.",
    cure="Hold the water where it is used: flaps, higher sills, siphon breaks, a larger sump; or "
    "keep a store of water, and know how long the make-up takes to bring it back.",
    source=_VOLUMES,
)
declare_finding(
    "drained-below",
    "a lift does not reach the water when it is to start again",
    Severity.SEVERE,
    cause="The basin that it draws from drains below the least level that the lift needs, or to "
    "its floor.",
    effect="The lift runs dry: no water, and a pump without it is damaged within minutes.",
    cure="Give the basin a sill or a flap that holds its water back, or set the lift lower.",
    source=_VOLUMES,
)
declare_finding(
    "make-up-opens-during-drain-back",
    "the float opens the make-up while the lifts stand still",
    Severity.WARNING,
    cause="The basin of the float comes to rest below the level at which its valve opens.",
    effect="New water runs in for as long as the stop lasts; when the lifts start again there is "
    "too much in the loop, and it runs over.",
    cure="Move the float to a basin that rises when the lifts stop, set it lower, or shut the "
    "make-up with the power.",
    source=_VOLUMES,
)
