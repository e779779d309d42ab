"""Opening: a rectangular gap, slot or gate between two levels."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, quantity
from loopplan.elements._blinding import check_blinding


class Opening(Element):
    """A rectangular opening; free above the tailwater and drowned below it."""

    kind: Literal["opening"]
    invert: float = quantity("level", "Level of the lower edge.", unit="m")
    height: float = quantity("length", "Height of the opening.", unit="m", above=0.0)
    width: float = quantity("length", "Width of the opening.", unit="m", above=0.0)
    coefficient: float = quantity(
        "number",
        "Coefficient of discharge.",
        unit="",
        default="0.62",
        source="sharp-edged opening; textbook value, from memory",
        above=0.0,
        most=1.0,
    )
    blinded: float = quantity(
        "share",
        "Share of the opening that is closed when clean.",
        unit="%",
        default="0 %",
        source="clean opening",
        least=0.0,
        most=0.95,
    )
    blinded_fouled: float = quantity(
        "share",
        "Share of the opening that is closed when fouled.",
        unit="%",
        default="10 %",
        source="common practice, no source",
        least=0.0,
        most=0.95,
    )
    shared: ClassVar[bool] = True
    title: ClassVar[str] = "rectangular opening, slot or gate between two levels"
    symbol: ClassVar[str] = "opening"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One opening; what closes it takes width."""
        closed = self.blinded_fouled if at.fouled else self.blinded
        params = {
            "invert": self.invert,
            "soffit": self.invert + self.height,
            "width": self.width * (1.0 - closed),
            "cd": self.coefficient,
        }
        return [Passage("", "opening", params, float(self.count), sources=("split-opening",))]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Less closed when fouled than when clean."""
        yield from super().refusals()
        yield from check_blinding(self.blinded, self.blinded_fouled)
