"""Degassers and low-head oxygenators: water falls from a plate with holes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Basin, Conditions, Element, Ends, Part, Passage, Seen, quantity
from loopplan.elements._blinding import check_blinding
from loopplan.findings import Finding, find

_NONE = "common practice, no source"


class PlateFields(Element):
    """A tray with holes in its floor, and the fall below it that is needed."""

    plate: float = quantity("level", "Level of the distribution plate.", unit="m")
    rim: float = quantity("level", "Level of the rim around the plate.", unit="m")
    area: float = quantity("area", "Plan area of the plate of one unit.", unit="m2", above=0.0)
    holes: int = quantity("count", "Holes in the plate of one unit.", unit="", least=1)
    hole_diameter: float = quantity("length", "Diameter of a hole.", unit="mm", above=0.0)
    coefficient: float = quantity(
        "number",
        "Coefficient of discharge of a hole.",
        unit="",
        default="0.62",
        source="sharp-edged opening; textbook value, from memory",
        above=0.1,
        most=1.0,
    )
    blinded: float = quantity(
        "share",
        "Share of the holes that is closed when clean.",
        unit="%",
        default="0 %",
        source="clean",
        least=0.0,
        most=0.95,
    )
    blinded_fouled: float = quantity(
        "share",
        "Share of the holes that is closed when fouled.",
        unit="%",
        default="20 %",
        source=_NONE,
        least=0.0,
        most=0.95,
    )
    least_depth: float = quantity(
        "length",
        "Least depth of water on the plate that feeds all holes alike.",
        unit="mm",
        default="30 mm",
        source=_NONE,
        least=0.0,
    )
    needed_fall: float = quantity(
        "head", "Fall that is needed from the plate to the water below.", unit="m", above=0.0
    )
    role: ClassVar[str] = "basin"
    shared: ClassVar[bool] = True
    treats: ClassVar[bool] = True

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """The tray and the fall through its holes; the needed fall is useful head."""
        from loopplan.physics.constants import GRAVITY

        closed = self.blinded_fouled if at.fouled else self.blinded
        bore = (1.0 - closed) * self.holes * math.pi / 4.0 * self.hole_diameter**2
        c2 = 1.0 / (2.0 * GRAVITY * (self.coefficient * bore) ** 2)
        units = float(self.count)
        return [
            Basin("", self.plate, self.rim, self.area, units),
            Passage(
                "plate",
                "plate",
                {"plate": self.plate, "c2": c2},
                units,
                useful=self.needed_fall,
                sources=("orifice",),
            ),
        ]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A rim below its plate; more holes than plate; fouled cleaner than clean."""
        yield from check_blinding(self.blinded, self.blinded_fouled)
        if self.rim <= self.plate:
            yield (
                "rim",
                f"the rim ({self.rim:.3f} m) is not above the plate ({self.plate:.3f} m)",
                "give both as levels above the farm datum",
            )
        if self.holes * math.pi / 4.0 * self.hole_diameter**2 >= self.area:
            yield "holes", "the holes take up more than the plate", "check number and diameter"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Depth on the plate against rim and least depth; the fall below it."""
        if isinstance(seen.part, Basin):
            yield from self._depth(seen)
            return
        fall = self.plate - seen.head_down
        if fall < self.needed_fall - 1e-6:
            yield find(
                "fall-short",
                seen.element,
                state=seen.state,
                value=fall,
                limit=self.needed_fall,
                unit="m",
                message=f"the fall below the plate is {fall:.3f} m, "
                f"{self.needed_fall - fall:.3f} m short",
            )

    def _depth(self, seen: Seen) -> Iterable[Finding]:
        depth = seen.level_up - self.plate
        if seen.level_up > self.rim:
            yield find(
                "plate-overtopped",
                seen.element,
                state=seen.state,
                value=seen.level_up,
                limit=self.rim,
                unit="m",
                message=f"the level would stand {seen.level_up - self.rim:.3f} m above the rim",
            )
        elif depth < self.least_depth:
            yield find(
                "plate-uneven",
                seen.element,
                state=seen.state,
                value=depth,
                limit=self.least_depth,
                unit="m",
                message=(
                    f"water stands {1000.0 * depth:.0f} mm deep on the plate; "
                    if depth > 0.0
                    else "no water stands on the plate; "
                )
                + f"{1000.0 * self.least_depth:.0f} mm feed all holes alike",
            )


class Degasser(PlateFields):
    """A trickling tower: water falls through air, with or without packing.

    Packing takes no head of its own, since the water falls through it freely; the basin that
    catches the water is the next element. Its room needs ventilation: carbon dioxide gathers.
    """

    kind: Literal["degasser"]
    packing_height: float = quantity(
        "length",
        "Height of packing below the plate.",
        unit="m",
        default="0 m",
        source="assumed: none",
        least=0.0,
    )
    title: ClassVar[str] = "trickling tower: water falls from a plate with holes through air"
    symbol: ClassVar[str] = "degasser"

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Packing must have room in the needed fall."""
        yield from super().refusals()
        if self.packing_height > self.needed_fall:
            yield (
                "packing height",
                "the packing is higher than the fall that is asked for: it would stand in water",
                "raise `needed fall` to at least the height of the packing",
            )


FALL_RANGE = (0.30, 1.00)
"""Usual falls of low-head oxygenators [m]; common practice, no source."""


class LowHeadOxygenator(PlateFields):
    """A closed box in which water falls from a plate through oxygen."""

    kind: Literal["low-head oxygenator"]
    title: ClassVar[str] = "box in which water falls from a plate with holes through oxygen"
    symbol: ClassVar[str] = "oxygenator"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """What plates are checked for, and a fall outside the usual range."""
        yield from super().checks(seen, limits)
        if isinstance(seen.part, Basin):
            return
        fall = self.plate - seen.head_down
        low, high = FALL_RANGE
        if not low - 1e-6 <= fall <= high + 1e-6:
            yield find(
                "outside-range",
                seen.element,
                state=seen.state,
                value=fall,
                limit=low if fall < low else high,
                unit="m",
                source=_NONE,
                message=f"the fall through oxygen is {fall:.3f} m; low-head oxygenators usually "
                f"have {low:.1f} to {high:.1f} m",
            )
