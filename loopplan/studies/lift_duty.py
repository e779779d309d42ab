"""What a lift has to do in each duty state, as the device models ask for it."""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.declare import Conditions
from loopplan.lifts.lift import Lift
from loopplan.loop.solution import Solved
from loopplan.scenario.models import Scenario
from loopplan.studies.lift_sheet_results import Band, DeviceState
from loopplan.studies.results import LiftResult

LEAST_FLOW = 1e-6
"""Flow [m3/s] up to which a lift stands still."""


@dataclass(frozen=True)
class Duty:
    """A lift in one duty state.

    `flow` of one unit [m3/s] of `units`; levels [m] on its two sides; `head` [m] between them;
    `pressure` [m] that the elements behind it need; `losses` [m] between it and the basins on
    both sides; `lift` as that state has it.
    """

    state: str
    lift: Lift
    conditions: Conditions
    units: float
    flow: float
    up: float
    down: float
    pressure: float
    losses: float

    @property
    def static(self) -> float:
        """Level of the basin behind it less that of the basin before it [m]."""
        return self.head - self.losses

    @property
    def head(self) -> float:
        """Head from level to level [m], losses of the loop counted."""
        return self.down - self.up

    @property
    def stands(self) -> bool:
        """Whether no water goes through it."""
        return self.flow <= LEAST_FLOW

    @property
    def by_itself(self) -> bool:
        """Whether the water runs through it without being lifted."""
        return not self.stands and self.head <= 0.0


@dataclass(frozen=True)
class LiftPoint:
    """One lift over all duty states.

    `floor` of the basin that it draws from, if it is one [m]; `supplied` the air that one unit
    gets by the farm's air supply [m3/s of free air], None where it tells none.
    """

    name: str
    lift: Lift
    duties: tuple[Duty, ...]
    floor: float | None
    supplied: float | None = None

    @property
    def number(self) -> int:
        """Number of the first duty state in which it runs; 0 if it runs in none."""
        return next((k for k, duty in enumerate(self.duties) if not duty.stands), 0)

    @property
    def first(self) -> Duty:
        """The first duty state in which it runs: energy is counted there."""
        return self.duties[self.number]

    @property
    def idle(self) -> bool:
        """Whether no duty state asks for a device: no flow, or water that runs by itself."""
        return all(duty.stands or duty.by_itself for duty in self.duties)

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
            lift = state.elements[result.element]
            assert isinstance(lift, Lift)
            level_up, level_down = float(solved.heads[up, k]), float(solved.heads[down, k])
            duties.append(
                Duty(
                    state.name,
                    lift,
                    state.conditions,
                    passage.units,
                    float(solved.flows[j, k]) / passage.units,
                    level_up,
                    level_down,
                    result.states[k].pressure,
                    level_down - level_up - result.states[k].static,
                )
            )
        lift = compiled.scenario.elements[result.element]
        assert isinstance(lift, Lift)
        basin = compiled.basin(up, 0)
        floor = basin.floor if basin is not None else None
        air = _supplied(compiled.scenario, result.element)
        supplied = None if air is None else air / duties[0].units
        points.append(LiftPoint(result.element, lift, tuple(duties), floor, supplied))
    return points


def idle_state(duty: Duty) -> DeviceState:
    """Return a state that asks nothing of a device: no flow, or water that runs by itself."""
    flow = max(duty.flow, 0.0) * duty.units
    return DeviceState(duty.state, flow, duty.head, duty.head, (), Band(0.0, 0.0, 0.0), None)


def _supplied(scenario: Scenario, name: str) -> float | None:
    """Air [m3/s] that all units of a lift are to get by the air supply, None if it tells none."""
    for header in scenario.air_supply.values():
        user = header.users.get(name)
        if user is not None:
            return user.air
    return None
