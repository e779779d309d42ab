"""Oxygen cone: oxygen is dissolved under pressure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity
from loopplan.findings import Finding, find


class OxygenCone(Element):
    """A cone that stands under pressure, and the throttle behind it that holds the pressure.

    The cone itself loses little: the head goes at the throttle (a valve or nozzles) at its
    outlet. That is fixed, so that its loss falls with the square of the flow: set for the stated
    flow, the cone lacks pressure at a lower one. What the throttle does not hold, the level that
    the cone delivers to must.
    """

    kind: Literal["oxygen cone"]
    level: float = quantity("level", "Level of the gauge on the cone's outlet.", unit="m")
    needed_pressure: float = quantity(
        "head", "Gauge pressure that the cone needs.", unit="m", above=0.0
    )
    loss: float = quantity("head", "Loss of the cone itself at the flow below.", unit="m", above=0)
    flow: float = quantity(
        "flow", "Flow of one unit at which loss and throttle hold.", unit="m3/h", above=0.0
    )
    throttle: float | None = quantity(
        "head",
        "Head that the throttle at its outlet takes at that flow; if left out, the needed "
        "pressure.",
        unit="m",
        default=None,
        above=0.0,
    )
    title: ClassVar[str] = "cone that dissolves oxygen under pressure, with its outlet throttle"
    symbol: ClassVar[str] = "cone"
    shared: ClassVar[bool] = True
    treats: ClassVar[bool] = True

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """The cone, and the throttle whose head is useful: it is the pressure that is needed."""
        throttle = self.needed_pressure if self.throttle is None else self.throttle
        return [
            self._part("cone", self.loss, 0.0),
            self._part("outlet throttle", throttle, self.needed_pressure),
        ]

    def _part(self, name: str, head: float, useful: float) -> Passage:
        params = {
            "c1": 0.0,
            "c2": head / self.flow**2,
            "cn": 0.0,
            "n": 1.0,
            "cap": float("inf"),
            "small": 1e-3 * self.flow,
        }
        units, pressure = float(self.count), useful > 0.0
        return Passage(name, "loss", params, units, useful, pressure, ("stated-loss",))

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Pressure short at the gauge."""
        pressure = seen.head_up - self.level
        if seen.part.name != "outlet throttle" or pressure >= self.needed_pressure - 1e-6:
            return
        yield find(
            "cone-pressure-short",
            seen.element,
            state=seen.state,
            value=pressure,
            limit=self.needed_pressure,
            unit="m",
            message=f"the gauge would show {pressure:.2f} m, "
            f"{self.needed_pressure - pressure:.2f} m short",
        )
