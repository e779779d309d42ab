"""Dividing and collecting channels: one channel, many tanks along it, each share solved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any, ClassVar, Literal

from pydantic import field_validator
from pydantic_core import PydanticCustomError

from loopplan.declare import Conditions, Ends, Part, Passage, sub
from loopplan.elements.channel import ChannelFields
from loopplan.errors import UnitError
from loopplan.units import read_quantity


class LineChannel(ChannelFields):
    """What dividing and collecting channels share: places along them, in reaches between."""

    places: dict[str, float] = sub(
        "What is joined along it, and the distance of each from the upstream end: "
        "`places: {raceway 1: 2.5 m, raceway 2: 5 m}`. The names are those of the elements that "
        "stand right after a dividing channel, or right before a collecting one, in the flow paths."
    )
    symbol: ClassVar[str] = "line-channel"

    @field_validator("places", mode="before")
    @classmethod
    def _distances(cls, value: Any) -> Any:
        if not isinstance(value, Mapping) or not value:
            raise _error("places are due here", "write `places: {raceways A: 3 m}`")
        found = {}
        for name, distance in value.items():
            try:
                found[str(name)] = (
                    distance
                    if isinstance(distance, float)
                    else read_quantity(distance, "length").value
                )
            except UnitError as error:
                raise _error(f"{name}: {error}", error.cure) from None
        return found

    def stops(self) -> list[float]:
        """Distances at which something is joined, in order of travel [m]."""
        return sorted(set(self.places.values()))

    def ends_of_reaches(self) -> list[float]:
        """Distances between which its reaches lie [m]."""
        raise NotImplementedError

    def reach_words(self, part: str) -> str:
        """Name a reach, with the distances between which it lies."""
        ends = self.ends_of_reaches()
        number = int(part.removeprefix("reach "))
        return f"{part} ({ends[number - 1]:g} to {ends[number]:g} m)"

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Places must lie on the channel."""
        yield from super().refusals()
        for name, distance in self.places.items():
            if not 0.0 <= distance <= self.length:
                yield (
                    "places",
                    f"'{name}' is joined {distance:g} m along a channel of {self.length:g} m",
                    "give a distance from the upstream end, on the channel",
                )

    def reach(self, name: str, start: float, end: float, whole: Passage) -> Passage:
        """Return the passage of one reach between two distances [m]."""
        fall = (self.floor_down - self.floor_up) / self.length
        params = {
            **whole.params,
            "length": end - start,
            "floor_up": self.floor_up + fall * start,
            "floor_down": self.floor_up + fall * end,
            "k": self.k * (end - start) / self.length,
        }
        if start > 0.0:
            params |= {"entrance_k": 0.0}
        if end < self.length:
            params |= {"to_basin": 0.0, "free_end": 0.0}
        return Passage(name, "channel", params, whole.units, sources=whole.sources)


def _error(message: str, cure: str) -> PydanticCustomError:
    return PydanticCustomError("quantity", "{message}", {"message": message, "cure": cure})


class DividingChannel(LineChannel):
    """A channel that feeds tanks along its length.

    Past each side branch the flow is slower and the level higher: the last tank gets the
    most, less what friction takes back.
    """

    kind: Literal["dividing channel"]
    title: ClassVar[str] = "channel that feeds tanks along its length"

    def ends_of_reaches(self) -> list[float]:
        """From the start to each side branch, and on to the end."""
        stops = [0.0, *self.stops()]
        return stops if stops[-1] >= self.length else [*stops, self.length]

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One reach up to each side branch, and the side branches."""
        (whole,) = super().parts(at, ends)
        assert isinstance(whole, Passage)
        reaches: list[Part] = [
            self.reach(f"reach {number}", start, end, whole)
            for number, (start, end) in enumerate(pairwise(self.ends_of_reaches()), 1)
        ]
        last = len(reaches)
        taps: list[Part] = []
        for number, stop in enumerate(self.stops(), 1):
            reach = reaches[number - 1]
            assert isinstance(reach, Passage)
            params = {n: reach.params[n] for n in ("width", "side_slope", "diameter")}
            params |= {"floor": reach.params["floor_down"], "bore": 0.0}
            taps.append(
                Passage(
                    f"branch at {stop:g} m",
                    "tap",
                    params,
                    whole.units,
                    sources=("energy-past-branch",),
                    span=(number, last + number),
                    beside=number - 1,
                )
            )
        return [*reaches, *taps]

    def tap(self, neighbour: str) -> int | None:
        """Position behind the side branch of a neighbour."""
        if neighbour not in self.places:
            return None
        stops = self.stops()
        reaches = len(stops) + (1 if stops[-1] < self.length else 0)
        return reaches + 1 + stops.index(self.places[neighbour])

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A side branch needs a reach before it."""
        yield from super().refusals()
        if min(self.places.values()) <= 0.0:
            yield (
                "places",
                "a branch stands at the very start of the channel",
                "join it to the basin before the channel, or give its distance",
            )


class CollectingChannel(LineChannel):
    """A channel that tanks spill into along its length.

    Water that joins from the side brings no speed along the channel: the level rises against
    the flow by momentum, more than energy alone would say.
    """

    kind: Literal["collecting channel"]
    title: ClassVar[str] = "channel that tanks spill into along its length"

    def ends_of_reaches(self) -> list[float]:
        """From each place where water joins to the next, and on to the end."""
        return [*self.stops(), self.length]

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One reach after each place where water joins."""
        (whole,) = super().parts(at, ends)
        assert isinstance(whole, Passage)
        reaches: list[Part] = []
        for number, (start, end) in enumerate(pairwise(self.ends_of_reaches()), 1):
            if end <= start:
                continue
            reach = self.reach(f"reach {number}", start, end, whole)
            params = {**reach.params, "thrust_up": 1.0, "thrust_down": float(end < self.length)}
            reaches.append(
                Passage(
                    reach.name,
                    "channel",
                    params,
                    reach.units,
                    sources=(*reach.sources, "chow-1959"),
                )
            )
        return reaches

    def tap(self, neighbour: str) -> int | None:
        """Position of the place where a neighbour spills in."""
        if neighbour not in self.places:
            return None
        return self.stops().index(self.places[neighbour])
