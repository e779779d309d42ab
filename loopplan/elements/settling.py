"""Settling basin: solids sink while the water passes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Basin, Conditions, Seen, quantity
from loopplan.elements._basin import BasinElement
from loopplan.findings import Finding, find


class SettlingBasin(BasinElement):
    """A basin in which solids sink; flow over plan area is what it is judged by."""

    kind: Literal["settling basin"]
    length: float = quantity("length", "Length of one unit.", unit="m", above=0.0)
    width: float = quantity("length", "Width of one unit.", unit="m", above=0.0)
    greatest_loading: float = quantity(
        "surface loading",
        "Flow over plan area up to which the solids settle.",
        unit="m/h",
        default="2.5 m/h",
        source="common practice, no source",
        above=0.0,
    )
    sludge_flow: float = quantity(
        "flow",
        "Sludge drawn off one unit, averaged over the day.",
        unit="m3/h",
        default="0 m3/h",
        source="assumed: no draw-off stated",
        least=0.0,
    )
    title: ClassVar[str] = "basin in which solids sink, with draw-off of sludge"
    symbol: ClassVar[str] = "settling-basin"
    waste_kind: ClassVar[str] = "sludge"

    def plan_area(self) -> float:
        """Length times width [m2]."""
        return self.length * self.width

    def waste(self, at: Conditions) -> float:
        """See :meth:`Element.waste`: the sludge of all units."""
        return self.count * self.sludge_flow

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """What all basins are checked for, and the surface loading."""
        yield from super().checks(seen, limits)
        if not isinstance(seen.part, Basin):
            return
        loading = seen.flow / (self.plan_area() * self.count)
        if loading > self.greatest_loading * (1.0 + 1e-9):
            wanted = seen.flow / self.greatest_loading
            yield find(
                "settling-overloaded",
                seen.element,
                state=seen.state,
                value=3600.0 * loading,
                limit=3600.0 * self.greatest_loading,
                unit="m/h",
                message=f"surface loading is {3600.0 * loading:.2f} m/h; {wanted:.1f} m2 in all "
                f"would come down to {3600.0 * self.greatest_loading:.2f} m/h",
            )
