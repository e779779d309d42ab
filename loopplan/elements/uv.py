"""UV units: lamps in an open channel, or in a closed housing of a pipe run."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity, word
from loopplan.findings import Finding, find


class UVUnit(Element):
    """Lamps that water passes; their loss is stated by the maker.

    In the open form the stated loss holds at a stated depth, and goes with the square of the
    approach velocity: a deeper channel loses less. In the closed form it goes with the flow.
    """

    kind: Literal["UV unit"]
    form: Literal["open", "closed"] = word("Lamps in an `open` channel or a `closed` housing.")
    loss: float = quantity("head", "Loss at the flow below.", unit="m", above=0.0)
    flow: float = quantity(
        "flow", "Flow of one unit at which the loss holds.", unit="m3/h", above=0.0
    )
    loss_fouled: float | None = quantity(
        "head", "Loss at that flow with fouled lamps.", unit="m", default=None, above=0.0
    )
    width: float | None = quantity(
        "length", "Width of the open channel.", unit="m", default=None, above=0.0
    )
    depth: float | None = quantity(
        "length", "Depth before the lamps at which the loss holds.", unit="m", default=None, above=0
    )
    floor: float | None = quantity(
        "level", "Level of the floor of the open channel.", unit="m", default=None
    )
    lamp_top: float | None = quantity(
        "level", "Level that has to stand over the lamps, or over a closed housing.", unit="m",
        default=None,
    )  # fmt: skip
    title: ClassVar[str] = "ultraviolet lamps in an open channel or a closed housing"
    symbol: ClassVar[str] = "uv"
    shared: ClassVar[bool] = True
    treats: ClassVar[bool] = True

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One passage: by approach velocity when open, by flow when closed."""
        loss = self.loss_fouled if at.fouled and self.loss_fouled is not None else self.loss
        units = float(self.count)
        if self.form == "open" and self.width and self.depth and self.floor is not None:
            from loopplan.physics.constants import GRAVITY

            k = 2.0 * GRAVITY * loss * (self.width * self.depth / self.flow) ** 2
            params = {
                "k": k,
                "width": self.width,
                "floor": self.floor,
                "height": float("inf"),
            }
            return [Passage("", "strainer", params, units, sources=("stated-loss",))]
        params = {
            "c1": 0.0,
            "c2": loss / self.flow**2,
            "cn": 0.0,
            "n": 1.0,
            "cap": float("inf"),
            "small": 1e-3 * self.flow,
        }
        return [Passage("", "loss", params, units, sources=("stated-loss",))]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """An open channel has a section; a closed housing has none."""
        for key in ("width", "depth", "floor"):
            given = getattr(self, key) is not None
            if self.form == "open" and not given:
                yield key, f"an open UV unit needs `{key}`", f"add `{key}: ... m`"
            if self.form == "closed" and given:
                yield key, f"a closed UV unit has no `{key}`", f"drop `{key}`, or choose `open`"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Lamps out of water, a housing that does not run full."""
        if self.lamp_top is None or seen.level_down >= self.lamp_top:
            return
        short = self.lamp_top - seen.level_down
        yield find(
            "lamps-bare",
            seen.element,
            state=seen.state,
            value=seen.level_down,
            limit=self.lamp_top,
            unit="m",
            message=f"the level behind the lamps is {short:.3f} m below what has to cover them",
        )
