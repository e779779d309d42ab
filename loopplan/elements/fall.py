"""Fall: water drops over a lip because the drop is needed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Ends, Part, Seen, quantity
from loopplan.elements.weir import WeirFields
from loopplan.findings import Finding, find


class Fall(WeirFields):
    """A lip with a drop below it that is there for a purpose: aeration, degassing, a gap."""

    kind: Literal["fall"]
    needed_fall: float = quantity(
        "head", "Drop that is needed from the lip to the water below.", unit="m", above=0.0
    )
    title: ClassVar[str] = "lip with a drop that is needed"
    symbol: ClassVar[str] = "fall"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One lip; the needed drop is useful head."""
        return self.sill(at, ends, useful=self.needed_fall)

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """A drop shorter than needed."""
        yield from super().checks(seen, limits)
        drop = self.crest - seen.head_down
        if drop < self.needed_fall - 1e-6:
            yield find(
                "fall-short",
                seen.element,
                state=seen.state,
                value=drop,
                limit=self.needed_fall,
                unit="m",
                message=f"the drop is {drop:.3f} m, {self.needed_fall - drop:.3f} m short",
            )
