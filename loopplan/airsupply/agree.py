"""Headers and water loop solved in turns until they agree on the air of every user."""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopplan.airsupply.header import HeaderAtWork, HeaderSizes, at_work
from loopplan.airsupply.plan import (
    Case,
    LiftUser,
    Outlet,
    by_air,
    cases,
    header_sizes,
    lift_users,
    outlet,
)
from loopplan.errors import NoSolution
from loopplan.loop.compile import Compiled, System
from loopplan.loop.solution import Solved, prepare, solve_scenario
from loopplan.loop.solve import Options, solve
from loopplan.loop.solve import State as Reached
from loopplan.physics._check import Array, Flags
from loopplan.physics.air import STANDARD, dry_density
from loopplan.physics.constants import GRAVITY
from loopplan.physics.water import atmospheric_pressure
from loopplan.scenario.models import Scenario

log = logging.getLogger("loopplan.airsupply")

AGREED = 1e-9
"""Change of any user's air from round to round, as a share of its header's, that is none."""

_MOST_ROUNDS = 60

_TRICKLE = 1e-3
"""Share of the water at stated air below which a lift is said to move none."""

_FINE = Options(balance=1e-12, head=1e-11, flow=1e-12)
"""How far the loop is solved here, so that levels do not blur the agreement on air."""


@dataclass(frozen=True)
class Agreed:
    """Headers and loop in agreement.

    Attributes:
        scenario: the scenario with its airlifts driven by their air.
        rest: its duty states, solved with the stated air of the airlifts.
        solved: the loop in all cases that have a solution.
        cases: those cases.
        lost: cases in which no water moves, with the lift that stands still.
        sizes: what each header is made of.
        headers: each header at work, over the cases.
        on: for each header which user takes air (users, cases).
        outlets: where each user's air comes out, by header.
        depths: water above each user's outlets (users, cases) [m], by header.
        lifts: (header, lift) of each lift that takes air.
        history: greatest change of a user's air in each round, as a share of its header's.
    """

    scenario: Scenario
    rest: Solved
    solved: Solved
    cases: tuple[Case, ...]
    lost: tuple[tuple[Case, str], ...]
    sizes: Mapping[str, HeaderSizes]
    headers: Mapping[str, HeaderAtWork]
    on: Mapping[str, Flags]
    outlets: Mapping[str, Sequence[Outlet]]
    depths: Mapping[str, Array]
    lifts: tuple[tuple[str, LiftUser], ...]
    history: tuple[float, ...]


def agree(scenario: Scenario) -> Agreed:
    """Solve headers and loop of a scenario with an air supply.

    Raises :class:`loopplan.errors.Refused` and :class:`loopplan.errors.NoSolution`.
    """
    scenario = by_air(scenario)
    rest = solve_scenario(scenario)
    wanted = list(cases(scenario))
    lost: list[tuple[Case, str]] = []
    while True:
        found = _Turns(scenario, rest, wanted).run()
        if isinstance(found, Agreed):
            return replace(found, lost=tuple(lost))
        gone, lift = found
        lost.append((wanted[gone], lift))
        del wanted[gone]


class _Turns:
    """One run over a set of cases; ends early with (case, lift) where a lift stands still."""

    def __init__(self, scenario: Scenario, rest: Solved, wanted: Sequence[Case]) -> None:
        self.scenario, self.rest, self.cases = scenario, rest, tuple(wanted)
        states = tuple(replace(c.state, name=c.name) for c in wanted)
        self.compiled = prepare(replace(scenario, states=states, adds_states=False))
        self.lifts = tuple(lift_users(self.compiled))
        supply = scenario.air_supply
        self.sizes = {name: header_sizes(name, h, scenario) for name, h in supply.items()}
        self.outlets = {
            name: [outlet(user, entry, self.compiled) for user, entry in h.users.items()]
            for name, h in supply.items()
        }
        self.on = {
            name: np.array([[c.on(u, entry) for c in wanted] for u, entry in h.users.items()])
            for name, h in supply.items()
        }
        self.running = {
            name: np.array([float(c.running(name, h.blower)) for c in wanted])
            for name, h in supply.items()
        }
        self.density = np.array([c.state.conditions.density for c in wanted])
        self.atmosphere = float(atmospheric_pressure(scenario.farm.altitude))

    def run(self) -> Agreed | tuple[int, str]:
        reached = usual = self._from_rest()
        temperature = {
            name: np.full(len(self.cases), float(s.inlet.temperature))
            for name, s in self.sizes.items()
        }
        flows: dict[str, Array] | None = None
        history: list[float] = []
        for _ in range(_MOST_ROUNDS):
            depths = {name: self._depths(name, reached.heads) for name in self.sizes}
            headers = {
                name: self._header(name, depths[name], temperature[name]) for name in self.sizes
            }
            new = {name: header.split.flow for name, header in headers.items()}
            temperature = {name: header.temperature for name, header in headers.items()}
            change = _change(new, flows)
            if flows is not None:
                history.append(change)
                log.debug("air supply: change of air %.1e", change)
            if change <= AGREED:
                solved = Solved(self.compiled, reached)
                return Agreed(
                    self.scenario,
                    self.rest,
                    solved,
                    self.cases,
                    (),
                    self.sizes,
                    headers,
                    self.on,
                    self.outlets,
                    depths,
                    self.lifts,
                    tuple(history),
                )
            flows = new
            reached = self._loop(flows, reached)
            still = self._stands_still(reached, usual)
            if still is not None:
                return still
        told = ", ".join(f"{change:.0e}" for change in history[-3:])
        raise NoSolution(
            "air supply",
            "air flow",
            f"headers and water loop do not agree after {_MOST_ROUNDS} rounds (last changes "
            f"{told} of the air): near its peak or stall an airlift has no steady share",
            "",
        )

    def _from_rest(self) -> Reached:
        """The duty states as solved with stated air, in the place of each case."""
        names = [state.name for state in self.scenario.states]
        column = [names.index(c.state.name) for c in self.cases]
        state = self.rest.state
        return replace(state, heads=state.heads[:, column], flows=state.flows[:, column])

    def _depths(self, name: str, heads: Array) -> Array:
        """Water above the outlets of a header's users (users, cases) [m]."""
        return np.array([_depth(place, heads) for place in self.outlets[name]])

    def _header(self, name: str, depths: Array, temperature: Array) -> HeaderAtWork:
        back = self.atmosphere + GRAVITY * self.density * depths
        on, running = self.on[name], self.running[name]
        try:
            return at_work(self.sizes[name], back, on, running, temperature)
        except ValueError as error:
            raise NoSolution(name, "air flow", str(error), "") from None

    def _loop(self, flows: Mapping[str, Array], start: Reached) -> Reached:
        """The loop with the airlifts at these flows of free air."""
        per = float(dry_density(STANDARD))
        air = {}
        for header, lift in self.lifts:
            row = list(self.scenario.air_supply[header].users).index(lift.lift)
            if lift.driven:
                air[lift.branch] = flows[header][row] * per / lift.units
        system = _with_air(self.compiled, air)
        reached = solve(system, _FINE, start)
        # What rounding keeps from that may still be as good as any solution.
        return reached if reached.converged.all() else solve(system, None, reached)

    def _stands_still(self, reached: Reached, usual: Reached) -> tuple[int, str] | None:
        """The first case in which a lift moves no water to speak of.

        Raises NoSolution for a duty state that no levels carry.
        """
        duty = len(self.scenario.states)
        for k, case in enumerate(self.cases):
            lifts = [
                x.lift
                for _, x in self.lifts
                if x.driven and not reached.flows[x.branch, k] > _TRICKLE * usual.flows[x.branch, k]
            ]
            if reached.converged[k] and not lifts:
                continue
            lift = lifts[0] if lifts else next((x.lift for _, x in self.lifts if x.driven), "")
            if k >= duty:
                return k, lift
            raise NoSolution(
                lift or "air supply",
                "flow",
                "the air that its header leaves to it moves no water: look at the speed of the "
                "blowers, and at users that take its air",
                case.name,
            )
        return None


def _depth(place: Outlet, heads: Array) -> Array:
    """Water above an outlet of air in each case [m], not below zero."""
    if not place.nodes:
        return np.full(heads.shape[1], place.depth or 0.0)
    water = heads[list(place.nodes)].max(axis=0)
    return np.asarray(np.maximum(water - outlet_level(place, heads), 0.0))


def outlet_level(place: Outlet, heads: Array) -> float:
    """Return the level of an outlet of air that lies in an element [m]."""
    if place.level is not None:
        return place.level
    return float(heads[list(place.nodes), 0].max()) - (place.depth or 0.0)


def _change(new: Mapping[str, Array], old: Mapping[str, Array] | None) -> float:
    if old is None:
        return float("inf")
    return max(
        float((np.abs(new[name] - old[name]) / np.maximum(new[name].sum(axis=0), 1e-12)).max())
        for name in new
    )


def _with_air(compiled: Compiled, air: Mapping[int, Array]) -> System:
    """Return the system with the dry air of some branches [kg/s] set, one array over cases."""
    groups = []
    for one in compiled.system.groups:
        group = one
        rows = [(row, int(j)) for row, j in enumerate(group.index) if int(j) in air]
        if rows and "air" in group.params:
            table = np.array(group.params["air"])
            for row, j in rows:
                table[row] = air[j]
            group = replace(group, params={**group.params, "air": table})
        groups.append(group)
    return replace(compiled.system, groups=tuple(groups))
