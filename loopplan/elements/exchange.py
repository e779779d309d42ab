"""Water in and out of the farm: make-up and stated discharge."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import (
    Carried,
    Conditions,
    Element,
    Ends,
    Part,
    Passage,
    Seen,
    carried,
    quantity,
)
from loopplan.findings import Finding, find

_LEAST_GAP = 0.020
"""Least air gap [m] whatever the bore; EN 1717, from memory."""


class MakeUp(Element):
    """New water that enters the loop."""

    kind: Literal["make-up"]
    flow: float = quantity("flow", "Flow of new water.", unit="m3/h", above=0.0)
    outlet_level: float | None = quantity(
        "level", "Level of its outlet, to check the air gap.", unit="m", default=None
    )
    outlet_diameter: float | None = quantity(
        "length", "Bore of its outlet, to check the air gap.", unit="mm", default=None, above=0.0
    )
    float_level: float | None = quantity(
        "level",
        "Level of the water at which its float shuts; below it the float opens, lifts or no lifts.",
        unit="m",
        default=None,
    )
    title: ClassVar[str] = "new water that enters the loop"
    symbol: ClassVar[str] = "make-up"
    role: ClassVar[str] = "source"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """A flow from outside."""
        return [Passage("", "given", {"flow": self.flow}, float(self.count))]

    def least_gap(self) -> float:
        """Return the air gap that is needed over the highest water [m]."""
        return max(2.0 * (self.outlet_diameter or 0.0), _LEAST_GAP)

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """An air gap needs level and bore of the outlet."""
        for name in ("outlet_level", "outlet_diameter"):
            other = "outlet_diameter" if name == "outlet_level" else "outlet_level"
            if getattr(self, name) is None and getattr(self, other) is not None:
                shown = name.replace("_", " ")
                yield (
                    shown,
                    f"`{shown}` is missing: the air gap hangs on level and bore of the outlet",
                    f"add `{shown}: ...`",
                )

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """The air gap over the water of this state, and the float."""
        if self.outlet_level is not None:
            gap, needed = self.outlet_level - seen.level_down, self.least_gap()
            if gap < needed - 1e-9:
                yield find(
                    "air-gap-short",
                    seen.element,
                    state=seen.state,
                    value=gap,
                    limit=needed,
                    unit="m",
                    message=f"the outlet stands {1000.0 * gap:.0f} mm above the water, and "
                    f"{1000.0 * needed:.0f} mm are needed",
                )
        if self.float_level is not None and seen.level_down > self.float_level + 1e-6:
            yield find(
                "float-shut",
                seen.element,
                state=seen.state,
                value=seen.level_down,
                limit=self.float_level,
                unit="m",
                message=f"the level stands {seen.level_down - self.float_level:.3f} m above the "
                "one at which the float shuts",
            )


class Discharge(Element):
    """A stated flow that leaves the loop for good, all the time, and that its levels feel."""

    kind: Literal["discharge"]
    flow: float = quantity("flow", "Flow that leaves.", unit="m3/h", above=0.0)
    carries: Carried = carried()
    title: ClassVar[str] = "stated flow that leaves the farm, to a sewer or with sludge"
    symbol: ClassVar[str] = "discharge"
    role: ClassVar[str] = "sink"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """A flow to outside."""
        return [Passage("", "given", {"flow": self.flow}, float(self.count))]
