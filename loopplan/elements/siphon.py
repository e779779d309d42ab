"""Siphon: a pipe run that rises above the water before it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Ends, Part, Passage, Seen, quantity, word
from loopplan.elements._head_line import DEEPEST
from loopplan.elements.pipe import PipeFields
from loopplan.findings import Finding, find


class Siphon(PipeFields):
    """A pipe run over a crest, from one basin to another; it runs full once it is primed."""

    kind: Literal["siphon"]
    crest: float = quantity("level", "Highest crown of the run.", unit="m")
    crest_at: float = quantity(
        "share",
        "Share of the run's losses that lies before the crest.",
        unit="%",
        default="50 %",
        source="assumed: the crest lies halfway",
        least=0.0,
        most=1.0,
    )
    priming: Literal["none", "vacuum pump", "filling line"] = word(
        "What draws or drives the air out of the crest.",
        default="none",
        source="assumed: none is stated",
    )
    break_level: float | None = quantity(
        "level",
        "Level of the break: a hole in the leg before the crest that lets air in.",
        unit="m",
        default=None,
    )
    title: ClassVar[str] = "pipe run over a crest above the water before it"
    symbol: ClassVar[str] = "siphon"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One run."""
        return [self.run(at, ends)]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A break above the crest breaks nothing."""
        yield from super().refusals()
        if self.break_level is not None and self.break_level >= self.crest:
            yield (
                "break level",
                "the break lies above the crest: air never enters there by a falling level",
                "give the level of the hole in the leg before the crest",
            )

    def crest_pressure(self, seen: Seen) -> float:
        """Return the gauge pressure head at the crest [m]."""
        from loopplan.physics.constants import GRAVITY

        speed = seen.velocity or 0.0
        before = self.crest_at * (seen.head_up - seen.head_down)
        return seen.head_up - before - speed**2 / (2.0 * GRAVITY) - self.crest

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Velocity, vacuum, priming and the break."""
        yield from super().checks(seen, limits)
        assert isinstance(seen.part, Passage)
        pressure = self.crest_pressure(seen)
        if pressure < DEEPEST:
            yield find(
                "siphon-vacuum",
                seen.element,
                state=seen.state,
                value=pressure,
                limit=DEEPEST,
                unit="m",
                message=f"the pressure at the crest is {pressure:.2f} m of water",
            )
        yield from self._primed(seen)
        if self.break_level is None:
            yield find("siphon-without-break", seen.element, state=seen.state)

    def _primed(self, seen: Seen) -> Iterable[Finding]:
        if self.break_level is not None and seen.level_up <= self.break_level:
            limit, what = self.break_level, "its break: air enters and the flow stops"
        elif self.priming == "none" and seen.level_up < self.crest:
            limit, what = self.crest, "its crest, and no means of priming is stated"
        else:
            return
        yield find(
            "siphon-not-primed",
            seen.element,
            state=seen.state,
            value=seen.level_up,
            limit=limit,
            unit="m",
            message=f"the level before it is {limit - seen.level_up:.3f} m below {what}",
        )
