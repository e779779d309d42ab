"""Overflow: a sill to the outside, which closes the level of its basin."""

from __future__ import annotations

from typing import ClassVar, Literal

from loopplan.declare import Carried, Conditions, Ends, Part, carried
from loopplan.elements.weir import WeirFields


class Overflow(WeirFields):
    """A sill or standpipe rim over which surplus water leaves the farm."""

    kind: Literal["overflow"]
    carries: Carried = carried()
    title: ClassVar[str] = "sill to the outside; its level follows from what must leave"
    symbol: ClassVar[str] = "overflow"
    role: ClassVar[str] = "sink"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One sill to the outside."""
        return self.sill(at, ends)
