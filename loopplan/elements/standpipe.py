"""Standpipe: water runs over a round rim and down a pipe."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Ends, Part, Passage, Seen, quantity
from loopplan.elements.pipe import PipeFields
from loopplan.findings import Finding, find

_DEEPEST = 0.25
"""Head over the rim in diameters [-] at which perimeter times head is the area of the bore."""


class Standpipe(PipeFields):
    """A pipe that stands in a basin: its rim is a round sill, and the drop pipe follows.

    The rim is as long as its circumference. When the water in the drop pipe rises above it, the
    rim is drowned and the pipe, running full, sets the level; between the two, at heads above a
    quarter of the diameter, neither law holds well, and a finding says so.
    """

    kind: Literal["standpipe"]
    rim: float = quantity("level", "Level of the rim.", unit="m")
    rim_diameter: float | None = quantity(
        "length",
        "Diameter of the rim where it widens to a funnel; else that of the pipe.",
        unit="mm",
        default=None,
        above=0.0,
    )
    discharge_coefficient: float = quantity(
        "number",
        "Coefficient of discharge of the rim.",
        unit="",
        default="0.60",
        source="thin round rim at small heads; textbook value, from memory",
        least=0.1,
        most=1.2,
    )
    title: ClassVar[str] = "pipe standing in a basin: a round rim, and a drop pipe"
    symbol: ClassVar[str] = "standpipe"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """Rim and drop pipe."""
        from loopplan.physics.weirs import weir_coefficients

        wide = self._wide()
        found = weir_coefficients(
            "coefficient", width=math.pi * wide, coefficient=self.discharge_coefficient
        )
        params = {
            "crest": self.rim,
            "c0": found.c0,
            "c1": found.c1,
            "kh": found.kh,
            "exponent": found.exponent,
            "modular_limit": found.modular_limit,
            "drown_exponent": found.drown_exponent,
        }
        rim = Passage("rim", "weir", params, float(self.count), sources=(found.source,))
        # The mouth of the pipe is an entrance like any other once the rim is drowned.
        return [rim, self.run(at, Ends(True, ends.to_basin), "drop pipe")]

    def _wide(self) -> float:
        return self.rim_diameter or self.bore

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A rim narrower than its pipe."""
        problems = list(super().refusals())
        yield from problems
        if not problems and self._wide() < self.bore:
            yield (
                "rim diameter",
                "the rim is narrower than its pipe",
                "give the diameter of the funnel, or drop it",
            )

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Head over the rim; velocity in the drop pipe."""
        if seen.part.name != "rim":
            yield from super().checks(seen, limits)
            return
        head, limit = seen.head_up - self.rim, _DEEPEST * self._wide()
        if head > limit:
            yield find(
                "standpipe-drowned",
                seen.element,
                state=seen.state,
                value=head,
                limit=limit,
                unit="m",
                message=f"the head over the rim is {head:.3f} m, more than a quarter of its "
                f"{self._wide():.3f} m",
            )
