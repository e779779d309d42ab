"""What is stated of a pump and its motor: propeller pumps at low head, and centrifugal pumps."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from pydantic import field_validator

from loopplan.declare import Conditions, Detail, Passage, quantity, sub, word
from loopplan.points import read_points, read_shares

_PRACTICE = "common practice, no source"


class Motor(Detail):
    """The motor of a pump or blower, and its drive."""

    power: float | None = quantity(
        "power",
        "Rated shaft power; the next standard size is taken if none is stated.",
        unit="kW",
        default=None,
        above=0.0,
    )
    efficiency_class: Literal["IE3", "IE4"] = word(
        "Efficiency class of IEC 60034-30-1.", default="IE3", source="least class in common use"
    )
    drive: Literal["none", "frequency converter"] = word(
        "Whether a frequency converter feeds it.", default="none", source="assumed: none"
    )
    reserve: float = quantity(
        "share",
        "Rated power above the greatest shaft power.",
        unit="%",
        default="15 %",
        source=_PRACTICE,
        least=0.0,
        most=1.0,
    )
    word: ClassVar[str] = "motor"
    title: ClassVar[str] = "motor of a pump or blower, and its drive"


class _Pump(Detail):
    """What both kinds of pump have."""

    curve: list[list[float]] = sub("Points of flow and head of one unit at full speed.", default=[])
    efficiency: list[list[float]] = sub(
        "Points of flow and pump efficiency of one unit at full speed.", default=[]
    )
    wire_to_water: float | None = quantity(
        "share",
        "Hydraulic power over electric power, as stated or measured; goes before everything else.",
        unit="%",
        default=None,
        above=0.0,
        most=1.0,
    )
    speed: float | None = quantity(
        "speed",
        "Full speed of the shaft; from the synchronous speeds if none is stated.",
        unit="rpm",
        default=None,
        above=0.0,
    )
    yearly_cost: float | None = quantity(
        "number",
        "What it costs a year to own and keep, besides energy, in the currency of the prices.",
        unit="",
        default=None,
        least=0.0,
    )
    standby: int = quantity(
        "number",  # none may stand by, and a count starts at one
        "Units that stand by, besides those that run.",
        unit="",
        default="1",
        source="common practice, no source: one more than is needed",
        least=0.0,
        most=1000.0,
    )
    motor: Motor = sub("Its motor.", default=Motor.model_validate({}))

    def behind(self, at: Conditions, units: float) -> Passage | None:
        """Return what lies behind the place where the head of the curve was measured."""
        return None

    @field_validator("efficiency", mode="before")
    @classmethod
    def _shares(cls, value: Any) -> Any:
        return read_shares(value)


class PropellerPump(_Pump):
    """A propeller or mixed-flow pump at low head, in a column or a wall."""

    measured_at: Literal["flange", "column outlet", "level to level"] = word(
        "Where the head of the curve was measured: what lies behind is added once.",
        default="level to level",
        source="assumed: nothing is left to add",
    )
    column: float | None = quantity(
        "length",
        "Inside diameter of the column.",
        unit="mm",
        default=None,
        above=0.0,
    )
    column_length: float = quantity(
        "length",
        "Length of the column.",
        unit="m",
        default="2 m",
        source=_PRACTICE,
        least=0.0,
    )
    roughness: float = quantity(
        "length",
        "Wall roughness of the column.",
        unit="mm",
        default="0.1 mm",
        source="common practice, no source: coated steel",
        least=0.0,
    )
    entry: float = quantity(
        "number",
        "Loss coefficient of the entry, on the velocity head of the column.",
        unit="",
        default="0.05",
        source="suction bell, rounded; textbook value, from memory",
        least=0.0,
    )
    bend: float = quantity(
        "number",
        "Loss coefficient of the bend at the column's head; 0 for none.",
        unit="",
        default="0",
        source="assumed: a straight outlet",
        least=0.0,
    )
    flap_loss: float = quantity(
        "number",
        "Loss coefficient of the open flap at the outlet; 0 for none.",
        unit="",
        default="0.5",
        source=_PRACTICE,
        least=0.0,
    )
    bell: float | None = quantity(
        "length",
        "Outer diameter of the suction bell.",
        unit="mm",
        default=None,
        above=0.0,
    )
    bell_level: float | None = quantity(
        "level", "Level of the suction bell's edge.", unit="m", default=None
    )
    word: ClassVar[str] = "propeller pump"
    title: ClassVar[str] = "propeller or mixed-flow pump at low head"

    @field_validator("curve", mode="before")
    @classmethod
    def _points(cls, value: Any) -> Any:
        # Curves of propeller pumps may have a saddle: legal, but barred from running there.
        return read_points(value, rising=None)

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """What lies behind the place where the head was measured needs a column."""
        if self.measured_at != "level to level" and self.column is None:
            yield (
                "measured at",
                f"what lies behind the {self.measured_at} can only be added for a known column",
                "add `column: 350 mm`, or give the curve level to level",
            )

    def behind(self, at: Conditions, units: float) -> Passage | None:
        """See :meth:`_Pump.behind`.

        Friction of the column, its bend, the open flap, and the velocity head that is lost at
        the outlet: each counted once, and only where the curve does not hold it already.
        """
        if self.measured_at == "level to level" or self.column is None:
            return None
        column = self.measured_at == "flange"
        params = {
            "length": self.column_length if column else 0.0,
            "diameter": self.column,
            "roughness": self.roughness,
            "viscosity": at.viscosity,
            "factor": 0.0,
            "k": (self.entry + self.bend if column else 0.0) + self.flap_loss + 1.0,
        }
        words = "entry, bend, flap and outlet" if column else "flap and outlet"
        return Passage("column", "pipe", params, units, sources=("colebrook",), notes=(words,))


class CentrifugalPump(_Pump):
    """A centrifugal pump, flanged."""

    design: Literal[
        "end suction, own bearing",
        "end suction, close coupled",
        "end suction, close coupled, inline",
        "vertical multistage",
        "submersible multistage",
    ] = word(
        "Design, by which the minimum efficiency index of EU law asks for an efficiency.",
        default="end suction, own bearing",
        source="assumed: the most common",
    )
    suction_level: float | None = quantity(
        "level",
        "Level of the impeller's eye; flooded by the suction basin if none is stated.",
        unit="m",
        default=None,
    )
    suction_loss: float = quantity(
        "head",
        "Loss in the suction pipe at the duty, where it is not part of the loop.",
        unit="m",
        default="0 m",
        source="assumed: suction pipes are elements of the loop",
        least=0.0,
    )
    npsh: float | None = quantity(
        "head",
        "Net positive suction head that the pump requires at the duty.",
        unit="m",
        default=None,
        above=0.0,
    )
    stages: int = quantity(
        "count",
        "Stages in series.",
        unit="",
        default="1",
        source="one stage",
        least=1.0,
        most=50.0,
    )
    word: ClassVar[str] = "centrifugal pump"
    title: ClassVar[str] = "pump with a volute, flanged"

    @field_validator("curve", mode="before")
    @classmethod
    def _points(cls, value: Any) -> Any:
        return read_points(value, rising=False)


def barred(points: list[list[float]]) -> tuple[float, float] | None:
    """Return the flows [m3/s] that a curve with a saddle is barred from, None without one."""
    from loopplan.physics.curve_fit import curve_by_points
    from loopplan.physics.pump_curves import barred_flow

    return barred_flow(curve_by_points(*zip(*points, strict=True)))


def running(points: list[list[float]]) -> list[list[float]]:
    """Return the points of the part of a curve that a pump may run on.

    Left of the last peak the head is carried on almost level (a thousandth of the peak), so
    that a loop which would drive the pump into its saddle still solves, and is found there.
    """
    out = barred(points)
    if out is None:
        return points
    right = [p for p in points if p[0] >= out[1]]
    return [[0.0, 1.001 * right[0][1]], *right]
