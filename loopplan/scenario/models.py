"""What a scenario holds, section by section."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from loopplan.declare import (
    Conditions,
    Declared,
    Element,
    as_written,
    quantity,
    sub,
    word,
)
from loopplan.errors import Problem
from loopplan.scenario.air import AirHeader
from loopplan.scenario.document import Document, key_path

FORMAT = 1
"""Version of the scenario format that this release reads and writes."""


class Farm(Declared):
    """What the farm is."""

    name: str = word("Name of the farm or scenario.")
    note: str = word("Anything that a reader should know.", default="")
    altitude: float = quantity(
        "level",
        "Height above the sea.",
        unit="m",
        default="0 m",
        source="assumed: sea level",
        least=-430.0,
        most=6000.0,
    )


class Water(Declared):
    """The water that goes round."""

    temperature: float = quantity(
        "temperature", "Usual water temperature.", unit="degC", least=0.0, most=40.0
    )
    coldest: float = quantity(
        "temperature",
        "Coldest water that the loop must carry.",
        unit="degC",
        default="4 degC",
        source="assumed: densest and nearly most viscous fresh water",
        least=0.0,
        most=40.0,
    )
    warmest: float = quantity(
        "temperature",
        "Warmest water that the loop must carry.",
        unit="degC",
        default="20 degC",
        source="assumed: about the warmest that trout and salmon bear; state it for other fish",
        least=0.0,
        most=40.0,
    )
    salinity: float = quantity(
        "salinity",
        "Salinity, in grams of salt per kilogram of water.",
        unit="g/kg",
        default="0 g/kg",
        source="assumed: fresh water",
        least=0.0,
        most=42.0,
    )


class Stock(Declared):
    """The fish, as far as the water budget mentions them."""

    biomass: float | None = quantity(
        "mass", "Fish in the farm.", unit="kg", default=None, above=0.0
    )
    feed: float | None = quantity(
        "feed rate", "Feed given a day.", unit="kg/d", default=None, above=0.0
    )
    yearly_production: float | None = quantity(
        "mass", "Fish grown in a year, in live weight.", unit="t", default=None, above=0.0
    )


class WaterLost(Declared):
    """Water that leaves the loop by no exit: into the air and into the ground.

    It is averaged over the day and taken from the replacement; the levels do not feel it.
    """

    evaporation: float | None = quantity(
        "flow", "Water that evaporates, stated as a whole.", unit="m3/d", default=None, least=0.0
    )
    evaporation_rate: float | None = quantity(
        "evaporation rate",
        "Depth of water that evaporates in a day.",
        unit="mm/d",
        default=None,
        least=0.0,
    )
    evaporation_area: float | None = quantity(
        "area",
        "Water surface that the rate holds for; that of all basins if not given.",
        unit="m2",
        default=None,
        above=0.0,
    )
    leakage: float | None = quantity(
        "flow", "Water that leaks away, stated as a whole.", unit="m3/d", default=None, least=0.0
    )
    leakage_share: float | None = quantity(
        "share",
        "Share of the water in the system that leaks away in a day.",
        unit="%",
        default=None,
        least=0.0,
        most=1.0,
    )

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Yield (field, message, cure) of what is stated twice or by half."""
        for stated, by in (("evaporation", "evaporation_rate"), ("leakage", "leakage_share")):
            if getattr(self, stated) is not None and getattr(self, by) is not None:
                other = as_written(by)
                yield stated, f"it is stated by `{other}` too", f"give `{stated}` or `{other}`"
        if self.evaporation_area is not None and self.evaporation_rate is None:
            yield "evaporation area", "an area needs its rate", "add `evaporation rate: ... mm/d`"

    def assumed(self) -> Iterable[tuple[str, str, str]]:
        """See :meth:`Declared.assumed`: what is not stated is taken as none."""
        if self.evaporation is None and self.evaporation_rate is None:
            yield "evaporation", "none", "assumed: not stated"
        if self.leakage is None and self.leakage_share is None:
            yield "leakage", "none", "assumed: not stated"


class Prices(Declared):
    """What energy costs here; there are no defaults for prices."""

    currency: str = word("Name of the currency.", default="")
    electricity: float | None = quantity(
        "number",
        "Price of a kilowatt-hour, in that currency.",
        unit="",
        default=None,
        above=0.0,
    )
    hours: float = quantity(
        "time",
        "Time in a year that the lifts run, at the first duty state.",
        unit="h",
        default="8760 h",
        source="all the year",
        above=0.0,
        most=8784.0 * 3600.0,
    )


class Closure(Declared):
    """One entry of `levels`: what closes the levels of a group of basins."""

    way: Literal["outside level", "kept level", "stored volume"] = word(
        "How the level is closed: `outside level` gives a level, and what crosses to the outside "
        "there is solved and must be make-up less discharge; `kept level` gives a level and names "
        "the lift or valve that keeps it, whose flow is found; `stored volume` gives the water in "
        "some basins, and their levels are found. An element of kind `overflow` closes a group by "
        "itself."
    )
    at: str | None = word("Basin whose level is given.", default=None)
    level: float | None = quantity("level", "The level that is given.", unit="m", default=None)
    by: str | None = word("Lift or valve that keeps the level.", default=None)
    in_: list[str] = sub("Basins whose water is counted together.", default=[])
    volume: float | None = quantity(
        "volume", "Water stored in those basins.", unit="m3", default=None, above=0.0
    )
    lowest_level: float | None = quantity(
        "level",
        "Lowest that the given level falls; makes the duty state `low water`.",
        unit="m",
        default=None,
    )
    highest_level: float | None = quantity(
        "level",
        "Highest that the given level rises; makes the duty state `high water`.",
        unit="m",
        default=None,
    )
    least_volume: float | None = quantity(
        "volume",
        "Least water that is stored; makes the duty state `low water`.",
        unit="m3",
        default=None,
        above=0.0,
    )
    most_volume: float | None = quantity(
        "volume",
        "Most water that is stored; makes the duty state `high water`.",
        unit="m3",
        default=None,
        above=0.0,
    )
    exchange: float | None = quantity(
        "flow",
        "Flow that leaves the loop at the outside level (less than zero: comes in).",
        unit="m3/h",
        default=None,
    )


class DutyState(Declared):
    """A named condition of the loop."""

    condition: Literal["clean", "fouled"] = word(
        "Whether screens, beds and pipes are clean or fouled.", default="clean", source=""
    )
    flow: float = quantity(
        "share",
        "Share of the given flow that the lifts carry; one that serves a pressure need above "
        "`propeller most` keeps its flow where another lift carries more.",
        unit="%",
        default="100 %",
        source="design flow",
        above=0.0,
        most=5.0,
    )
    temperature: float | None = quantity(
        "temperature", "Water temperature.", unit="degC", default=None, least=0.0, most=40.0
    )
    levels: dict[str, str] = sub("Given levels that differ in this state.", default={})
    out_of_service: list[str] = sub(
        "Elements of which one unit is out of service; a lone one is shut.", default=[]
    )
    change: dict[str, dict[str, object]] = sub(
        "Element fields that differ in this state.", default={}
    )


DEFAULT_STATES: Mapping[str, Mapping[str, str]] = {
    "clean": {},
    "fouled": {"condition": "fouled"},
    "low flow": {"flow": "60 %"},
    "peak flow": {"flow": "120 %"},
    "cold": {},
    "warm": {},
}
"""Duty states of a file that names none; `cold` takes the coldest water, `warm` the warmest.

Others are added where there is cause: :mod:`loopplan.scenario.usual_states` and
:mod:`loopplan.loop.usual_states`.
"""


@dataclass(frozen=True)
class State:
    """A duty state ready for use: conditions, given levels, changed elements.

    `volumes` are stored volumes [m3] that differ, by the number of their closure; elements in
    `shut` are out of service. One that is `added` is no wish of the file: it is left out where
    it cannot be solved.
    """

    name: str
    conditions: Conditions
    levels: Mapping[str, float]
    elements: Mapping[str, Element]
    volumes: Mapping[int, float] = field(default_factory=dict)
    shut: frozenset[str] = frozenset()
    added: bool = False


@dataclass(frozen=True)
class Scenario:
    """A scenario as read and checked; nothing in it is solved yet."""

    document: Document
    farm: Farm
    water: Water
    stock: Stock
    elements: Mapping[str, Element]
    paths: Mapping[str, tuple[str, ...]]
    closures: tuple[Closure, ...]
    states: tuple[State, ...]
    limits: Declared
    assumed: tuple[tuple[str, str, str, str], ...] = field(default=())
    """(element or section, field, value, source) of each default in use."""
    prices: Prices = field(default_factory=Prices)
    water_lost: WaterLost = field(default_factory=WaterLost)
    adds_states: bool = False
    """Whether duty states are still to be added: the file names none itself."""
    air_supply: Mapping[str, AirHeader] = field(default_factory=dict)

    def problem(self, path: tuple[str | int, ...], message: str, cure: str) -> Problem:
        """Make a problem that points at a place in the file."""
        return Problem(
            self.document.name,
            self.document.line(path),
            key_path(path),
            "",
            message,
            cure,
        )
