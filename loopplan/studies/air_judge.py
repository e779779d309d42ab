"""Findings about the air supply."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loopplan.airsupply.plan import Case
from loopplan.findings import Finding, Severity, find
from loopplan.physics.air_pipes import velocity_limits
from loopplan.physics.blower_classes import AIR_PIPE_MATERIALS, BLOWERS
from loopplan.scenario.air import AirHeader, AirLine
from loopplan.scenario.models import Scenario
from loopplan.studies.air_results import AirResult, HeaderCase, HeaderResult, LiftWater

LEAST_RISE = 0.2
"""Least height of an air pipe's highest point over the water [m]; common practice, no source."""

PRESSURE_SWING = 0.10
"""Share of the pressure that may change between states at blowers that feel it; as above."""

AIR_DROP = 0.20
"""Share of its stated air that a user may miss before it is said; as above."""

WATER_DROP = 0.10
"""Share of its water that an airlift may lose to an air wash before it is said; as above."""

_TOUCH = 1e-6


def judge_air(
    scenario: Scenario,
    cases: Sequence[Case],
    lost: Sequence[tuple[Case, str]],
    result: AirResult,
) -> Iterable[Finding]:
    """Yield what is to be said of the headers in the duty states and those besides."""
    outs = {case.name for case in cases if case.out}
    for header in result.headers:
        entry = scenario.air_supply[header.header]
        kept = [case for case in header.cases if case.case not in outs]
        yield from _blower(header, entry, kept)
        yield from _standby(header, result.lifts)
        yield from _valves(header, entry)
        yield from _pipes(header, entry, kept)
        for case in kept:
            yield from _users(case, {lift.lift for lift in result.lifts if lift.driven})
    yield from _wash(scenario, cases, lost, result.lifts)
    yield from _too_little(scenario, cases, result.lifts)


def _blower(
    header: HeaderResult, entry: AirHeader, cases: Sequence[HeaderCase]
) -> Iterable[Finding]:
    name, kind = header.header, BLOWERS[header.blower_class]
    for case in cases:
        if case.margin < 0.0:
            column = max(user.column for user in case.users)
            yield find(
                "blower-pressure-short",
                name,
                state=case.case,
                value=case.rise,
                limit=header.rated_pressure,
                unit="Pa",
                message=f"{case.rise / 1e3:.1f} kPa are asked for and {_rated(header)}; the water "
                f"column alone is {column / 1e3:.1f} kPa",
            )
        low, high = kind.rise
        if not low <= case.rise <= high:
            limit = low if case.rise < low else high
            yield find(
                "outside-range",
                name,
                state=case.case,
                value=case.rise,
                limit=limit,
                unit="Pa",
                message=f"a {kind.name} blower is used from {low / 1e3:g} to {high / 1e3:g} kPa, "
                f"and {case.rise / 1e3:.1f} kPa are asked for: its efficiency does not hold",
            )
        shaft = case.shaft.value / case.running
        if shaft > header.motor * (1.0 + _TOUCH):
            yield find(
                "blower-motor-small",
                name,
                state=case.case,
                value=shaft,
                limit=header.motor,
                unit="W",
                message=f"{shaft / 1e3:.1f} kW at the shaft of one blower, and its motor gives "
                f"{header.motor / 1e3:g} kW",
            )
    yield from _start(header, cases)
    yield from _speed(header, cases[0])
    rises = [case.rise for case in cases]
    swing = 1.0 - min(rises) / max(rises)
    if not kind.displacement and swing > PRESSURE_SWING:
        yield find(
            "blower-depth-varies",
            name,
            value=swing,
            limit=PRESSURE_SWING,
            message=f"a {kind.name} blower meets {min(rises) / 1e3:.1f} to "
            f"{max(rises) / 1e3:.1f} kPa",
        )


def _rated(header: HeaderResult) -> str:
    return f"the blower is rated for {header.rated_pressure / 1e3:.1f} kPa"


def _start(header: HeaderResult, cases: Sequence[HeaderCase]) -> Iterable[Finding]:
    if header.starting > header.rated_pressure:
        running = max(case.rise for case in cases)
        yield find(
            "blower-start-short",
            header.header,
            value=header.starting,
            limit=header.rated_pressure,
            unit="Pa",
            message=f"to start against the highest water over '{header.standing}' takes "
            f"{header.starting / 1e3:.1f} kPa (running: {running / 1e3:.1f} kPa), and "
            f"{_rated(header)}",
        )


def _speed(header: HeaderResult, first: HeaderCase) -> Iterable[Finding]:
    stated = sum(user.stated for user in first.users if user.on)
    if first.free < stated * (1.0 - 1e-3):
        yield find(
            "blower-air-short",
            header.header,
            state=first.case,
            value=first.free,
            limit=stated,
            unit="m3/s",
            message=f"the users state {3600 * stated:.0f} m3/h of free air, and {header.running} "
            f"running give {3600 * first.free:.0f} m3/h",
        )
    if header.speed < header.least_speed:
        yield find(
            "blower-speed-low",
            header.header,
            value=header.speed,
            limit=header.least_speed,
            message=f"{100 * header.speed:.0f} % of full speed, and {100 * header.least_speed:.0f} "
            f"% is the least: {3600 * header.least_air:.0f} m3/h of free air",
        )


def _standby(header: HeaderResult, lifts: Sequence[LiftWater]) -> Iterable[Finding]:
    if header.standby > 0:
        return
    fed = [lift.lift for lift in lifts if lift.header == header.header]
    yield find(
        "blower-no-standby",
        header.header,
        severity=Severity.SEVERE if fed else Severity.WARNING,
        value=0.0,
        limit=1.0,
        message=f"{header.running} running, none stands by"
        + (f"; the header drives {', '.join(fed)}" if fed else ""),
    )


def _valves(header: HeaderResult, entry: AirHeader) -> Iterable[Finding]:
    blower = entry.blower
    pairs = [("check-valve-due", "check valve", blower.check_valve)]
    if BLOWERS[header.blower_class].displacement:
        pairs.append(("relief-valve-due", "relief valve", blower.relief_valve))
    for code, words, stated in pairs:
        if stated != "yes":
            yield find(
                code,
                header.header,
                severity=Severity.WARNING if stated == "no" else Severity.NOTE,
                message=f"there is no {words}" if stated == "no" else f"no {words} is stated",
            )


def _lines(header: HeaderResult, entry: AirHeader) -> Iterable[tuple[str, AirLine]]:
    if entry.main_pipe is not None:
        yield f"{header.header}, main pipe", entry.main_pipe
    for name, user in entry.users.items():
        if user.branch is not None:
            yield f"{header.header}, branch to {name}", user.branch


def _pipes(
    header: HeaderResult, entry: AirHeader, cases: Sequence[HeaderCase]
) -> Iterable[Finding]:
    hottest = max(cases, key=lambda case: case.temperature.most)
    lines = list(_lines(header, entry))
    for place, line in lines:
        yield from _hot(place, line, hottest)
    yield from _rise(header, [line for _, line in lines])
    for case in cases:
        speeds = [(f"{header.header}, main pipe", entry.main_pipe, case.velocity)]
        speeds += [
            (f"{header.header}, branch to {u.user}", entry.users[u.user].branch, u.velocity)
            for u in case.users
        ]
        for place, pipe, speed in speeds:
            if pipe is None or speed is None:
                continue
            _, most = velocity_limits(pipe.bore)
            if speed > most:
                yield find(
                    "air-velocity-high",
                    place,
                    state=case.case,
                    value=speed,
                    limit=most,
                    unit="m/s",
                    message=f"{speed:.0f} m/s in {1000 * pipe.bore:.0f} mm; up to {most:g} m/s are "
                    "usual",
                )


def _hot(place: str, line: AirLine, case: HeaderCase) -> Iterable[Finding]:
    material = AIR_PIPE_MATERIALS[line.material]
    plastic = material.warm < float("inf")
    if not plastic and line.rated_temperature is None:
        return
    unrated = line.rated_temperature is None
    limit = material.warm if line.rated_temperature is None else line.rated_temperature
    hot = case.temperature.most
    if hot <= limit and not unrated:
        return
    said = "no rating is stated" if unrated else f"it is rated for {limit:.0f} degC"
    yield find(
        "air-pipe-hot",
        place,
        state=case.case,
        severity=Severity.SEVERE if hot > limit else Severity.WARNING,
        value=hot,
        limit=limit,
        unit="degC",
        message=f"the air leaves the blower at up to {hot:.0f} degC; {material.name}: {said}; "
        f"{material.words}",
    )


def _rise(header: HeaderResult, lines: Sequence[AirLine]) -> Iterable[Finding]:
    rises = [line.rise for line in lines if line.rise is not None]
    if rises and max(rises) >= LEAST_RISE:
        return
    yield find(
        "air-pipe-not-above-water",
        header.header,
        severity=None if rises else Severity.NOTE,
        value=max(rises, default=None),
        limit=LEAST_RISE,
        unit="m",
        message=f"its highest point is {max(rises):.2f} m above the highest water"
        if rises
        else "it is not stated how far the pipe rises above the highest water",
    )


def _users(case: HeaderCase, lifts: set[str]) -> Iterable[Finding]:
    for user in case.users:
        missing = 1.0 - user.free / user.stated
        # What an airlift loses is told by its water.
        if not user.on or missing <= AIR_DROP or (user.user in lifts and user.free > 0.0):
            continue
        none = user.free <= 0.0
        yield find(
            "air-user-short",
            user.user,
            state=case.case,
            severity=Severity.SEVERE if none else None,
            value=user.free,
            limit=user.stated,
            unit="m3/s",
            message=f"the header's pressure does not reach {user.depth:.2f} m of water: no air"
            if none
            else f"{3600 * user.free:.0f} m3/h of free air of {3600 * user.stated:.0f} stated",
        )


def _too_little(
    scenario: Scenario, cases: Sequence[Case], lifts: Sequence[LiftWater]
) -> Iterable[Finding]:
    """Airlifts that move less water than the file asks of them, washes left aside."""
    usual = {case.name for case in cases if case.name == case.state.name}
    for lift in lifts:
        element = scenario.elements[lift.lift]
        asked = getattr(element, "flow", None)
        if asked is None or not lift.driven:
            continue
        asked *= element.count
        for name, flow in lift.flows:
            if name in usual and 0.0 < flow < (1.0 - WATER_SHORT) * asked:
                yield find(
                    "air-moves-too-little",
                    lift.lift,
                    state=name,
                    value=flow,
                    limit=(1.0 - WATER_SHORT) * asked,
                    unit="m3/s",
                    message=f"its air moves {3600 * flow:.0f} m3/h of water, and "
                    f"{3600 * asked:.0f} m3/h are asked of it",
                )


def _wash(
    scenario: Scenario,
    cases: Sequence[Case],
    lost: Sequence[tuple[Case, str]],
    lifts: Sequence[LiftWater],
) -> Iterable[Finding]:
    """Water that an airlift loses to a user that is not on in the first state."""
    first = cases[0]
    for case in (*cases, *(one for one, _ in lost)):
        for lift in lifts:
            users = scenario.air_supply[lift.header].users
            late = [n for n, u in users.items() if case.on(n, u) and not first.on(n, u)]
            flows = dict(lift.flows)
            if not late or not lift.driven or case.name not in flows:
                continue
            before, after = flows[first.name], flows[case.name]
            if after < (1.0 - WATER_DROP) * before:
                yield find(
                    "air-wash-starves-airlift",
                    lift.lift,
                    state=case.name,
                    severity=Severity.SEVERE if after <= 0.0 else None,
                    value=after,
                    limit=(1.0 - WATER_DROP) * before,
                    unit="m3/s",
                    message=f"with air to {', '.join(late)} it moves {3600 * after:.0f} m3/h of "
                    f"water, {3600 * before:.0f} m3/h without",
                )


WATER_SHORT = 0.02
"""Share of the flow asked of an airlift that may be missing. Common practice, no source."""
