"""Fish tanks: raceways and round tanks."""

from __future__ import annotations

import math
from typing import ClassVar, Literal

from loopplan.declare import quantity
from loopplan.elements._basin import BasinElement


class Raceway(BasinElement):
    """A long fish tank that water runs through from end to end."""

    kind: Literal["raceway"]
    length: float = quantity("length", "Length of one unit.", unit="m", above=0.0)
    width: float = quantity("length", "Width of one unit.", unit="m", above=0.0)
    title: ClassVar[str] = "long fish tank that water runs through from end to end"
    symbol: ClassVar[str] = "tank"
    fish: ClassVar[bool] = True

    def plan_area(self) -> float:
        """Length times width [m2]."""
        return self.length * self.width


class RoundTank(BasinElement):
    """A round fish tank."""

    kind: Literal["round tank"]
    diameter: float = quantity("length", "Inside diameter of one unit.", unit="m", above=0.0)
    title: ClassVar[str] = "round fish tank"
    symbol: ClassVar[str] = "tank"
    fish: ClassVar[bool] = True

    def plan_area(self) -> float:
        """Area of the circle [m2]."""
        return math.pi / 4.0 * self.diameter**2
