"""Findings about a stop of every lift."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loopplan.findings import Finding, find
from loopplan.loop.solution import Solved
from loopplan.studies.duty_judge import brought_in
from loopplan.studies.poweroff_results import PowerCase, PowerOff
from loopplan.studies.results import StateResult

_DROP = 1e-6
"""Volume [m3] below which nothing has run over."""
_HAIR = 1e-6
"""Levels [m] closer than this count as one."""


def judge_power_off(
    solved: Solved, power: PowerOff, states: Sequence[StateResult]
) -> Iterable[Finding]:
    """Yield the findings of all cases."""
    make_up = {state.name: state.balance.replacement for state in states}
    for case in power.cases:
        yield from _over_walls(case)
        yield from _restart(case, make_up[case.state])
        yield from _floats(solved, case)
    by_state = {case.state: case for case in power.cases}
    for case in power.stuck:
        yield from _stuck(case, by_state[case.state])


def _litres(volume: float) -> str:
    litres = 1000.0 * volume
    return f"{litres:,.0f} L" if litres >= 10.0 else f"{litres:.2g} L"


def _over_walls(case: PowerCase) -> Iterable[Finding]:
    for place in case.places:
        if place.over_wall > _DROP:
            yield find(
                "sump-too-small",
                place.element,
                state=case.state,
                value=place.over_wall,
                limit=0.0,
                unit="m3",
                message=f"when every lift stops, {_litres(place.over_wall)} run over the wall "
                f"top at {place.wall_top:.3f} m",
            )


def _restart(case: PowerCase, make_up: float) -> Iterable[Finding]:
    dry = [s for s in case.suctions if s.stop_level <= s.least_level + _HAIR]
    for suction in dry:
        yield find(
            "drained-below",
            suction.lift,
            state=case.state,
            value=suction.stop_level,
            limit=suction.least_level,
            unit="m",
            message=f"'{suction.basin}' comes to rest at {suction.stop_level:.3f} m and the lift "
            f"needs more than {suction.least_level:.3f} m to start again",
        )
    if case.short > _DROP and not dry:
        yield find(
            "restart-short",
            "farm",
            state=case.state,
            value=case.start,
            limit=case.held,
            unit="m3",
            message=f"{_litres(case.lost)} leave the loop after the stop; "
            f"{_litres(case.start)} are needed to fill up to the running levels, and "
            f"{_litres(case.held)} stand ready: {_litres(case.short)} are missing"
            + brought_in(case.short, make_up),
        )


def _floats(solved: Solved, case: PowerCase) -> Iterable[Finding]:
    compiled = solved.compiled
    k = compiled.names.index(case.state)
    stops = {p.element: p.stop_level for p in case.places}
    for branch in compiled.graph.branches:
        element = compiled.scenario.states[k].elements[branch.element]
        level = getattr(element, "float_level", None)
        node = compiled.graph.nodes[branch.down].basin
        if level is None or element.role != "source" or node is None:
            continue
        stop = stops.get(node[0])
        if stop is not None and stop < level - _HAIR:
            yield find(
                "make-up-opens-during-drain-back",
                branch.element,
                state=case.state,
                value=stop,
                limit=float(level),
                unit="m",
                message=f"'{node[0]}' comes to rest at {stop:.3f} m, "
                f"{1000.0 * (level - stop):.0f} mm below the float",
            )


def _stuck(case: PowerCase, working: PowerCase) -> Iterable[Finding]:
    more = case.over_walls - working.over_walls
    if more > _DROP:
        where = max(case.places, key=lambda p: p.over_wall)
        yield find(
            "flap-stuck-overflows",
            case.stuck,
            state=case.state,
            value=case.over_walls,
            limit=working.over_walls,
            unit="m3",
            message=f"with this flap stuck open {_litres(case.over_walls)} run over the wall of "
            f"'{where.element}' when every lift stops",
        )
