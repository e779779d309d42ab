"""Flap valves and check valves: water passes one way only."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity
from loopplan.findings import Finding, find

_SHUT = 1e-7
"""Speed in the bore [m/s] up to which a one-way passage counts as shut."""


class OneWayFields(Element):
    """What every one-way passage is described by.

    The opening head is lost at every flow, on top of K v2/2g. A hinged flap that a strong flow
    holds wide open loses a little less: the sum is on the safe side.
    """

    diameter: float = quantity("length", "Inside diameter of its seat.", unit="mm", above=0.0)
    opening_head: float = quantity("head", "Head that lifts it off its seat.", unit="mm", least=0.0)
    k: float | None = quantity(
        "number",
        "Loss coefficient on the velocity head when open; else that of a swing check by size.",
        unit="",
        default=None,
        above=0.0,
    )
    leak: float = quantity(
        "share",
        "Share of the bore that stays open to backward flow when shut; all of it for a stuck one.",
        unit="%",
        default="0 %",
        source="assumed: its seat is tight",
        least=0.0,
        most=1.0,
    )
    symbol: ClassVar[str] = "flap"

    @property
    def has_flap(self) -> bool:
        """Whether it keeps water from running back when the lifts stop."""
        return self.leak == 0.0

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One passage."""
        k, source, note = self._coefficient()
        params = {
            "k": k,
            "diameter": self.diameter,
            "opening_head": self.opening_head,
            "leak": self.leak,
        }
        return [Passage("", "one-way", params, float(self.count), sources=(source,), notes=(note,))]

    def _coefficient(self) -> tuple[float, str, str]:
        if self.k is not None:
            return self.k, "stated-loss", f"K {self.k:g}, stated"
        from loopplan.physics.fittings import fitting_k

        found = fitting_k("swing check", diameter=self.diameter)
        return found.value, found.source, f"swing check: K {found.value:.3g} ({found.method})"

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A size that the table of swing checks does not hold."""
        try:
            self._coefficient()
        except ValueError as error:
            yield "diameter", str(error), "state its loss coefficient in `k`"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Shut against the flow path."""
        yield from check_shut(seen, self.diameter, self.opening_head)


def check_shut(seen: Seen, diameter: float, opening_head: float) -> Iterable[Finding]:
    """Yield a finding of a flap that is shut: bore [m], and the head that opens it [m]."""
    held = seen.head_down - seen.head_up
    if abs(seen.flow) <= _SHUT * diameter**2 * seen.part.units:
        yield find(
            "one-way-shut",
            seen.element,
            state=seen.state,
            value=held,
            limit=-opening_head,
            unit="m",
            message=f"it is shut: the head behind it is {held:.3f} m above that before it"
            if held > 0.0
            else f"it is shut: {-held:.3f} m stand before it, too little to open it",
        )


class FlapValve(OneWayFields):
    """A hinged flap at the end of a pipe or in a wall."""

    kind: Literal["flap valve"]
    title: ClassVar[str] = "hinged flap: water passes one way"


class CheckValve(OneWayFields):
    """A check valve in a pipe run: swing, ball or spring-loaded."""

    kind: Literal["check valve"]
    opening_head: float = quantity(
        "head",
        "Head that its spring or its weight holds against.",
        unit="mm",
        default="0 mm",
        source="assumed: no spring",
        least=0.0,
    )
    title: ClassVar[str] = "check valve of a pipe run: water passes one way"
