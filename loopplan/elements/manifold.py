"""Dividing and collecting manifolds: a header pipe, many branches along it, each share solved."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any, ClassVar, Literal

from pydantic import ValidationInfo, field_validator

from loopplan.declare import Conditions, Ends, Part, Passage, Seen, quantity, sub
from loopplan.elements._by_name import by_name_error, read_by_name
from loopplan.elements._head_line import check_crown, pressure_line
from loopplan.elements.pipe import PipeFields
from loopplan.findings import Finding

FIRST = "reach 1"
"""Name of the reach at the upstream end."""


class ManifoldFields(PipeFields):
    """What dividing and collecting manifolds share: a header of one bore, and tees at 90 deg.

    The run's entrance, fittings and `k` lie between the tees and the end that all the water
    passes.
    """

    spacing: float | None = quantity(
        "length",
        "Distance from tee to tee, where `places` only lists what is joined; the first stands as "
        "far from the upstream end.",
        unit="m",
        default=None,
        above=0.0,
    )
    places: dict[str, float] = sub(
        "What is joined along it, and the distance of each from the upstream end; or a list, with "
        "`spacing`."
    )
    branch_diameter: float = quantity(
        "length", "Bore of a branch at its tee.", unit="mm", above=0.0
    )
    branch_diameters: dict[str, float] = sub(
        "Bore of each branch that is unlike the others, by what is joined.", default={}
    )
    branch_k: float = quantity(
        "number",
        "Loss coefficient between header and branch, on the velocity head of the branch.",
        unit="",
        default="1",
        source="tee at 90 deg; Idelchik section 7, from memory",
        least=0.0,
    )
    branch_ks: dict[str, float] = sub(
        "Loss coefficient of each branch that is unlike the others, by what is joined.", default={}
    )
    orifice: float | None = quantity(
        "length",
        "Hole that throttles each branch; its jet is lost, and no `branch k` on top.",
        unit="mm",
        default=None,
        above=0.0,
    )
    orifices: dict[str, float] = sub(
        "Hole of each branch that is throttled by its own, by what is joined.", default={}
    )
    discharge_coefficient: float = quantity(
        "number",
        "Coefficient of discharge of the holes.",
        unit="",
        default="0.62",
        source="sharp edge; textbook value, from memory",
        above=0.3,
        most=1.0,
    )
    axis: float | None = quantity(
        "level", "Level of the header's axis, to check that it runs full.", unit="m", default=None
    )
    symbol: ClassVar[str] = "line-channel"
    side: ClassVar[float]
    """1 where water leaves the header, -1 where it joins it."""

    @field_validator("places", mode="before")
    @classmethod
    def _distances(cls, value: Any, info: ValidationInfo) -> Any:
        spacing = info.data.get("spacing")
        if isinstance(value, list) and value and spacing is not None:
            if len(set(map(str, value))) < len(value):
                raise by_name_error("a name stands twice", "name each element once")
            return {str(name): spacing * number for number, name in enumerate(value, 1)}
        if not isinstance(value, Mapping) or not value:
            raise by_name_error(
                "places are due here",
                "write `places: {tank 1: 3 m}`, or `spacing: 3 m` and `places: [tank 1, tank 2]`",
            )
        return read_by_name(value, "length")

    @field_validator("branch_diameters", "orifices", "branch_ks", mode="before")
    @classmethod
    def _each(cls, value: Any, info: ValidationInfo) -> Any:
        if not isinstance(value, Mapping):
            raise by_name_error("values by name are due here", "write `{tank 1: ...}`")
        numbers = info.field_name == "branch_ks"
        found = read_by_name(value, "number" if numbers else "length")
        for name, one in found.items():
            if one < 0.0 or (one == 0.0 and not numbers):
                raise by_name_error(f"{name}: out of range", "give a value above 0")
        return found

    def stops(self) -> list[float]:
        """Distances of the tees from the upstream end, in order of travel [m]."""
        return sorted(set(self.places.values()))

    def joined(self) -> list[str]:
        """What is joined, in order of travel."""
        return sorted(self.places, key=self.places.__getitem__)

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Places on the header, branches that are joined, and holes no wider than their branch."""
        yield from super().refusals()
        for name, distance in self.places.items():
            if not 0.0 <= distance <= self.length:
                yield (
                    "places",
                    f"'{name}' is joined {distance:g} m along a header of {self.length:g} m",
                    "give a distance from the upstream end, on the header",
                )
        for key in ("branch_diameters", "branch_ks", "orifices"):
            for name in getattr(self, key):
                if name not in self.places:
                    yield (
                        key.replace("_", " "),
                        f"'{name}' is not joined to this header",
                        "name it under `places`, or take it out here",
                    )
        if any(True for _ in self.bore_refusals()):
            return
        for name in self.joined():
            bore = self._branch_bore(name)
            if bore > self.bore * (1.0 + 1e-9):
                yield (
                    "branch diameter",
                    f"the branch to '{name}' is wider than its header",
                    "check both bores",
                )
            hole = self._hole(name)
            if hole is not None and hole > bore:
                yield (
                    "orifice",
                    f"the hole of '{name}' is wider than its branch",
                    "check both bores",
                )

    def _branch_bore(self, name: str) -> float:
        return self.branch_diameters.get(name, self.branch_diameter)

    def _hole(self, name: str) -> float | None:
        return self.orifices.get(name, self.orifice)

    def _branch_loss(self, name: str, to_basin: bool) -> tuple[float, float, tuple[str, ...], str]:
        """Loss over flow squared of a branch [s2/m5], area [m2], sources and a note."""
        from loopplan.physics.constants import GRAVITY

        bore, hole = self._branch_bore(name), self._hole(name)
        if hole is not None:
            area = math.pi / 4.0 * hole**2
            cd = self.discharge_coefficient
            note = f"hole of {1000.0 * hole:g} mm, Cd {cd:g}"
            return 1.0 / (2.0 * GRAVITY * (cd * area) ** 2), area, ("orifice",), note
        k = self.branch_ks.get(name, self.branch_k)
        area = math.pi / 4.0 * bore**2
        stated = name in self.branch_ks or "branch_k" in self.model_fields_set
        source = "idelchik-7-parting" if self.side > 0.0 else "idelchik-7-meeting"
        note = f"branch of {1000.0 * bore:g} mm, K {k:g}"
        if to_basin and self.exit != "none":
            k += 1.0
            note += ", exit K 1"
        return (
            k / (2.0 * GRAVITY * area**2),
            area,
            ("stated-loss" if stated else source,),
            note,
        )

    def tee(
        self, name: str, span: tuple[int, int], beside: int, ends: Ends, **other: float
    ) -> Passage:
        """Return the side branch of one element; `other` are parameters that are not the usual.

        `span` are its two positions, `beside` the part whose flow runs to its tee; `back` is
        what the run hands back to it, over flow squared [s2/m5].
        """
        # Only what runs out of the header into still water loses its speed there.
        to_basin = self.side > 0.0 and max(span) in ends.sides
        c2, area, sources, note = self._branch_loss(name, to_basin)
        params = {
            "bore": self.bore,
            "side": other.get("side", self.side),
            "c2": c2 - other.get("back", 0.0),
            "small": 0.01 * area,
        }
        return Passage(
            f"branch to {name}" if self.side > 0.0 else f"branch from {name}",
            "tee",
            params,
            float(self.count),
            sources=("static-past-tee", *sources),
            notes=(note,),
            span=span,
            beside=beside,
        )

    def reach(self, whole: Passage, number: int, length: float, **other: Any) -> Passage:
        """Return one reach of the header; `other` are what differs from a plain run."""
        k = other.pop("k", 0.0)
        beside = other.pop("beside", None)
        sources, notes = other.pop("sources", ()), whole.notes if other.pop("noted", False) else ()
        return Passage(
            f"reach {number}",
            "pipe" if beside is None else "header",
            {**whole.params, "length": length, "k": k, **other},
            whole.units,
            sources=(*whole.sources, *sources),
            notes=notes,
            beside=beside,
        )

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Velocity in each reach, air at the inlet, and running full."""
        if not isinstance(seen.part, Passage) or seen.part.law == "tee":
            return
        yield from super().checks(seen, limits)
        if self.axis is None:
            return
        lines = [pressure_line(seen, self.entrance, self.exit, share) for share in (0.0, 1.0)]
        yield from check_crown(
            seen, self.axis + 0.5 * self.bore, min(lines), f"in {seen.part.name}"
        )


class DividingManifold(ManifoldFields):
    """A header pipe that feeds tanks or other units through branches along its length.

    Past each tee the water is slower and the static head higher, less what friction and the
    tee take. A branch is driven by the static head before its tee.
    """

    kind: Literal["dividing manifold"]
    run_coefficient: float = quantity(
        "number",
        "Loss of the run past a tee, on the velocity head of the change of velocity.",
        unit="",
        default="0.4",
        source="Idelchik section 7, after Vazsonyi 1944, from memory",
        least=0.0,
        most=1.0,
    )
    title: ClassVar[str] = "header pipe that feeds units through branches along its length"
    side: ClassVar[float] = 1.0

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One reach up to each tee, and the branches."""
        whole = self.run(at, Ends(ends.from_basin, False))
        stops = [0.0, *self.stops()]
        reaches: list[Part] = []
        for number, (start, end) in enumerate(pairwise(stops), 1):
            k = whole.params["k"] if number == 1 else 0.0
            last = end == self.length
            reaches.append(
                self.reach(
                    whole,
                    number,
                    end - start,
                    noted=number == 1,
                    sources=("idelchik-7-parting",),
                    # All that comes to a closed end leaves through its last tee.
                    **{"k": k + self.run_coefficient}
                    if last
                    else {
                        "k": k,
                        "parting": self.run_coefficient,
                        "meeting": 0.0,
                        "beside": number,
                    },
                )
            )
        if stops[-1] < self.length:
            out = self.local_k(ends)[0] - whole.params["k"]
            reaches.append(self.reach(whole, len(stops), self.length - stops[-1], k=out))
        return [*reaches, *self._tees(len(reaches), ends)]

    def _tees(self, last: int, ends: Ends) -> Iterable[Part]:
        stops = self.stops()
        for number, name in enumerate(self.joined(), 1):
            stop = stops.index(self.places[name])
            yield self.tee(
                name, (stop + 1, last + number), stop, ends, back=self._back(self.places[name])
            )

    def _back(self, place: float) -> float:
        """Loss of the run past a tee, over the square of one branch's flow [s2/m5].

        The branch is driven by the head before the tee; the position on the chain has that
        behind it. Where several branches leave one place, like flows are taken.
        """
        from loopplan.physics.constants import GRAVITY

        like = sum(other == place for other in self.places.values())
        area = math.pi / 4.0 * self.bore**2
        return self.run_coefficient * like**2 / (2.0 * GRAVITY * area**2)

    @property
    def closed_end(self) -> bool:
        """Whether the header ends at its last tee."""
        return self.stops()[-1] >= self.length

    def tap(self, neighbour: str) -> int | None:
        """Position behind the branch of a neighbour."""
        if neighbour not in self.places:
            return None
        stops = self.stops()
        reaches = len(stops) + (1 if stops[-1] < self.length else 0)
        return reaches + 1 + self.joined().index(neighbour)

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A tee needs a reach before it, and a branch a loss of its own."""
        yield from super().refusals()
        if min(self.places.values()) <= 0.0:
            yield (
                "places",
                "a branch stands at the very start of the header",
                "join it to what lies before the header, or give its distance",
            )
        if any(True for _ in self.bore_refusals()):
            return
        for name, place in self.places.items():
            if self._branch_loss(name, False)[0] <= 1.01 * self._back(place):
                yield (
                    "branch k",
                    f"the branch to '{name}' loses less than the run past its tee",
                    "state a greater `branch k`, a smaller bore of the branch, or a smaller "
                    "`run coefficient`",
                )


class CollectingManifold(ManifoldFields):
    """A header pipe that gathers water from branches along its length.

    Water from the side brings no momentum along the run: the static head falls by twice the
    gain of velocity head at each tee, the head by once. The header begins at its first tee,
    closed; what is led into its start counts as coming from the side.
    """

    kind: Literal["collecting manifold"]
    run_coefficient: float = quantity(
        "number",
        "Share of the momentum of the run that the water from the side has to be given.",
        unit="",
        default="1",
        source="balance of momentum, closed form; tees measured 0.8, Idelchik, from memory",
        least=0.0,
        most=1.5,
    )
    title: ClassVar[str] = "header pipe that gathers water from branches along its length"
    side: ClassVar[float] = -1.0

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One reach after each tee, and the branches."""
        whole = self.run(at, Ends(False, ends.to_basin))
        stops = [*self.stops(), self.length]
        reaches: list[Part] = []
        for number, (start, end) in enumerate(pairwise(stops), 1):
            last = end == self.length
            k = whole.params["k"] if last else 0.0
            reaches.append(
                self.reach(
                    whole,
                    number,
                    end - start,
                    noted=last,
                    sources=("momentum-past-tee",),
                    **{"k": k + self.run_coefficient}
                    if number == 1
                    else {
                        "k": k,
                        "parting": 0.0,
                        "meeting": self.run_coefficient,
                        "beside": number - 2,
                    },
                )
            )
        return [*reaches, *self._tees(len(reaches), ends)]

    def _tees(self, last: int, ends: Ends) -> Iterable[Part]:
        stops = self.stops()
        for number, name in enumerate(self.joined(), 1):
            stop = stops.index(self.places[name])
            # Nothing flows to the first tee.
            still = {"side": 0.0} if stop == 0 else {}
            yield self.tee(name, (last + number, stop), max(stop - 1, 0), ends, **still)

    def tap(self, neighbour: str) -> int | None:
        """Position before the branch of a neighbour."""
        if neighbour not in self.places:
            return None
        return len(self.stops()) + 1 + self.joined().index(neighbour)

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A tee needs a reach behind it; its inlets are those of what is joined."""
        yield from super().refusals()
        if self.inlet_level is not None:
            yield (
                "inlet level",
                "a collecting header has no inlet of its own",
                "give it to what is joined, or take it out",
            )
        if max(self.places.values()) >= self.length:
            yield (
                "places",
                "a branch stands at the very end of the header",
                "join it to what lies behind the header, or let the header run on",
            )
