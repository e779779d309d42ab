"""Pipe run with its fittings, running full."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from pydantic import field_validator

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity, sub, word
from loopplan.elements._fittings import check_fittings, sum_of_fittings
from loopplan.findings import Finding, find


class Pipe(Element):
    """A run of one diameter; friction along it, local losses at fittings and ends."""

    kind: Literal["pipe"]
    length: float = quantity("length", "Length of the run.", unit="m", above=0.0)
    diameter: float = quantity("length", "Inside diameter.", unit="mm", above=0.0)
    roughness: float = quantity(
        "length",
        "Wall roughness when clean.",
        unit="mm",
        default="0.03 mm",
        source="clean plastic pipe; UK design tables, from memory",
        least=0.0,
    )
    roughness_fouled: float = quantity(
        "length",
        "Wall roughness when fouled by biofilm.",
        unit="mm",
        default="0.6 mm",
        source="common practice, no source",
        least=0.0,
    )
    friction_factor: float | None = quantity(
        "number", "Friction factor (Darcy), if it is stated.", unit="", default=None, above=0.0
    )
    chezy: float | None = quantity(
        "number", "Chezy coefficient [m^0.5/s], if it is stated.", unit="", default=None, above=0.0
    )
    fittings: dict[str, int] = sub("Fittings of the run and how many of each.", default={})
    k: float = quantity(
        "number",
        "Further local loss coefficient on the velocity head.",
        unit="",
        default="0",
        source="no further fitting stated",
        least=0.0,
    )
    entrance: Literal["sharp", "rounded", "bell-mouth", "projecting", "none"] = word(
        "Form of the entrance where the run leaves a basin.",
        default="sharp",
        source="flush square edge; textbook value",
    )
    exit: Literal["submerged", "none"] = word(
        "Whether the velocity head is lost where the run ends in a basin.",
        default="submerged",
        source="one velocity head into still water; closed form",
    )
    crown: float | None = quantity(
        "level", "Highest crown of the run, to check that it runs full.", unit="m", default=None
    )
    title: ClassVar[str] = "pipe run with its fittings, running full"
    symbol: ClassVar[str] = "pipe"

    @field_validator("fittings", mode="before")
    @classmethod
    def _known_fittings(cls, value: Any) -> Any:
        return check_fittings(value)

    def local_k(self, ends: Ends) -> tuple[float, tuple[str, ...], tuple[str, ...]]:
        """Return the sum of local coefficients, its sources, and a note on each."""
        parts = dict(self.fittings)
        if ends.from_basin and self.entrance != "none":
            parts[f"{self.entrance} entrance"] = 1
        if ends.to_basin and self.exit != "none":
            parts["exit"] = 1
        total, sources, notes = sum_of_fittings(parts)
        return total + self.k, sources, notes

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One run."""
        k, sources, notes = self.local_k(ends)
        factor = self.friction_factor or 0.0
        if self.chezy is not None:
            from loopplan.physics.constants import GRAVITY

            factor = 8.0 * GRAVITY / self.chezy**2
        params = {
            "length": self.length,
            "diameter": self.diameter,
            "roughness": self.roughness_fouled if at.fouled else self.roughness,
            "viscosity": at.viscosity,
            "factor": factor,
            "k": k,
        }
        friction = "darcy-weisbach" if factor else "colebrook"
        return [
            Passage(
                "", "pipe", params, float(self.count), sources=(friction, *sources), notes=notes
            )
        ]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Two friction laws at once."""
        if self.friction_factor is not None and self.chezy is not None:
            yield (
                "chezy",
                "two friction laws are stated: `friction factor` and `chezy`",
                "keep one of them",
            )

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Velocity and running full."""
        speed = abs(seen.velocity or 0.0)
        per = math.pi / 4.0 * self.diameter**2 * self.count
        if 0.0 < speed < limits.pipe_velocity_low:
            yield find(
                "velocity-low",
                seen.element,
                state=seen.state,
                value=speed,
                limit=limits.pipe_velocity_low,
                unit="m/s",
            )
        elif speed > limits.pipe_velocity_high:
            wide = math.sqrt(per * speed / limits.pipe_velocity_high / self.count / (math.pi / 4.0))
            saved = (seen.head_up - seen.head_down) * (1.0 - (self.diameter / wide) ** 5)
            yield find(
                "velocity-high",
                seen.element,
                state=seen.state,
                value=speed,
                limit=limits.pipe_velocity_high,
                unit="m/s",
                message=f"{speed:.2f} m/s; a bore of {1000 * wide:.0f} mm would save about "
                f"{1000 * saved:.0f} mm of head",
            )
        if self.crown is not None and seen.level_up < self.crown:
            yield find(
                "pipe-not-full",
                seen.element,
                state=seen.state,
                value=seen.level_up,
                limit=self.crown,
                unit="m",
                message=f"the crown stands {self.crown - seen.level_up:.3f} m above the level "
                "that feeds the run",
            )
