"""All element kinds, by explicit import: a new kind is one file and one line here."""

from __future__ import annotations

from typing import get_args

from loopplan.declare import Element
from loopplan.elements.beds import MediaBed, MovingBed
from loopplan.elements.channel import Channel
from loopplan.elements.cone import OxygenCone
from loopplan.elements.drum import DrumFilter
from loopplan.elements.dual_drain import CentreDrain, SideBox
from loopplan.elements.exchange import Discharge, MakeUp
from loopplan.elements.fall import Fall
from loopplan.elements.line_channels import CollectingChannel, DividingChannel
from loopplan.elements.loss import Loss
from loopplan.elements.manifold import CollectingManifold, DividingManifold
from loopplan.elements.nozzles import Nozzles
from loopplan.elements.one_way import CheckValve, FlapValve
from loopplan.elements.opening import Opening
from loopplan.elements.overflow import Overflow
from loopplan.elements.pipe import Pipe
from loopplan.elements.plates import Degasser, LowHeadOxygenator
from loopplan.elements.settling import SettlingBasin
from loopplan.elements.siphon import Siphon
from loopplan.elements.standpipe import Standpipe
from loopplan.elements.strainers import BarRack, Screen
from loopplan.elements.sumps import Box, OpenWater, Sump
from loopplan.elements.tanks import Raceway, RoundTank
from loopplan.elements.uv import UVUnit
from loopplan.elements.valve import Valve
from loopplan.elements.weir import Weir
from loopplan.lifts.lift import Lift

_ALL: tuple[type[Element], ...] = (
    Raceway,
    RoundTank,
    Sump,
    Box,
    OpenWater,
    Channel,
    DividingChannel,
    CollectingChannel,
    Pipe,
    DividingManifold,
    CollectingManifold,
    Valve,
    CheckValve,
    FlapValve,
    Weir,
    Overflow,
    CentreDrain,
    SideBox,
    Fall,
    Opening,
    Nozzles,
    BarRack,
    Screen,
    MovingBed,
    MediaBed,
    DrumFilter,
    SettlingBasin,
    Degasser,
    LowHeadOxygenator,
    OxygenCone,
    UVUnit,
    Siphon,
    Standpipe,
    Loss,
    MakeUp,
    Discharge,
    Lift,
)


def _register(kinds: tuple[type[Element], ...]) -> dict[str, type[Element]]:
    found: dict[str, type[Element]] = {}
    for cls in kinds:
        (kind,) = get_args(cls.model_fields["kind"].annotation)
        if kind in found:
            raise TypeError(f"the kind '{kind}' is declared twice")
        found[kind] = cls
    return found


KINDS = _register(_ALL)
"""Every element kind by the word that stands in a file."""
