"""Biofilters: moving beds with retaining screens, fixed and sinking-media beds."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar, Literal

from loopplan.declare import DAY, Conditions, Element, Ends, Part, Passage, quantity, sub, word
from loopplan.elements._basin import BasinElement
from loopplan.elements.strainers import Screen


class MovingBed(BasinElement):
    """An aerated basin with carriers that a screen holds back."""

    kind: Literal["moving bed"]
    length: float = quantity("length", "Length of one unit.", unit="m", above=0.0)
    width: float = quantity("length", "Width of one unit.", unit="m", above=0.0)
    screen: Screen = sub("The retaining screen before its outlet.")
    title: ClassVar[str] = "aerated basin with carriers that a screen holds back"
    symbol: ClassVar[str] = "moving-bed"

    def plan_area(self) -> float:
        """Length times width [m2]."""
        return self.length * self.width

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """Inlet, basin, retaining screen, outlet."""
        chain = super().parts(at, ends)
        screen = self.screen.strainer(at, "retaining screen")
        held = Passage(
            screen.name,
            screen.law,
            screen.params,
            screen.units * self.count,
            sources=screen.sources,
        )
        place = len(chain) - (1 if self.outlet is not None else 0)
        return [*chain[:place], held, *chain[place:]]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """The screen stands in the basin."""
        yield from super().refusals()
        if not self.floor <= self.screen.floor < self.wall_top:
            yield (
                "screen.floor",
                "the retaining screen does not stand between floor and wall top",
                "give the level of its lower edge",
            )


class MediaBed(Element):
    """A bed of media that water is driven through: fixed, or of sinking media."""

    kind: Literal["media bed"]
    area: float = quantity("area", "Plan area of one unit.", unit="m2", above=0.0)
    depth: float = quantity("length", "Depth of the media.", unit="m", above=0.0)
    media_size: float = quantity("length", "Size of the grains.", unit="mm", above=0.0)
    porosity: float = quantity("share", "Voids of the packed bed.", unit="%", above=0.2, below=0.98)
    sphericity: float = quantity(
        "number",
        "Sphericity of the grains.",
        unit="",
        default="0.75",
        source="average sand; Davis, table 11-2",
        above=0.1,
        most=1.0,
    )
    direction: Literal["up", "down"] = word(
        "Way of the water through the bed.", default="down", source="common practice, no source"
    )
    media_density: float = quantity(
        "density",
        "Density of the grains; fixes where an upflow bed lifts.",
        unit="kg/m3",
        default="2650 kg/m3",
        source="quartz; handbook value, from memory",
        above=0.0,
    )
    loaded_loss: float | None = quantity(
        "head", "Loss of the loaded bed, measured or stated.", unit="m", default=None, above=0.0
    )
    loaded_flow: float | None = quantity(
        "flow", "Flow of one unit at which the loaded loss holds.", unit="m3/h", default=None
    )
    wash_volume: float | None = quantity(
        "volume",
        "Water of one wash of one unit, from the loop.",
        unit="m3",
        default=None,
        above=0.0,
    )
    wash_flow: float | None = quantity(
        "flow",
        "Flow of one wash of one unit, from the loop, if its volume is not given.",
        unit="m3/h",
        default=None,
        above=0.0,
    )
    wash_time: float | None = quantity(
        "time", "How long one wash lasts at that flow.", unit="min", default=None, above=0.0
    )
    washes_a_day: float = quantity(
        "number",
        "Washes of one unit a day.",
        unit="",
        default="0",
        source="assumed: no wash stated",
        least=0.0,
        most=1440.0,
    )
    shared: ClassVar[bool] = True
    waste_kind: ClassVar[str] = "wash water"
    title: ClassVar[str] = "bed of fixed or sinking media that water is driven through"
    symbol: ClassVar[str] = "bed"

    def _clean(self, at: Conditions) -> tuple[float, float]:
        from loopplan.physics.beds import ergun_coefficients

        a, b = ergun_coefficients(
            self.media_size, self.porosity, self.depth, self.sphericity, at.viscosity
        )
        return float(a) / self.area, float(b) / self.area**2

    def waste(self, at: Conditions) -> float:
        """See :meth:`Element.waste`: the washes of a day, spread over it."""
        volume = self.wash_volume or (self.wash_flow or 0.0) * (self.wash_time or 0.0)
        return self.count * volume * self.washes_a_day / DAY

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One bed: Ergun when clean; what loads it adds a laminar cake loss."""
        c1, c2 = self._clean(at)
        sources = ["ergun-1952"]
        if at.fouled and self.loaded_loss is not None and self.loaded_flow:
            flow = self.loaded_flow
            c1 += max(self.loaded_loss - c1 * flow - c2 * flow**2, 0.0) / flow
            sources.append("stated-loss")
        cap = float("inf")
        if self.direction == "up":
            from loopplan.physics.beds import fluidised_head

            cap = float(fluidised_head(self.depth, self.porosity, self.media_density, at.density))
            sources.append("buoyant-weight")
        params = {
            "c1": c1,
            "c2": c2,
            "cn": 0.0,
            "n": 1.0,
            "cap": cap,
            "small": 1e-4 * self.area,
        }
        return [Passage("", "loss", params, float(self.count), sources=tuple(sources))]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A loaded loss needs its flow; a wash needs one size of its own."""
        yield from self._wash_refusals()
        if (self.loaded_loss is None) != (self.loaded_flow is None):
            yield (
                "loaded loss",
                "a loaded loss and the flow at which it holds go together",
                "give both `loaded loss` and `loaded flow`, or neither",
            )
        if self.direction == "up" and self.media_density < 1060.0:
            yield (
                "media density",
                "media that float do not sink back in an upflow bed",
                "let the water run down through them, or describe a moving bed",
            )

    def _wash_refusals(self) -> Iterable[tuple[str, str, str]]:
        by_flow = (self.wash_flow is not None, self.wash_time is not None)
        if by_flow[0] != by_flow[1]:
            yield (
                "wash flow",
                "the flow of a wash and how long it lasts go together",
                "give both `wash flow` and `wash time`, or `wash volume` in their place",
            )
        elif self.wash_volume is not None and by_flow[0]:
            yield (
                "wash volume",
                "the size of a wash is given twice",
                "give `wash volume`, or `wash flow` and `wash time`",
            )
        sized = self.wash_volume is not None or all(by_flow)
        if sized != (self.washes_a_day > 0.0) and by_flow[0] == by_flow[1]:
            yield (
                "washes a day",
                "the size of a wash and the number of washes go together",
                "give `washes a day` beside `wash volume`, or beside `wash flow` and `wash time`",
            )
