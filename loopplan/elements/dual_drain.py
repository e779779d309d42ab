"""The two drains of a round tank: one in its floor, one high in its wall."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity
from loopplan.elements._blinding import check_blinding
from loopplan.elements.pipe import PipeFields
from loopplan.elements.weir import WeirFields
from loopplan.findings import Finding

_NONE = "common practice, no source"


class PlateScreen(Element):
    """A screen plate between a tank and its drain.

    Its holes are taken as orifices: behind the plate the water has no room to win back the
    speed of the jets, so that the loss is larger than that of the same plate across a channel.
    """

    free_area: float = quantity(
        "share", "Free area of the clean plate.", unit="%", above=0.03, below=1.0
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
    hole_coefficient: float = quantity(
        "number",
        "Coefficient of discharge of its holes.",
        unit="",
        default="0.62",
        source="sharp-edged opening; textbook value, from memory",
        above=0.1,
        most=1.0,
    )

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Less closed when fouled than when clean."""
        yield from super().refusals()
        yield from check_blinding(self.blinded, self.blinded_fouled)

    def open_share(self, at: Conditions) -> float:
        """Return the share of the plate that lets water through [-]."""
        return self.free_area * (1.0 - (self.blinded_fouled if at.fouled else self.blinded))


class CentreDrain(PlateScreen, PipeFields):
    """The drain in a tank's floor: screen plate, drain pipe, and a rim that the water runs over.

    Stands in a flow path of its own that leaves the tank; `count` as the tank's.
    """

    kind: Literal["centre drain"]
    plate_diameter: float = quantity(
        "length", "Diameter of the screen plate in the floor.", unit="mm", above=0.0
    )
    rim: float | None = quantity(
        "level",
        "Level of the rim in the drain's box, if the water leaves over one.",
        unit="m",
        default=None,
    )
    rim_diameter: float | None = quantity(
        "length", "Diameter of that rim.", unit="mm", default=None, above=0.0
    )
    rim_coefficient: float = quantity(
        "number",
        "Coefficient of discharge of that rim.",
        unit="",
        default="0.60",
        source="thin round rim at small heads; textbook value, from memory",
        least=0.1,
        most=1.2,
    )
    sludge_flow: float = quantity(
        "flow",
        "Sludge drawn off the drain of one unit, averaged over the day.",
        unit="m3/h",
        default="0 m3/h",
        source="assumed: no draw-off stated",
        least=0.0,
    )
    waste_kind: ClassVar[str] = "sludge"
    title: ClassVar[str] = "drain in a tank's floor: screen plate, pipe, and a rim at will"
    symbol: ClassVar[str] = "pipe"

    def waste(self, at: Conditions) -> float:
        """See :meth:`Element.waste`: the sludge of all units."""
        return self.count * self.sludge_flow

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """Screen plate, drain pipe and, if stated, the rim."""
        from loopplan.physics.constants import GRAVITY

        plate = math.pi / 4.0 * self.plate_diameter**2
        passed = self.hole_coefficient * plate * self.open_share(at)
        params = {
            "c1": 0.0,
            "c2": 1.0 / (2.0 * GRAVITY * passed**2),
            "cn": 0.0,
            "n": 1.0,
            "cap": float("inf"),
            "small": 0.01 * passed,
        }
        units = float(self.count)
        # The pit under the plate is small, but the water comes to rest in it.
        to_box = self.rim is not None or ends.to_basin
        found: list[Part] = [
            Passage("screen plate", "loss", params, units, sources=("orifice",)),
            self.run(at, Ends(True, to_box), "drain pipe"),
        ]
        if self.rim is not None:
            found.append(self._rim(self.rim))
        return found

    def _rim(self, level: float) -> Passage:
        from loopplan.physics.weirs import weir_coefficients

        width = math.pi * (self.rim_diameter or self.bore)
        form = weir_coefficients("coefficient", width=width, coefficient=self.rim_coefficient)
        names = ("c0", "c1", "kh", "exponent", "modular_limit", "drown_exponent")
        params = {"crest": level, **{name: getattr(form, name) for name in names}}
        return Passage("rim", "weir", params, float(self.count), sources=(form.source,))

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A plate narrower than its pipe; a rim without its level."""
        problems = list(super().refusals())
        yield from problems
        if not problems and self.plate_diameter < self.bore:
            yield (
                "plate diameter",
                "the screen plate is narrower than the drain pipe",
                "check both diameters",
            )
        if self.rim is None and self.rim_diameter is not None:
            yield "rim", "the level of the rim is missing", "add `rim: ... m`"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Those of the drain pipe."""
        if seen.part.name == "drain pipe":
            yield from super().checks(seen, limits)


class SideBox(PlateScreen, WeirFields):
    """A screened opening high in a tank's wall, with a sill in the box behind it.

    Stands in a flow path of its own that leaves the tank; `count` as the tank's. Fields of the
    sill are those of a weir.
    """

    kind: Literal["side box"]
    opening_width: float = quantity(
        "length", "Width of the opening in the wall.", unit="m", above=0.0
    )
    opening_height: float = quantity("length", "Height of the opening.", unit="m", above=0.0)
    invert: float = quantity("level", "Level of the lower edge of the opening.", unit="m")
    title: ClassVar[str] = "screened opening in a tank's wall, with a sill in the box behind it"
    symbol: ClassVar[str] = "weir"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """Screened opening and sill."""
        params = {
            "invert": self.invert,
            "soffit": self.invert + self.opening_height,
            "width": self.opening_width * self.open_share(at),
            "cd": self.hole_coefficient,
        }
        units = float(self.count)
        (sill,) = self.sill(at, ends)
        assert isinstance(sill, Passage)
        return [
            Passage("screen", "opening", params, units, sources=("split-opening",)),
            replace(sill, name="sill"),
        ]

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Those of the sill."""
        if seen.part.name == "sill":
            yield from super().checks(seen, limits)
