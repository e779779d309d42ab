"""Drum filter: a turning screen between an inlet chamber and a sill."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Basin, Conditions, Element, Ends, Part, Passage, Seen, quantity
from loopplan.elements._basin import board_checks
from loopplan.elements.weir import Weir
from loopplan.findings import Finding, find

_NONE = "common practice, no source"
_BUILDS_UP = 0.02
"""Share of the stated flow [-] below which a loaded screen does not reach its trigger."""


class DrumFilter(Element):
    """A drum screen that is washed when the differential across it reaches a trigger.

    Clean, it loses the stated clean loss by flow. Fouled, the differential stands at the trigger
    whatever the flow, because washing holds it there; once the clean screen alone would lose
    more than the trigger, the clean loss counts. Its levels so swing between the two conditions.
    """

    kind: Literal["drum filter"]
    axis: float = quantity("level", "Level of the drum's axis.", unit="m")
    diameter: float = quantity("length", "Diameter of the drum.", unit="m", above=0.0)
    drum_width: float = quantity(
        "length", "Width of the screen along the axis.", unit="m", above=0.0
    )
    clean_loss: float = quantity(
        "head", "Loss of the clean screen at the flow below.", unit="m", above=0.0
    )
    flow: float = quantity(
        "flow", "Flow of one unit at which the clean loss holds.", unit="m3/h", above=0.0
    )
    exponent: float = quantity(
        "number",
        "Exponent of the flow in the clean loss.",
        unit="",
        default="2",
        source="turbulent local loss",
        least=1.0,
        most=2.0,
    )
    trigger: float = quantity("head", "Differential at which washing starts.", unit="m", above=0.0)
    greatest_differential: float = quantity(
        "head", "Differential that the drum bears.", unit="m", above=0.0
    )
    greatest_loading: float | None = quantity(
        "surface loading",
        "Flow over wet screen area that is stated for the cloth and these solids.",
        unit="m/h",
        default=None,
        above=0.0,
    )
    wet_inside: float = quantity(
        "share",
        "Share of the diameter that may stand under the level inside.",
        unit="%",
        default="70 %",
        source=_NONE,
        above=0.0,
        most=1.0,
    )
    wet_outside: float = quantity(
        "share",
        "Share of the diameter that may stand under the level outside.",
        unit="%",
        default="60 %",
        source=_NONE,
        above=0.0,
        most=1.0,
    )
    sill_crest: float = quantity("level", "Crest of the sill behind the drum.", unit="m")
    sill_width: float = quantity("length", "Length of that crest.", unit="m", above=0.0)
    bypass_crest: float | None = quantity(
        "level", "Crest of the bypass sill of the inlet chamber, if it has one.", unit="m",
        default=None,
    )  # fmt: skip
    bypass_width: float | None = quantity(
        "length", "Length of the bypass crest.", unit="m", default=None, above=0.0
    )
    wash_flow: float = quantity(
        "flow",
        "Flow of the wash nozzles of one unit while they run, taken from the loop.",
        unit="m3/h",
        default="0 m3/h",
        source="assumed: washed with water that is counted elsewhere",
        least=0.0,
    )
    wash_share: float = quantity(
        "share",
        "Share of the time in which it washes when clean.",
        unit="%",
        default="15 %",
        source=_NONE,
        least=0.0,
        most=1.0,
    )
    wash_share_fouled: float = quantity(
        "share",
        "Share of the time in which it washes when fouled.",
        unit="%",
        default="100 %",
        source="the differential stands at the trigger, so that washing does not stop",
        least=0.0,
        most=1.0,
    )
    needed_wash_pressure: float = quantity(
        "pressure",
        "Pressure that the wash nozzles need; a small pump of its own gives it.",
        unit="bar",
        default="7 bar",
        source=_NONE,
        above=0.0,
    )
    area: float = quantity(
        "area", "Plan area of the inlet chamber of one unit.", unit="m2", above=0
    )
    floor: float = quantity("level", "Floor of the inlet chamber.", unit="m")
    wall_top: float = quantity("level", "Wall top of the inlet chamber.", unit="m")
    title: ClassVar[str] = "turning screen that is washed at a differential, with sill and bypass"
    symbol: ClassVar[str] = "drum"
    waste_kind: ClassVar[str] = "wash water"
    role: ClassVar[str] = "basin"

    def waste(self, at: Conditions) -> float:
        """See :meth:`Element.waste`: wash water by the share of time in which it runs."""
        share = self.wash_share_fouled if at.fouled else self.wash_share
        return self.count * self.wash_flow * share

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """Inlet chamber, screen, sill; the bypass sill runs beside them."""
        units = float(self.count)
        params = {
            "cn": self.clean_loss / self.flow**self.exponent,
            "n": self.exponent,
            "trigger": self.trigger if at.fouled else 0.0,
            "small": _BUILDS_UP * self.flow,
        }
        chain: list[Part] = [
            Basin("", self.floor, self.wall_top, self.area, units),
            Passage("screen", "drum", params, units, sources=("stated-loss",)),
            self._sill("sill", self.sill_crest, self.sill_width, None),
        ]
        if self.bypass_crest is not None and self.bypass_width is not None:
            chain.append(self._sill("bypass sill", self.bypass_crest, self.bypass_width, (0, 2)))
        return chain

    def _sill(self, name: str, crest: float, width: float, span: tuple[int, int] | None) -> Passage:
        params, found = self._weir(crest, width).law_params()
        return Passage(name, "weir", params, float(self.count), sources=(found.source,), span=span)

    def _weir(self, crest: float, width: float) -> Weir:
        """A sharp sill above the chamber's floor."""
        height = max(crest - self.floor, 0.05)
        return Weir.model_validate(
            {"kind": "weir", "crest": crest, "width": width, "crest height": height}
        )

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Sills, walls and differentials that contradict each other."""
        if self.wall_top <= self.floor:
            yield (
                "wall top",
                f"the wall top ({self.wall_top:.3f} m) is not above the floor ({self.floor:.3f} m)",
                "give both as levels above the farm datum",
            )
        if self.greatest_differential < self.trigger:
            yield (
                "greatest differential",
                "washing would start above the differential that the drum bears",
                "lower the trigger",
            )
        low, high = self.axis - self.diameter / 2.0, self.axis + self.diameter / 2.0
        if not low < self.sill_crest < high:
            yield (
                "sill crest",
                f"the sill ({self.sill_crest:.3f} m) does not stand between the bottom "
                f"({low:.3f} m) and the top ({high:.3f} m) of the drum",
                "check the levels of axis and sill",
            )
        if (self.bypass_crest is None) != (self.bypass_width is None):
            yield (
                "bypass crest",
                "a bypass sill needs its crest and its width",
                "give both `bypass crest` and `bypass width`, or neither",
            )
        if self.bypass_crest is not None and self.bypass_crest >= self.wall_top:
            yield (
                "bypass crest",
                "the bypass sill stands above the wall top: the chamber would run over first",
                "lower the sill or raise the wall",
            )

    def _wet_area(self, level: float) -> float:
        """Screen area [m2] of one unit under a level [m]."""
        radius = self.diameter / 2.0
        ratio = min(max((self.axis - level) / radius, -1.0), 1.0)
        return self.diameter * math.acos(ratio) * self.drum_width

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Bypass, sill, depth of the drum in water, differential, loading, and the chamber."""
        part = seen.part
        if isinstance(part, Basin):
            yield from board_checks(seen, part, limits.freeboard)
        elif part.name == "screen":
            yield from self._drowned(seen, "inside", seen.level_up, self.wet_inside)
            yield from self._drowned(seen, "outside", seen.head_down, self.wet_outside)
            yield from self._loaded(seen, part)
        elif part.name == "sill":
            yield from self._weir(self.sill_crest, self.sill_width).checks(seen, limits)
        elif part.name == "bypass sill" and seen.flow > 1e-9:
            yield find(
                "bypass-flows",
                seen.element,
                state=seen.state,
                value=seen.flow,
                limit=0.0,
                unit="m3/s",
                message=f"{3600.0 * seen.flow:.1f} m3/h run over the bypass sill unscreened"
                + self._never_washed(),
            )

    def _never_washed(self) -> str:
        """Say that the bypass stands below what starts the washing, if it does."""
        starts = self.sill_crest + self.trigger
        if self.bypass_crest is None or self.bypass_crest >= starts:
            return ""
        return (
            f"; its crest ({self.bypass_crest:.3f} m) stands below {starts:.3f} m, the sill behind "
            "the drum and the trigger added: washing may never start"
        )

    def _drowned(self, seen: Seen, side: str, level: float, share: float) -> Iterable[Finding]:
        limit = self.axis + (share - 0.5) * self.diameter
        if level > limit:
            yield find(
                "drum-drowned",
                seen.element,
                state=seen.state,
                value=level,
                limit=limit,
                unit="m",
                message=f"the level {side} the drum is {level:.3f} m, {level - limit:.3f} m above "
                f"{100.0 * share:.0f} % of its diameter; the sill behind it would have to stand as "
                "much lower",
            )

    def _loaded(self, seen: Seen, part: Passage) -> Iterable[Finding]:
        differential = seen.head_up - seen.head_down
        if differential > self.greatest_differential + 1e-6:
            yield find(
                "drum-differential",
                seen.element,
                state=seen.state,
                value=differential,
                limit=self.greatest_differential,
                unit="m",
            )
        per = max(seen.flow, 0.0) / part.units
        clean = self.clean_loss * (per / self.flow) ** self.exponent
        if clean > self.trigger + 1e-6:
            yield find(
                "drum-overloaded",
                seen.element,
                state=seen.state,
                value=clean,
                limit=self.trigger,
                unit="m",
                message=f"the clean screen alone would lose {clean:.3f} m at this flow, and "
                f"washing starts at {self.trigger:.3f} m",
            )
        loading = per / max(self._wet_area(seen.level_up), 1e-9)
        if self.greatest_loading is not None and loading > self.greatest_loading:
            yield find(
                "screen-overloaded",
                seen.element,
                state=seen.state,
                value=3600.0 * loading,
                limit=3600.0 * self.greatest_loading,
                unit="m/h",
            )
