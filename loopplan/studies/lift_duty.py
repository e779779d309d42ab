"""What a lift has to do in each duty state, as the device models ask for it."""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.declare import Conditions
from loopplan.lifts.lift import Lift
from loopplan.loop.solution import Solved
from loopplan.studies.results import LiftResult


@dataclass(frozen=True)
class Duty:
    """A lift in one duty state.

    `flow` of one unit [m3/s] of `units`; levels [m] on its two sides; `head` [m] between them;
    `pressure` [m] that the elements behind it need.
    """

    state: str
    conditions: Conditions
    units: float
    flow: float
    up: float
    down: float
    pressure: float

    @property
    def head(self) -> float:
        """Head from level to level [m], losses of the loop counted."""
        return self.down - self.up


@dataclass(frozen=True)
class LiftPoint:
    """One lift over all duty states; `floor` of the basin that it draws from, if it is one [m]."""

    name: str
    lift: Lift
    duties: tuple[Duty, ...]
    floor: float | None

    @property
    def first(self) -> Duty:
        """The first duty state, by which sizes are chosen."""
        return self.duties[0]

    @property
    def most_head(self) -> float:
        """Greatest head over the duty states [m]."""
        return max(duty.head for duty in self.duties)

    @property
    def pressure(self) -> float:
        """Greatest pressure need over the duty states [m]."""
        return max(duty.pressure for duty in self.duties)


def lift_points(solved: Solved, lifts: tuple[LiftResult, ...]) -> list[LiftPoint]:
    """Return the lifts of a solved loop, in the order of `lifts`."""
    compiled = solved.compiled
    number: dict[str, int] = {}
    for j, branch in enumerate(compiled.graph.branches):
        # The first passage of a lift is its device; what follows stands behind its flange.
        number.setdefault(branch.element, j)
    last = {b.element: j for j, b in enumerate(compiled.graph.branches)}
    points = []
    for result in lifts:
        j, end = number[result.element], last[result.element]
        up, down = compiled.graph.branches[j].up, compiled.graph.branches[end].down
        duties = []
        for k, state in enumerate(compiled.scenario.states):
            passage = compiled.passage(j, k)
            duties.append(
                Duty(
                    state.name,
                    state.conditions,
                    passage.units,
                    float(solved.flows[j, k]) / passage.units,
                    float(solved.heads[up, k]),
                    float(solved.heads[down, k]),
                    result.states[k].pressure,
                )
            )
        lift = compiled.scenario.elements[result.element]
        assert isinstance(lift, Lift)
        basin = compiled.basin(up, 0)
        floor = basin.floor if basin is not None else None
        points.append(LiftPoint(result.element, lift, tuple(duties), floor))
    return points
