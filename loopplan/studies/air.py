"""The air study: headers and water loop in agreement, in every duty state and one blower short."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from loopplan.airsupply.agree import Agreed, agree, outlet_level
from loopplan.airsupply.plan import PRACTICE_LOSS
from loopplan.airsupply.power import (
    POWER_SOURCES,
    efficiencies,
    power,
    rated_output,
    shaft_efficiency,
)
from loopplan.errors import Refused
from loopplan.findings import worst_first
from loopplan.physics.air import NORMAL, STANDARD, convert_flow, dry_density
from loopplan.physics.air_pipes import AirPipe, air_velocity, velocity_limits
from loopplan.physics.blower_classes import BLOWERS
from loopplan.physics.blowers import (
    column_pressure,
    delivery_temperature,
    displacement_flow,
    practice_head,
    starting_pressure,
)
from loopplan.physics.water import atmospheric_pressure
from loopplan.scenario.air import Blower, supply_assumed
from loopplan.scenario.models import Scenario
from loopplan.sources import SOURCES
from loopplan.studies.air_judge import judge_air
from loopplan.studies.air_results import (
    AirResult,
    BlowerOut,
    HeaderCase,
    HeaderResult,
    LiftWater,
    UserAir,
)
from loopplan.studies.air_ways import ways
from loopplan.studies.judge import merge_states
from loopplan.studies.lift_sheet_results import Band
from loopplan.studies.poweroff import power_case

_FREE = float(dry_density(STANDARD))
"""Dry air in free air [kg/m3]."""

_SOURCES = (
    "trade-practice",
    "ideal-gas",
    "isothermal-pipe",
    "colebrook",
    "iso-2533",
    "wmo-8-magnus",
    "metcalf-eddy-air-pipes",
    "chandrupatla-1997",
    *POWER_SOURCES,
)


def air_supply(scenario: Scenario) -> AirResult:
    """Solve the air supply of a scenario together with its water loop.

    Raises :class:`loopplan.errors.Refused` (also for a file without an air supply) and
    :class:`loopplan.errors.NoSolution`.
    """
    if not scenario.air_supply:
        raise Refused(
            [
                scenario.problem(
                    (),
                    "the file has no section `air supply`",
                    "add `air supply:` with a header, its `blower` and its `users`",
                )
            ]
        )
    agreed = agree(scenario)
    headers = tuple(_Header(agreed, name).result() for name in agreed.sizes)
    lifts = tuple(_lifts(agreed))
    kept = {state.name for state in agreed.scenario.states}
    result = AirResult(
        scenario.farm.name,
        scenario.farm.note,
        scenario.document.name,
        scenario.farm.altitude,
        tuple(case.name for case in agreed.cases),
        headers,
        lifts,
        tuple(_outs(agreed, lifts)),
        ways(scenario, headers),
        scenario.prices.hours,
        scenario.prices.currency,
        (),
        (*scenario.assumed, *supply_assumed(scenario.air_supply), *_assumed(agreed, headers)),
        _sources(headers),
        tuple(s.name for s in scenario.states if s.name not in kept),
        agreed.history,
    )
    found = judge_air(scenario, agreed.cases, agreed.lost, result)
    return replace(result, findings=tuple(worst_first(merge_states(found))))


def _sources(headers: Iterable[HeaderResult]) -> tuple[tuple[str, str], ...]:
    used = {*_SOURCES, *(BLOWERS[h.blower_class].source for h in headers)}
    return tuple((key, SOURCES[key].text) for key in sorted(used))


def _assumed(
    agreed: Agreed, headers: Iterable[HeaderResult]
) -> Iterable[tuple[str, str, str, str]]:
    """Yield (place, field, value, source) of what the study assumes besides the file's defaults."""
    first = agreed.cases[0].name
    lifts = {lift.lift for _, lift in agreed.lifts}
    for result in headers:
        entry = agreed.scenario.air_supply[result.header]
        kind = BLOWERS[result.blower_class]
        source = SOURCES[kind.source].text
        if entry.blower.efficiency is None:
            low, high = kind.efficiency
            words = f"{100 * low:.0f} to {100 * high:.0f} % ({kind.taken})"
            yield result.header, "blower.efficiency", words, source
        if entry.blower.least_speed is None:
            words = f"{100 * kind.least_speed:.0f} %"
            yield result.header, "blower.least speed", words, "common practice, no source"
        if entry.blower.motor.power is None:
            words = f"{result.motor / 1e3:g} kW"
            yield result.header, "blower.motor.power", words, "next standard size, iec-60072-1"
        if not kind.displacement:
            words = "rated air at any pressure"
            yield result.header, "blower.air", words, "assumed: no curve of its maker is read"
        if not result.speed_stated:
            words = f"{100 * result.speed:.1f} %"
            yield (
                result.header,
                "blower.speed",
                words,
                f"assumed: set for the stated air in {first}",
            )
        for name, user in entry.users.items():
            if user.diffuser_loss is None and name not in lifts:
                words = f"{PRACTICE_LOSS / 1e3:g} kPa"
                yield result.header, f"{name}.diffuser loss", words, "common practice, no source"
            if user.valve_loss is None:
                words = "set for the stated air"
                yield result.header, f"{name}.valve", words, "assumed: in the first state it is on"
    for _, lift in agreed.lifts:
        if lift.driven:
            yield lift.lift, "flow", "follows from its air", "assumed: shares of flow do not apply"


class _Header:
    """One header over all cases."""

    def __init__(self, agreed: Agreed, name: str) -> None:
        self.agreed, self.name = agreed, name
        self.entry = agreed.scenario.air_supply[name]
        self.blower: Blower = self.entry.blower
        self.sizes = agreed.sizes[name]
        self.work = agreed.headers[name]
        self.inlet = self.sizes.inlet
        self.low = float(self.inlet.pressure)
        self.atmosphere = float(atmospheric_pressure(agreed.scenario.farm.altitude))
        self.rated = rated_output(self.blower, self.low, self.low + self.blower.rated_pressure)

    def result(self) -> HeaderResult:
        """The header in all cases in which somebody takes air from it."""
        agreed, blower = self.agreed, self.blower
        live = [k for k in range(len(agreed.cases)) if agreed.on[self.name][:, k].any()]
        kind = BLOWERS[blower.class_]
        density = agreed.cases[0].state.conditions.density
        deepest = float(agreed.depths[self.name][agreed.on[self.name][:, 0], 0].max())
        rule = float(practice_head(deepest, far=blower.stands == "far"))
        starting, standing = self._starting()
        least = kind.least_speed if blower.least_speed is None else blower.least_speed
        drawn = blower.running * displacement_flow(
            self.sizes.blower, float(self.work.split.delivery_pressure[0]) - self.low, least
        )
        bore = None if self.sizes.main is None else float(self.sizes.main.bore)
        return HeaderResult(
            self.name,
            blower.class_,
            kind.words,
            blower.running,
            blower.whole_standby,
            blower.air,
            blower.rated_pressure,
            self.rated,
            self.atmosphere,
            self.work.speed,
            self.work.speed_asked,
            blower.speed is not None,
            least,
            float(convert_flow(drawn, self.inlet, STANDARD)),
            deepest,
            blower.stands == "far",
            rule,
            float(column_pressure(rule, density)),
            starting,
            standing,
            bore,
            None if bore is None else velocity_limits(bore),
            tuple(self._case(k) for k in live),
        )

    def _starting(self) -> tuple[float, str]:
        """Pressure to start against [Pa], and the user that asks for it."""
        density = max(case.state.conditions.density for case in self.agreed.cases)
        found = []
        for i, user in enumerate(self.sizes.users):
            standing = self._standing(i)
            loss = user.diffuser_loss
            found.append((float(starting_pressure(standing, 0.0, density, loss)), user.name))
        return max(found)

    def _standing(self, i: int) -> float:
        """Highest water that can stand over the outlets of a user [m].

        Running or at rest after a stop; over a lift on both sides of it, since a short stop
        leaves its outlet side as it runs, without gas.
        """
        agreed = self.agreed
        place = agreed.outlets[self.name][i]
        if not place.nodes:
            return place.depth or 0.0
        graph, heads = agreed.solved.compiled.graph, agreed.solved.heads
        beyond = [b.down for b in graph.branches if b.element == self.sizes.users[i].name]
        lift = any(self.sizes.users[i].name == one.lift for _, one in agreed.lifts)
        nodes = [*place.nodes, *(beyond[-1:] if lift else ())]
        basins = {graph.nodes[n].basin[0] for n in nodes if graph.nodes[n].basin is not None}
        stops = (power_case(agreed.rest, k) for k in range(len(agreed.rest.compiled.names)))
        at_rest = [p.stop_level for stop in stops for p in stop.places if p.element in basins]
        highest = max(float(heads[nodes].max()), *at_rest) if at_rest else float(heads[nodes].max())
        return highest - outlet_level(place, heads)

    def _case(self, k: int) -> HeaderCase:
        split, blower = self.work.split, self.blower
        running = self.agreed.cases[k].running(self.name, blower)
        delivery = float(split.delivery_pressure[k])
        header = float(split.header_pressure[k])
        free = float(split.total[k])
        inlet = float(convert_flow(free, STANDARD, self.inlet))
        needs = power(blower, running, inlet, self.low, delivery, self.rated)
        main = self.sizes.main
        return HeaderCase(
            self.agreed.cases[k].name,
            running,
            free,
            inlet,
            float(convert_flow(free, STANDARD, NORMAL)),
            header - self.atmosphere,
            delivery - header,
            delivery - self.atmosphere,
            delivery - self.low,
            blower.rated_pressure - (delivery - self.low),
            self._temperature(delivery),
            needs.ideal,
            Band(*needs.shaft),
            Band(*needs.electric),
            None if main is None else self._velocity(main, free, header, k),
            tuple(self._user(i, k, header) for i in range(len(self.entry.users))),
        )

    def _temperature(self, delivery: float) -> Band:
        """Temperature behind the blower [degC]; the best efficiency makes the coolest air."""
        return Band(
            *(
                float(
                    delivery_temperature(
                        self.inlet.temperature,
                        self.low,
                        max(delivery, self.low),
                        shaft_efficiency(self.blower, efficiency, self.rated),
                    )
                )
                for efficiency in efficiencies(self.blower)
            )
        )

    def _velocity(self, pipe: AirPipe, free: float, pressure: float, k: int) -> float:
        """Velocity [m/s] at the end where the pressure is least."""
        hot = replace(pipe, temperature=float(self.work.temperature[k]))
        return float(air_velocity(free * _FREE, pressure, hot))

    def _user(self, i: int, k: int, header: float) -> UserAir:
        user, work = self.sizes.users[i], self.work
        free = float(work.split.flow[i, k])
        depth = float(self.agreed.depths[self.name][i, k])
        density = self.agreed.cases[k].state.conditions.density
        diffuser, pipe, valve = (float(loss) for loss in work.losses[:, i, k])
        has_pipe = self.entry.users[user.name].branch is not None
        column = float(column_pressure(depth, density))
        end = self.atmosphere + column + diffuser
        return UserAir(
            user.name,
            bool(self.agreed.on[self.name][i, k]),
            user.air,
            free,
            float(convert_flow(free, STANDARD, self.inlet)),
            float(convert_flow(free, STANDARD, NORMAL)),
            depth,
            column,
            diffuser,
            pipe,
            valve,
            self._velocity(user.branch, free, min(end, header), k) if has_pipe else None,
        )


def _lifts(agreed: Agreed) -> Iterable[LiftWater]:
    """Water of each lift that takes air, in all cases, those without water last."""
    for header, lift in agreed.lifts:
        flows = [
            (case.name, float(agreed.solved.flows[lift.branch, k]))
            for k, case in enumerate(agreed.cases)
        ]
        flows += [(case.name, 0.0) for case, stalled in agreed.lost if stalled == lift.lift]
        yield LiftWater(lift.lift, header, lift.driven, tuple(flows))


def _outs(agreed: Agreed, lifts: Sequence[LiftWater]) -> Iterable[BlowerOut]:
    """One blower of each header out, none started in its place."""
    first = agreed.cases[0].name
    every = (*agreed.cases, *(case for case, _ in agreed.lost))
    for name, entry in agreed.scenario.air_supply.items():
        left = entry.blower.running - 1
        case = next((c.name for c in every if c.out == name), "")
        rows = []
        for lift in lifts:
            flows = dict(lift.flows)
            if lift.header == name:
                after = flows.get(case, 0.0) if left and lift.driven else 0.0
                rows.append((lift.lift, flows[first], None if left and not lift.driven else after))
        yield BlowerOut(name, entry.blower.whole_standby, left, tuple(rows))
