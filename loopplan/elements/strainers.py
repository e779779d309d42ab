"""Bar racks and screens that stand in a free-surface flow."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity, word
from loopplan.elements._blinding import check_blinding
from loopplan.findings import Finding, find

_NONE = "common practice, no source"


class Strainer(Element):
    """What racks and screens share: a width, a floor, and how much of them is blinded."""

    width: float = quantity("length", "Width across the flow.", unit="m", above=0.0)
    floor: float = quantity("level", "Level of the floor it stands on.", unit="m")
    wet_height: float | None = quantity(
        "length",
        "Height that lets water through; above it the plate is closed.",
        unit="m",
        default=None,
        above=0.0,
    )
    blinded: float = quantity(
        "share",
        "Share of the free area that is closed when clean.",
        unit="%",
        default="0 %",
        source="clean",
        least=0.0,
        most=0.95,
    )
    blinded_fouled: float = quantity(
        "share",
        "Share of the free area that is closed when fouled.",
        unit="%",
        default="40 %",
        source=_NONE,
        least=0.0,
        most=0.95,
    )
    symbol: ClassVar[str] = "strainer"

    def coefficient(self, blinded: float) -> tuple[float, str]:
        """Return K on the approach velocity head and its source."""
        raise NotImplementedError

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One strainer."""
        return [self.strainer(at)]

    def strainer(self, at: Conditions, name: str = "") -> Passage:
        """Return the passage through it."""
        k, source = self.coefficient(self.blinded_fouled if at.fouled else self.blinded)
        params = {
            "k": k,
            "width": self.width,
            "floor": self.floor,
            "height": self.wet_height or float("inf"),
        }
        return Passage(name, "strainer", params, float(self.count), sources=(source,))

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Less closed when fouled than when clean."""
        yield from super().refusals()
        yield from check_blinding(self.blinded, self.blinded_fouled)

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """A surface below the floor."""
        if seen.level_down <= self.floor:
            yield find(
                "basin-dry",
                seen.element,
                state=seen.state,
                value=seen.level_down,
                limit=self.floor,
                unit="m",
                message="the level behind it falls to its floor",
            )


class BarRack(Strainer):
    """Bars across a channel."""

    kind: Literal["bar rack"]
    bar_thickness: float = quantity("length", "Thickness of a bar.", unit="mm", above=0.0)
    bar_spacing: float = quantity("length", "Clear distance of bars.", unit="mm", above=0.0)
    angle: float = quantity(
        "angle",
        "Angle of the bars to the floor.",
        unit="deg",
        default="75 deg",
        source=_NONE,
        least=0.17,
        most=1.5708,
    )
    bar_shape: Literal["sharp", "rounded upstream", "round", "rounded both", "tear-drop"] = word(
        "Section of the bars.", default="sharp", source="sharp-edged flat bars; the unfavourable"
    )
    title: ClassVar[str] = "bars across a channel"

    def coefficient(self, blinded: float) -> tuple[float, str]:
        """Kirschmer's coefficient; blinding narrows the clear distance."""
        from loopplan.physics.screens import bar_rack_k

        k = bar_rack_k(self.bar_thickness, self.bar_spacing, self.angle, self.bar_shape, blinded)
        return float(k), "kirschmer-1926"


class Screen(Strainer):
    """A perforated plate or mesh across a channel."""

    kind: Literal["screen"]
    free_area: float = quantity(
        "share", "Free area of the clean plate.", unit="%", above=0.03, below=1.0
    )
    title: ClassVar[str] = "perforated plate or mesh across a channel"

    def coefficient(self, blinded: float) -> tuple[float, str]:
        """Sharp thin perforated plate; blinding takes free area."""
        from loopplan.physics.screens import perforated_plate_k

        return float(perforated_plate_k(self.free_area, blinded)), "idelchik-8-1"
