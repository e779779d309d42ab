"""Weir: a sill that water runs over, free or drowned."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import (
    Conditions,
    Element,
    Ends,
    Part,
    Passage,
    Seen,
    quantity,
    word,
)
from loopplan.findings import Finding, Severity, find

CrestForm = Literal["sharp", "contracted", "V-notch", "broad", "rounded", "coefficient"]


class WeirFields(Element):
    """What every sill is described by."""

    crest: float = quantity("level", "Level of the crest.", unit="m")
    width: float = quantity(
        "length",
        "Length of the crest across the flow; not needed for a V-notch.",
        unit="m",
        default="0 m",
        source="only a V-notch goes without",
        least=0.0,
    )
    form: CrestForm = word(
        "Form of the crest: sharp (full width), contracted, V-notch, broad, rounded, or "
        "coefficient (stated).",
        default="sharp",
        source="common practice, no source",
    )
    crest_height: float = quantity(
        "length",
        "Height of the crest above the floor before it.",
        unit="m",
        default="0.50 m",
        source="common practice, no source",
        above=0.0,
    )
    channel_width: float | None = quantity(
        "length", "Width of the channel before a contracted sill.", unit="m", default=None, above=0
    )
    angle: float | None = quantity(
        "angle",
        "Full angle of a V-notch.",
        unit="deg",
        default=None,
        least=0.3490658,
        most=1.7453293,
    )
    discharge_coefficient: float | None = quantity(
        "number",
        "Stated coefficient of discharge of the form `coefficient`.",
        unit="",
        default=None,
        least=0.1,
        most=1.2,
    )
    level_tolerance: float = quantity(
        "length",
        "How far the crest may stand above or below its level, along it and from unit to unit.",
        unit="mm",
        default="2 mm",
        source="common practice, no source",
        least=0.0,
    )

    def law_params(self) -> tuple[dict[str, float], Any]:
        """Return parameters of the weir law of one unit, and the coefficients behind them."""
        from loopplan.physics.weirs import weir_coefficients

        geometry: dict[str, float] = {}
        if self.form == "V-notch":
            geometry = {"angle": self.angle or 0.0}
        else:
            geometry["width"] = self.width
            if self.form in ("sharp", "contracted"):
                geometry["crest_height"] = self.crest_height
            if self.form == "contracted":
                geometry["channel_width"] = self.channel_width or self.width
            if self.form == "coefficient":
                geometry["coefficient"] = self.discharge_coefficient or 0.0
        found = weir_coefficients(self.form, **geometry)
        return {
            "crest": self.crest,
            "c0": found.c0,
            "c1": found.c1,
            "kh": found.kh,
            "exponent": found.exponent,
            "modular_limit": found.modular_limit,
            "drown_exponent": found.drown_exponent,
        }, found

    def sill(self, at: Conditions, ends: Ends, useful: float = 0.0) -> list[Part]:
        """Return the sill as one passage."""
        params, found = self.law_params()
        return [
            Passage("", "weir", params, float(self.count), useful=useful, sources=(found.source,))
        ]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Sizes that the chosen form needs."""
        needs = {"V-notch": "angle", "coefficient": "discharge_coefficient"}
        key = needs.get(self.form)
        if key and getattr(self, key) is None:
            shown = key.replace("_", " ")
            yield key, f"the form `{self.form}` needs `{shown}`", f"add `{shown}: ...`"
        if self.form != "V-notch" and self.width <= 0.0:
            yield "width", "a sill needs the length of its crest", "add `width: ... m`"
        if self.form == "contracted" and self.channel_width is None:
            yield (
                "channel width",
                "a contracted sill needs the width of the channel before it",
                "add `channel width: ... m`, or use the form `sharp` for a full-width sill",
            )
        elif self.form == "contracted" and (self.channel_width or 0.0) < self.width:
            yield (
                "channel width",
                "the sill is wider than the channel before it",
                "make the channel at least as wide as the sill",
            )

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Drowned sills, and heads outside the formula's range."""
        up, down = seen.head_up - self.crest, seen.head_down - self.crest
        params, found = self.law_params()
        if up <= 0.0:
            return
        if down > 0.0 and down / up > params["modular_limit"]:
            free = _free_head(params, seen.flow / seen.part.units)
            yield find(
                "weir-drowned",
                seen.element,
                state=seen.state,
                value=down,
                limit=params["modular_limit"] * up,
                unit="m",
                message=f"the tailwater stands {down:.3f} m above the crest "
                f"({100.0 * down / up:.0f} % of the head before it) and backs it up by "
                f"{1000.0 * (up - free):.0f} mm",
            )
        if not found.range_low <= up <= found.range_high:
            yield find(
                "weir-out-of-range",
                seen.element,
                state=seen.state,
                value=up,
                limit=found.range_low if up < found.range_low else found.range_high,
                unit="m",
                source=found.source,
                # What leaves over an overflow is fixed by the make-up: only the level is unsure.
                severity=Severity.NOTE if self.role == "sink" else None,
                message=f"the head of {up:.3f} m is outside the formula's "
                f"{found.range_low:.3f} to {found.range_high:.3f} m"
                + ("; the level is a little unsure" if self.role == "sink" else ""),
            )


def _free_head(params: dict[str, float], flow: float) -> float:
    """Head [m] over the sill that would carry the flow of one unit if it ran free."""
    from loopplan.physics.weirs import weir_head

    shape = (params[name] for name in ("c0", "c1", "kh", "exponent"))
    return float(weir_head(max(flow, 0.0), *shape))


class Weir(WeirFields):
    """A sill between two places of the loop."""

    kind: Literal["weir"]
    shared: ClassVar[bool] = True
    title: ClassVar[str] = "sill that water runs over, free or drowned"
    symbol: ClassVar[str] = "weir"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One sill."""
        return self.sill(at, ends)
