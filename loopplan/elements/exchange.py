"""Water in and out of the farm: make-up and stated discharge."""

from __future__ import annotations

from typing import ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, quantity


class MakeUp(Element):
    """New water that enters the loop."""

    kind: Literal["make-up"]
    flow: float = quantity("flow", "Flow of new water.", unit="m3/h", above=0.0)
    title: ClassVar[str] = "new water that enters the loop"
    symbol: ClassVar[str] = "make-up"
    role: ClassVar[str] = "source"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """A flow from outside."""
        return [Passage("", "given", {"flow": self.flow}, float(self.count))]


class Discharge(Element):
    """A stated flow that leaves the farm: to the sewer, with sludge, by evaporation."""

    kind: Literal["discharge"]
    flow: float = quantity("flow", "Flow that leaves.", unit="m3/h", above=0.0)
    title: ClassVar[str] = "stated flow that leaves the farm, to a sewer or with sludge"
    symbol: ClassVar[str] = "discharge"
    role: ClassVar[str] = "sink"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """A flow to outside."""
        return [Passage("", "given", {"flow": self.flow}, float(self.count))]
