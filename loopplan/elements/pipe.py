"""Pipe run with its fittings, running full."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from pydantic import field_validator

from loopplan.declare import Conditions, Ends, Part, Passage, Seen, quantity, sub, word
from loopplan.elements._bore import BoreFields
from loopplan.elements._fittings import check_fittings, sum_of_fittings
from loopplan.elements._head_line import check_crown, check_inlet, pressure_line
from loopplan.findings import Finding, find


class PipeFields(BoreFields):
    """What every run of one diameter is described by."""

    length: float = quantity("length", "Length of the run.", unit="m", above=0.0)
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
    inlet_level: float | None = quantity(
        "level",
        "Lower edge of its inlet: for air that it could draw, and for water that falls below it "
        "when the lifts stop.",
        unit="m",
        default=None,
    )
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

    def run(self, at: Conditions, ends: Ends, name: str = "") -> Passage:
        """Return the run as one passage."""
        k, sources, notes = self.local_k(ends)
        factor = self.friction_factor or 0.0
        if self.chezy is not None:
            from loopplan.physics.constants import GRAVITY

            factor = 8.0 * GRAVITY / self.chezy**2
        params = {
            "length": self.length,
            "diameter": self.bore,
            "roughness": self.roughness_fouled if at.fouled else self.roughness,
            "viscosity": at.viscosity,
            "factor": factor,
            "k": k,
        }
        sized, size_sources = self.bore_words()
        friction = "darcy-weisbach" if factor else "colebrook"
        return Passage(
            name,
            "pipe",
            params,
            float(self.count),
            sources=(friction, *sources, *size_sources),
            notes=(*sized, *notes),
        )

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A bore that is not told once; two friction laws at once."""
        yield from self.bore_refusals()
        if self.friction_factor is not None and self.chezy is not None:
            yield (
                "chezy",
                "two friction laws are stated: `friction factor` and `chezy`",
                "keep one of them",
            )

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Velocity, and air at the inlet."""
        speed = abs(seen.velocity or 0.0)
        per = math.pi / 4.0 * self.bore**2 * self.count
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
            saved = (seen.head_up - seen.head_down) * (1.0 - (self.bore / wide) ** 5)
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
        if self.inlet_level is not None:
            yield from check_inlet(seen, self.bore, self.inlet_level)


class Pipe(PipeFields):
    """A run of one diameter; friction along it, local losses at fittings and ends."""

    kind: Literal["pipe"]
    crown: float | None = quantity(
        "level", "Highest crown of the run, to check that it runs full.", unit="m", default=None
    )
    crown_at: float | None = quantity(
        "length",
        "Distance of that crown from the inlet, along the run; halfway where it is not told.",
        unit="m",
        default=None,
        least=0.0,
    )
    title: ClassVar[str] = "pipe run with its fittings, running full"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One run."""
        return [self.run(at, ends)]

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Velocity and running full."""
        yield from super().checks(seen, limits)
        if self.crown is None:
            return
        place = self._crown_place()
        line = pressure_line(seen, self.entrance, self.exit, place / self.length)
        yield from check_crown(seen, self.crown, line, f"{place:.1f} m from the inlet")

    def _crown_place(self) -> float:
        return 0.5 * self.length if self.crown_at is None else self.crown_at

    def assumed(self) -> Iterable[tuple[str, str, str]]:
        """The defaults in use, and where the crown was taken to lie."""
        yield from super().assumed()
        if self.crown is not None and self.crown_at is None:
            yield "crown at", f"{self._crown_place():g} m", "assumed: the crown lies halfway"

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A crown beyond the end of the run, or a place without a crown."""
        yield from super().refusals()
        if self.crown_at is not None and self.crown is None:
            yield "crown at", "the level of the crown is missing", "add `crown: ... m`"
        if self.crown_at is not None and self.crown_at > self.length:
            yield (
                "crown at",
                f"the crown lies beyond the end of the run ({self.length:g} m)",
                "give its distance from the inlet along the run",
            )
