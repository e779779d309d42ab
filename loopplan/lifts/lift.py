"""Lift: where head is added. Its device is chosen later, or given."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Tag, field_validator

from loopplan.declare import (
    Conditions,
    Element,
    Ends,
    Part,
    Passage,
    as_written,
    kind_of,
    quantity,
    sub,
    word,
)
from loopplan.lifts.airlift import Shaft, Tube
from loopplan.lifts.assign import AIRLIFT, CENTRIFUGAL, PROPELLER
from loopplan.lifts.pumps import CentrifugalPump, PropellerPump, running
from loopplan.points import read_points

Airlift = Annotated[
    Annotated[Shaft, Tag("channel shaft")] | Annotated[Tube, Tag("tube")], Discriminator(kind_of)
]


class Lift(Element):
    """A lift with one of three duties: given flow, given curve, or keeping a level.

    One that keeps a level is named under `levels`; its flow is then the unknown, and none is
    stated here.
    """

    kind: Literal["lift"]
    flow: float | None = quantity(
        "flow", "Flow of one unit that the lift must carry.", unit="m3/h", default=None, above=0.0
    )
    curve: list[list[float]] = sub(
        "Points of flow and head of one unit, level to level.", default=[]
    )
    speed: float = quantity(
        "share",
        "Speed of a lift with a curve, as a share of the curve's.",
        unit="%",
        default="100 %",
        source="speed of the curve",
        above=0.1,
        most=1.5,
    )
    device: Literal["airlift", "propeller pump", "centrifugal pump", "open"] = word(
        "Device that is asked for; `open` leaves the choice to loopplan.",
        default="open",
    )
    flap: Literal["yes", "no", "by device"] = word(
        "Whether a non-return flap keeps water from running back when the lift stops.",
        default="by device",
        source="common practice, no source: pumps have one, an airlift has none",
    )
    delivery_level: float | None = quantity(
        "level",
        "Lower edge of its outlet, or the siphon break before it: down to there water can run "
        "back; without it down to the level that it draws from.",
        unit="m",
        default=None,
    )
    intake_level: float | None = quantity(
        "level",
        "Lower edge of its intake: when it has stopped, no water below that runs on through it; "
        "without it down to the floor.",
        unit="m",
        default=None,
    )
    least_level: float | None = quantity(
        "level",
        "Least level that it draws from safely; the floor if none is stated.",
        unit="m",
        default=None,
    )
    airlift: Airlift | None = sub("The airlift as drawn.", default=None)
    propeller_pump: PropellerPump | None = sub("The low-head pump as stated.", default=None)
    centrifugal_pump: CentrifugalPump | None = sub("The centrifugal pump as stated.", default=None)
    title: ClassVar[str] = "where head is added: given flow, given curve, or keeping a level"
    symbol: ClassVar[str] = "lift"
    role: ClassVar[str] = "lift"

    @field_validator("curve", mode="before")
    @classmethod
    def _points(cls, value: Any) -> Any:
        return read_points(value, rising=False)

    @property
    def has_flap(self) -> bool:
        """Whether a flap keeps water from running back."""
        return self.flap == "yes" or (self.flap == "by device" and self.device != "airlift")

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One lift."""
        units = float(self.count)
        if self.curve:
            return [self._by_curve(self.curve, units)]
        if self.flow is None and self.device == AIRLIFT and self.airlift is not None:
            found = self.airlift.passage(at, units)
            if found is not None:
                return [found]
        pump = self.pump
        if self.flow is None and pump is not None and pump.curve:
            chain: list[Part] = [self._by_curve(running(pump.curve), units)]
            behind = pump.behind(at, units)
            return chain if behind is None else [*chain, behind]
        return [Passage("", "given", {"flow": (self.flow or 0.0) * at.flow}, units)]

    @property
    def pump(self) -> PropellerPump | CentrifugalPump | None:
        """The pump that is asked for, as far as it is described."""
        return {PROPELLER: self.propeller_pump, CENTRIFUGAL: self.centrifugal_pump}.get(self.device)

    @property
    def self_acting(self) -> bool:
        """Whether the flow follows from a device or a curve."""
        if self.flow is not None:
            return False
        air = self.airlift.air if self.airlift is not None and self.device == AIRLIFT else None
        return bool(self.curve or air or (self.pump is not None and self.pump.curve))

    def _by_curve(self, points: list[list[float]], units: float) -> Passage:
        from loopplan.physics.curve_fit import monotone_slopes

        flows, heads = [p[0] for p in points], [p[1] for p in points]
        params = {
            "flows": flows,
            "heads": heads,
            "slopes": monotone_slopes(flows, heads),
            "speed": self.speed,
        }
        return Passage("", "curve", params, units, sources=("stated-curve",))

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A flow and a curve cannot both be given; devices as they are drawn."""
        for name in ("airlift", "propeller_pump", "centrifugal_pump"):
            drawn = getattr(self, name)
            if drawn is not None:
                yield from (
                    (f"{as_written(name)}.{key}", message, cure)
                    for key, message, cure in drawn.refusals()
                )
        if self.airlift is not None and self.flow is None:
            yield from (
                (f"airlift.{key}", message, cure) for key, message, cure in self.airlift.unplaced()
            )
        if self.curve and self.flow is not None:
            yield (
                "flow",
                "the lift has both a flow and a curve",
                "give `flow` to ask for a head, or `curve` to ask for a flow",
            )
