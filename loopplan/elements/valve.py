"""Valve in a pipe run."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity, sub
from loopplan.elements.one_way import check_shut
from loopplan.findings import Finding


class Valve(Element):
    """A valve of a pipe run; its loss by type and opening, or by a stated coefficient.

    A swing check passes water one way; `check valve` is the kind with an opening head and a leak.
    """

    kind: Literal["valve"]
    diameter: float = quantity("length", "Inside diameter of the run.", unit="mm", above=0.0)
    type: Literal["gate valve", "butterfly valve", "ball valve", "swing check", "stated"] = sub(
        "Type of the valve; `stated` takes `k`.", default="gate valve"
    )
    closed: float = quantity(
        "angle",
        "How far a butterfly valve is turned toward closed.",
        unit="deg",
        default="0 deg",
        source="fully open",
        least=0.0,
        most=1.2218,
    )
    k: float | None = quantity(
        "number", "Stated loss coefficient on the velocity head.", unit="", default=None, least=0.0
    )
    title: ClassVar[str] = "valve of a pipe run"
    symbol: ClassVar[str] = "valve"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One local loss; a swing check lets nothing back."""
        k, source, note = self._coefficient()
        law = "pipe"
        params = {
            "length": self.diameter,
            "diameter": self.diameter,
            "roughness": 0.0,
            "viscosity": at.viscosity,
            # A valve has no wall of its own: its friction is in the run.
            "factor": 1e-12,
            "k": k,
        }
        if self.type == "swing check":
            law = "one-way"
            params = {"k": k, "diameter": self.diameter, "opening_head": 0.0, "leak": 0.0}
        return [Passage("", law, params, float(self.count), sources=(source,), notes=(note,))]

    def _coefficient(self) -> tuple[float, str, str]:
        if self.type == "stated":
            return self.k or 0.0, "stated-loss", f"K {self.k or 0.0:g}, stated"
        from loopplan.physics.fittings import fitting_k

        geometry = {}
        if self.type == "butterfly valve":
            geometry["angle"] = math.degrees(self.closed)
        elif self.type == "swing check":
            geometry["diameter"] = self.diameter
        found = fitting_k(self.type, **geometry)
        return found.value, found.source, f"{self.type}: K {found.value:.3g} ({found.method})"

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A stated valve needs its coefficient, and only it takes one; a size off its table."""
        if (self.type == "stated") != (self.k is not None):
            yield (
                "k",
                "`k` goes with the type `stated`",
                "write `type: stated` and `k: ...`, or drop `k`",
            )
            return
        try:
            self._coefficient()
        except ValueError as error:
            yield "diameter", str(error), "write `kind: check valve`, and state its `k`"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """A swing check that is shut."""
        if self.type == "swing check":
            yield from check_shut(seen, self.diameter, 0.0)
