"""What a scenario says of its air supply, as sizes that can be reckoned with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from loopplan.airsupply.header import HeaderSizes, UserSizes
from loopplan.airsupply.power import efficiencies, rated_output, shaft_efficiency
from loopplan.declare import Element
from loopplan.elements._fittings import sum_of_fittings
from loopplan.lifts.airlift import Shaft, Tube
from loopplan.lifts.lift import Lift
from loopplan.loop.compile import Compiled
from loopplan.physics.air import AirState
from loopplan.physics.air_pipes import AirPipe
from loopplan.physics.blower_classes import BLOWERS
from loopplan.physics.blowers import DisplacementBlower
from loopplan.physics.water import atmospheric_pressure
from loopplan.scenario.air import AirHeader, AirLine, AirUser, Blower
from loopplan.scenario.models import Scenario, State

_BORE = 0.1
"""Bore [m] of a branch of no length that only carries a valve: its K is set, so it is free."""

PRACTICE_LOSS = 1e3
"""Loss of diffusers [Pa] where none is stated; common practice, no source."""


@dataclass(frozen=True)
class Outlet:
    """Where air comes out, and the water above it.

    `nodes` carry the levels of that water, none for a fixed depth; `level` is that of the
    outlets [m] or None where `depth` [m] under the first duty state's water says it.
    """

    nodes: tuple[int, ...]
    level: float | None
    depth: float | None


@dataclass(frozen=True)
class LiftUser:
    """A user that is a lift: name, its first branch, its units, and whether its air drives it."""

    lift: str
    branch: int
    units: float
    driven: bool


def by_air(scenario: Scenario) -> Scenario:
    """Return the scenario with each airlift of the air supply driven by its air.

    A lift with a stated flow and an airlift as drawn gives up the flow: what follows from its
    air is the question.
    """
    users = {
        name: user for header in scenario.air_supply.values() for name, user in header.users.items()
    }

    def changed(elements: Mapping[str, Element]) -> dict[str, Element]:
        return {name: _driven(one, users.get(name)) for name, one in elements.items()}

    elements = changed(scenario.elements)
    states = tuple(
        replace(state, elements=changed(state.elements))
        for state in scenario.states
        if not _is_share(state, scenario, elements)
    )
    return replace(scenario, elements=elements, states=states)


def _is_share(state: State, scenario: Scenario, elements: Mapping[str, Element]) -> bool:
    """Whether a duty state differs by a share of the given flow, where no flow is given."""
    first = scenario.states[0]
    named = any(
        state.name in user.in_states
        for header in scenario.air_supply.values()
        for user in header.users.values()
    )
    given = any(isinstance(one, Lift) and one.flow is not None for one in elements.values())
    alike = replace(state.conditions, flow=first.conditions.flow) == first.conditions
    same = (state.levels, state.elements) == (first.levels, first.elements)
    return state is not first and alike and same and not named and not given


def _driven(element: Element, user: AirUser | None) -> Element:
    if user is None or not isinstance(element, Lift) or element.airlift is None:
        return element
    airlift = element.airlift
    if user.air is not None:
        airlift = airlift.model_copy(update={"air": user.air / element.count})
    placed = airlift.floor if isinstance(airlift, Shaft) else airlift.injection_level
    if placed is None or element.device != "airlift" or element.curve:
        return element
    return element.model_copy(update={"airlift": airlift, "flow": None})


def stated_air(name: str, user: AirUser, elements: Mapping[str, Element]) -> float:
    """Return the free air that all units of a user are to get [m3/s]."""
    if user.air is not None:
        return user.air
    element = elements[name]
    assert isinstance(element, Lift) and element.airlift is not None
    assert element.airlift.air is not None
    return element.count * element.airlift.air


def header_sizes(name: str, header: AirHeader, scenario: Scenario) -> HeaderSizes:
    """Return what a header is made of."""
    blower = header.blower
    inlet = inlet_air(blower, scenario.farm.altitude)
    displaces = BLOWERS[blower.class_].displacement
    slip = blower.slip if displaces else 0.0
    rated = rated_output(
        blower, float(inlet.pressure), float(inlet.pressure) + blower.rated_pressure
    )
    middle = efficiencies(blower)[0]
    return HeaderSizes(
        name,
        tuple(_user(user, entry, scenario.elements) for user, entry in header.users.items()),
        None if header.main_pipe is None else pipe_sizes(header.main_pipe),
        DisplacementBlower(blower.air, blower.rated_pressure, slip),
        blower.speed,
        inlet,
        shaft_efficiency(blower, middle, rated),
    )


def inlet_air(blower: Blower, altitude: float) -> AirState:
    """Return the state of the air behind the intake filter."""
    pressure = float(atmospheric_pressure(altitude)) - blower.filter_loss
    return AirState(blower.inlet_temperature, pressure, blower.inlet_humidity)


def _user(name: str, user: AirUser, elements: Mapping[str, Element]) -> UserSizes:
    airlift = getattr(elements.get(name), "airlift", None)
    loss = user.diffuser_loss if airlift is None else airlift.diffuser_loss
    branch = AirPipe(_BORE, 0.0) if user.branch is None else pipe_sizes(user.branch)
    return UserSizes(
        name,
        stated_air(name, user, elements),
        PRACTICE_LOSS if loss is None else loss,
        user.loss_exponent,
        branch,
        user.valve_loss,
    )


def pipe_sizes(line: AirLine) -> AirPipe:
    """Return an air pipe as its loss is reckoned."""
    k, _, _ = sum_of_fittings(dict(line.fittings))
    return AirPipe(line.bore, line.length, line.roughness, k)


def outlet(name: str, user: AirUser, compiled: Compiled) -> Outlet:
    """Return where a user's air comes out."""
    element = compiled.scenario.elements.get(name)
    airlift = getattr(element, "airlift", None)
    nodes = _nodes(name, compiled)
    if isinstance(airlift, Shaft):
        level = None if airlift.floor is None else airlift.floor + airlift.diffuser_height
        return Outlet(nodes[:1], level, airlift.running_depth - airlift.diffuser_height)
    if isinstance(airlift, Tube):
        return Outlet(nodes[:1], airlift.injection_level, airlift.injection_depth)
    return Outlet(nodes, user.level, user.depth)


def _nodes(name: str, compiled: Compiled) -> tuple[int, ...]:
    """Nodes of an element: its basins, else both ends of it, the upper end first."""
    graph = compiled.graph
    basins = [i for i, n in enumerate(graph.nodes) if n.basin is not None and n.basin[0] == name]
    if basins:
        return tuple(basins)
    own = [b for b in graph.branches if b.element == name]
    return (own[0].up, own[-1].down) if own else ()


def lift_users(compiled: Compiled) -> Iterable[tuple[str, LiftUser]]:
    """Yield (header, lift) of each lift that takes air."""
    for name, header in compiled.scenario.air_supply.items():
        for user in header.users:
            element = compiled.scenario.elements.get(user)
            if not isinstance(element, Lift):
                continue
            branches = compiled.graph.branches
            first = next(j for j, b in enumerate(branches) if b.element == user)
            driven = branches[first].law.startswith("airlift")
            yield name, LiftUser(user, first, float(element.count), driven)


@dataclass(frozen=True)
class Case:
    """A duty state, or one with something besides.

    `name` says both, `state` is the duty state, `extra` a user that is turned on for it, `out`
    the header that has lost one blower.
    """

    name: str
    state: State
    extra: str = ""
    out: str = ""

    def on(self, name: str, user: AirUser) -> bool:
        """Whether a user takes air in this case."""
        if user.takes_air == "at times":
            return name == self.extra
        return not user.in_states or self.state.name in user.in_states

    def running(self, name: str, blower: Blower) -> int:
        """Blowers of a header that run in this case."""
        return blower.running - (1 if name == self.out else 0)


def cases(scenario: Scenario) -> tuple[Case, ...]:
    """Return the duty states, then each user at times, then one blower out of each header.

    A header whose only blower fails has no air left to divide: it is no case.
    """
    first = scenario.states[0]
    found = [Case(state.name, state) for state in scenario.states]
    for header in scenario.air_supply.values():
        for name, user in header.users.items():
            if user.takes_air == "at times":
                found.append(Case(f"{first.name}, air to {name}", first, extra=name))
    for name, header in scenario.air_supply.items():
        if header.blower.running > 1:
            found.append(Case(f"{first.name}, one blower of {name} out", first, out=name))
    return tuple(found)
