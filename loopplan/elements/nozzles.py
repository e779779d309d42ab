"""Nozzles: jets that turn the water of a tank."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity
from loopplan.findings import Finding, find


class Nozzles(Element):
    """A row of jet nozzles; their jet head is a head item of its own."""

    kind: Literal["nozzles"]
    number: int = quantity("count", "Nozzles of one unit.", unit="", least=1)
    diameter: float = quantity("length", "Bore of one nozzle.", unit="mm", above=0.0)
    velocity_coefficient: float = quantity(
        "number",
        "Velocity coefficient of a nozzle.",
        unit="",
        default="0.95",
        source="smooth nozzle; textbook value, from memory",
        above=0.3,
        most=1.0,
    )
    needed_head: float = quantity(
        "head",
        "Jet head that is needed for turning the tank.",
        unit="m",
        default="0 mWC",
        source="assumed: no jet is asked for",
        least=0.0,
    )
    title: ClassVar[str] = "jet nozzles into a tank"
    symbol: ClassVar[str] = "nozzles"
    shared: ClassVar[bool] = True

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """Loss of all jets of one unit."""
        from loopplan.physics.constants import GRAVITY

        area = self.number * 3.141592653589793 / 4.0 * self.diameter**2
        params = {
            "c1": 0.0,
            "c2": 1.0 / (2.0 * GRAVITY * (self.velocity_coefficient * area) ** 2),
            "cn": 0.0,
            "n": 1.0,
            "cap": float("inf"),
            "small": 0.01 * area,
        }
        return [
            Passage(
                "",
                "loss",
                params,
                float(self.count),
                useful=self.needed_head,
                pressure=True,
                sources=("nozzle",),
            )
        ]

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """A jet weaker than needed."""
        head = seen.head_up - seen.head_down
        if head < self.needed_head - 1e-6:
            yield find(
                "nozzle-pressure-short",
                seen.element,
                state=seen.state,
                value=head,
                limit=self.needed_head,
                unit="m",
                message=f"the jets have {head:.3f} m, {self.needed_head - head:.3f} m short",
            )
