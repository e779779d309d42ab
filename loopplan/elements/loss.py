"""A loss at a flow: what a maker states or a gauge has shown, with its law."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from pydantic import field_validator

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity, sub
from loopplan.findings import Finding, find
from loopplan.points import read_points


class Loss(Element):
    """Anything whose loss is known at a flow: stated, measured, or by an exponent law."""

    kind: Literal["loss"]
    loss: float | None = quantity(
        "head", "Loss when clean at the flow below.", unit="m", default=None, least=0.0
    )
    loss_fouled: float | None = quantity(
        "head", "Loss when fouled at the flow below.", unit="m", default=None, least=0.0
    )
    flow: float | None = quantity(
        "flow", "Flow of one unit at which the loss holds.", unit="m3/h", default=None, above=0.0
    )
    exponent: float = quantity(
        "number",
        "Exponent of the flow in the loss.",
        unit="",
        default="2",
        source="turbulent local loss",
        least=1.0,
        most=3.0,
    )
    points: list[list[float]] = sub("Points of flow and loss, measured.", default=[])
    needed_pressure: float = quantity(
        "head",
        "Pressure that the element needs above the water it delivers to.",
        unit="m",
        default="0 mWC",
        source="assumed: no pressure is asked for",
        least=0.0,
    )
    title: ClassVar[str] = "anything whose loss is known at a flow, stated or measured"
    symbol: ClassVar[str] = "loss"

    @field_validator("points", mode="before")
    @classmethod
    def _points(cls, value: Any) -> Any:
        return read_points(value, rising=True)

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One passage, by exponent or by points."""
        pressure = self.needed_pressure > 0.0
        useful = self.needed_pressure
        units = float(self.count)
        if self.points:
            from loopplan.physics.curve_fit import monotone_slopes

            flows = [p[0] for p in self.points]
            heads = [-p[1] for p in self.points]
            if flows[0] > 0.0:
                flows, heads = [0.0, *flows], [0.0, *heads]
            flows = [-q for q in reversed(flows[1:])] + flows
            heads = [-h for h in reversed(heads[1:])] + heads
            params: dict[str, Any] = {
                "flows": flows,
                "heads": heads,
                "slopes": monotone_slopes(flows, heads),
                "speed": 1.0,
            }
            return [Passage("", "curve", params, units, useful, pressure, ("stated-loss",))]
        loss = self.loss or 0.0
        if at.fouled and self.loss_fouled is not None:
            loss = self.loss_fouled
        flow = self.flow or 1.0
        params = {
            "c1": 0.0,
            "c2": 0.0,
            "cn": loss / flow**self.exponent,
            "n": self.exponent,
            "cap": float("inf"),
            "small": 1e-3 * flow,
        }
        return [Passage("", "loss", params, units, useful, pressure, ("stated-loss",))]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Loss and flow, or points; not both, not neither."""
        stated = self.loss is not None
        if stated == bool(self.points):
            yield (
                "loss",
                "a loss is stated once: at a flow, or by points",
                "give `loss` and `flow`, or `points`",
            )
        if stated and self.flow is None:
            yield "flow", "the flow at which the loss holds is missing", "add `flow: ...`"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Pressure short of what is needed; a measured range left."""
        head = seen.head_up - seen.head_down
        if self.needed_pressure > 0.0 and head < self.needed_pressure - 1e-6:
            yield find(
                "nozzle-pressure-short",
                seen.element,
                state=seen.state,
                value=head,
                limit=self.needed_pressure,
                unit="m",
            )
        per = seen.flow / self.count
        if self.points and per > self.points[-1][0]:
            yield find(
                "outside-range",
                seen.element,
                state=seen.state,
                value=per,
                limit=self.points[-1][0],
                unit="m3/s",
                message="the flow lies beyond the last measured point",
            )
