"""Laws of passages: each written once over arrays, with its three slopes."""

from __future__ import annotations

from loopplan.laws.airlift import ShaftLaw, TubeLaw
from loopplan.laws.base import Array, Law, Params
from loopplan.laws.channel import ChannelLaw
from loopplan.laws.curve import CurveLaw
from loopplan.laws.drum import DrumLaw
from loopplan.laws.given import GivenLaw
from loopplan.laws.header import HeaderLaw
from loopplan.laws.loss import LossLaw
from loopplan.laws.one_way import OneWayLaw
from loopplan.laws.opening import OpeningLaw
from loopplan.laws.pipe import PipeLaw
from loopplan.laws.plate import PlateLaw
from loopplan.laws.strainer import StrainerLaw
from loopplan.laws.tap import TapLaw
from loopplan.laws.tee import TeeLaw
from loopplan.laws.weir import WeirLaw

LAWS: dict[str, Law] = {
    law.name: law
    for law in (
        PipeLaw(),
        LossLaw(),
        CurveLaw(),
        WeirLaw(),
        OpeningLaw(),
        OneWayLaw(),
        ChannelLaw(),
        StrainerLaw(),
        TapLaw(),
        HeaderLaw(),
        TeeLaw(),
        PlateLaw(),
        DrumLaw(),
        GivenLaw(),
        ShaftLaw(),
        TubeLaw(),
    )
}
"""Every law by name."""

__all__ = ["LAWS", "Array", "Law", "Params"]
