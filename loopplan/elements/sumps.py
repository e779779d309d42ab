"""Sumps, boxes and water outside the farm."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Basin, Conditions, Element, Ends, Part, Seen, quantity
from loopplan.elements._basin import BasinElement
from loopplan.findings import Finding


class Sump(BasinElement):
    """The low basin that a lift draws from."""

    kind: Literal["sump"]
    area: float = quantity("area", "Plan area of one unit.", unit="m2", above=0.0)
    title: ClassVar[str] = "low basin that a lift draws from"

    def plan_area(self) -> float:
        """Plan area [m2]."""
        return self.area


class Box(BasinElement):
    """A chamber, a half of a shaft, a head box: any basin without fish."""

    kind: Literal["box"]
    area: float = quantity("area", "Plan area of one unit.", unit="m2", above=0.0)
    title: ClassVar[str] = "chamber, half of a shaft, head box: a basin without fish"

    def plan_area(self) -> float:
        """Plan area [m2]."""
        return self.area


class OpenWater(Element):
    """Sea, lake, river or well: a level that the farm does not change."""

    kind: Literal["open water"]
    level: float = quantity("level", "Level of its surface.", unit="m")
    lowest_level: float | None = quantity(
        "level", "Lowest that it falls; makes the duty state `low water`.", unit="m", default=None
    )
    highest_level: float | None = quantity(
        "level", "Highest that it rises; makes the duty state `high water`.", unit="m", default=None
    )
    title: ClassVar[str] = "sea, lake, river or reservoir: a level that the farm does not change"
    symbol: ClassVar[str] = "open-water"
    role: ClassVar[str] = "water"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One surface without walls or stored volume."""
        return [Basin("", self.level, self.level, 0.0, 1.0)]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A lowest level above the usual one, or a highest below it."""
        if self.lowest_level is not None and self.lowest_level > self.level:
            yield "lowest level", "it lies above the usual level", "check both levels"
        if self.highest_level is not None and self.highest_level < self.level:
            yield "highest level", "it lies below the usual level", "check both levels"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Nothing to check."""
        return ()
