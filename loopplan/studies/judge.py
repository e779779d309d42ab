"""Findings that no single element can see: lifts, water balance, reversed flow."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from loopplan.findings import Finding, Severity, find
from loopplan.lifts.assign import AIRLIFT
from loopplan.limits import Limits
from loopplan.loop.solution import Solved
from loopplan.studies.results import LiftResult, LiftState, StateResult
from loopplan.studies.water_judge import judge_water

if TYPE_CHECKING:
    from loopplan.studies.lift_duty import Duty


def judge(solved: Solved, states: list[StateResult], lifts: list[LiftResult]) -> Iterable[Finding]:
    """Yield findings about the loop as a whole."""
    limits = solved.compiled.scenario.limits
    assert isinstance(limits, Limits)
    for lift in lifts:
        yield from _downhill(lift)
        if lift.asked == AIRLIFT:
            yield from airlift_limits(lift.element, lift.states, limits)
    yield from _spare_falls(solved, states, limits)
    for k, state in enumerate(states):
        yield from _reversed(state)
        yield from _uneven(solved, k, limits)
        yield from _balance(solved, k, state, limits)
        yield from judge_water(state, limits)


def airlift_limits(
    place: str, states: Sequence[LiftState | Duty], limits: Limits
) -> Iterable[Finding]:
    """Yield what the rules of practice say of an airlift in each duty state in which it runs."""
    for state in (s for s in states if s.flow > 0.0):
        if state.pressure >= limits.pressure_from:
            yield find(
                "airlift-pressure",
                place,
                state=state.state,
                value=state.pressure,
                limit=0.0,
                unit="m",
                message=f"an airlift is asked for, and {state.pressure:.2f} m of pressure with it",
            )
        if state.head > limits.airlift_workable:
            beyond = state.head > limits.airlift_most
            yield find(
                "airlift-lift-limit",
                place,
                state=state.state,
                value=state.head,
                limit=limits.airlift_workable,
                unit="m",
                severity=Severity.SEVERE if beyond else None,
                message=f"an airlift is asked for {state.head:.3f} m of lift; workable up to "
                f"{limits.airlift_workable:.2f} m, not used above {limits.airlift_most:.2f} m; "
                f"{state.head - limits.airlift_workable:.3f} m would have to be saved",
            )


def _downhill(lift: LiftResult) -> Iterable[Finding]:
    for state in lift.states:
        if state.flow > 0.0 and state.head < 0.0:
            yield find(
                "lift-runs-downhill",
                lift.element,
                state=state.state,
                value=state.head,
                limit=0.0,
                unit="m",
                message=f"the head behind it is {-state.head:.3f} m below the head before it: "
                "water would run through it by itself",
            )


def _reversed(state: StateResult) -> Iterable[Finding]:
    told: set[str] = set()
    for row in state.rows:
        if row.flow < -1e-9 and row.name not in told:
            told.add(row.name)
            yield find(
                "reverse-flow",
                row.element,
                state=state.name,
                value=row.flow,
                unit="m3/s",
                message=f"{-row.flow * 3600:.2f} m3/h run against the flow path",
            )


def _uneven(solved: Solved, k: int, limits: Limits) -> Iterable[Finding]:
    """Branches of a manifold that are alike and get unlike flows."""
    compiled = solved.compiled
    alike: dict[tuple[str, tuple[float, ...]], list[tuple[float, str]]] = {}
    for j, branch in enumerate(compiled.graph.branches):
        if branch.law == "tee":
            part = compiled.passage(j, k)
            size = tuple(part.params[name] for name in ("c2", "small"))
            flow = float(solved.flows[j, k])
            alike.setdefault((branch.element, size), []).append((flow, branch.name))
    for (name, _), found in alike.items():
        mean = sum(flow for flow, _ in found) / len(found)
        (least, last), (most, first) = min(found), max(found)
        if mean > 0.0 and (most - least) / mean > limits.manifold_spread:
            yield find(
                "manifold-uneven",
                name,
                state=compiled.names[k],
                value=(most - least) / mean,
                limit=limits.manifold_spread,
                unit="",
                message=f"the {first} carries {100.0 * (most / mean - 1.0):.1f} % more than the "
                f"mean, the {last} {100.0 * (1.0 - least / mean):.1f} % less",
            )


_LIPS = {
    "weir": ("crest", "sill"),
    "plate": ("plate", "plate"),
    "opening": ("invert", "opening"),
    "channel": ("floor_down", "end of the channel"),
}
"""Laws of free falls: the parameter that tells the level that water falls from, and its name."""


def _spare_falls(solved: Solved, states: list[StateResult], limits: Limits) -> Iterable[Finding]:
    """Drops below sills that no duty state needs."""
    compiled = solved.compiled
    # By element: the falls of its parts, each with the state in which it is least.
    found: dict[str, list[tuple[float, str, str]]] = {}
    for j, branch in enumerate(compiled.graph.branches):
        element = compiled.scenario.elements[branch.element]
        if branch.law not in _LIPS or element.role == "sink":
            continue
        if compiled.passage(j, 0).span is not None:
            # A bypass is there to stay dry.
            continue
        lip, word = _LIPS[branch.law]
        needed = compiled.passage(j, 0).useful
        running = [k for k in range(len(states)) if not compiled.is_closed(j, k)]
        spare = [
            compiled.passage(j, k).params[lip] - float(solved.heads[branch.down, k]) - needed
            for k in running
        ]
        least = min(spare, default=0.0)
        if least > limits.spare_fall:
            where = compiled.passage(j, 0).name if branch.law == "weir" else word
            state = states[running[spare.index(least)]].name
            found.setdefault(branch.element, []).append((least, where or word, state))
    for name, falls in found.items():
        falls.sort(reverse=True)
        drops = " and ".join(f"{x:.3f} m of the drop below the {where}" for x, where, _ in falls)
        yield find(
            "head-wasted",
            name,
            state=falls[0][2],
            value=sum(least for least, _, _ in falls),
            limit=limits.spare_fall,
            unit="m",
            message=f"{drops} {'serves' if len(falls) == 1 else 'serve'} nothing, in any duty "
            "state; lowering what it falls from, or raising the level below, saves as much lift",
        )


def _balance(solved: Solved, k: int, state: StateResult, limits: Limits) -> Iterable[Finding]:
    balance = state.balance
    # A passing peak says nothing about what builds up: the design flow does.
    usual = solved.compiled.scenario.states[k].conditions.flow <= 1.0
    if usual and balance.passes is not None and balance.passes > limits.passes_most:
        yield find(
            "passes-high",
            "farm",
            state=state.name,
            value=balance.passes,
            limit=limits.passes_most,
            unit="",
            message=f"each cubic metre goes round {balance.passes:.0f} times",
        )
    if balance.replacement <= 0.0:
        return
    compiled = solved.compiled
    for j, branch in enumerate(compiled.graph.branches):
        element = compiled.scenario.elements[branch.element]
        if element.kind != "overflow" and not _over_sill_of_outside(solved, j):
            continue
        part = compiled.passage(j, k)
        if branch.law != "weir" or compiled.is_closed(j, k):
            continue
        head = float(solved.heads[branch.up, k]) - part.params["crest"]
        if head <= 0.0:
            continue
        per_mm = 0.001 * _slope(part.params, head) * part.units
        ratio = per_mm / balance.replacement
        if ratio > limits.exchange_ratio:
            yield find(
                "exchange-small-level",
                branch.element,
                state=state.name,
                value=ratio,
                limit=limits.exchange_ratio,
                unit="",
                message=f"one millimetre of level there carries {per_mm * 3600:.2f} m3/h, "
                f"{ratio:.1f} times the replacement of {balance.replacement * 3600:.2f} m3/h",
            )


def _over_sill_of_outside(solved: Solved, j: int) -> bool:
    """Whether a sill leaves a basin whose level is given from outside."""
    node = solved.compiled.graph.branches[j].up
    return bool(solved.compiled.system.outside[node])


def _slope(p: object, head: float) -> float:
    """Flow per metre of head over a free sill [m2/s]."""
    params = dict(p)  # type: ignore[call-overload]
    c0, c1, kh, n = (float(params[key]) for key in ("c0", "c1", "kh", "exponent"))
    return float(c1 * (head + kh) ** n + (c0 + c1 * head) * n * (head + kh) ** (n - 1.0))


def merge_states(findings: Iterable[Finding]) -> list[Finding]:
    """Tell a finding once: in the state where it is worst, with the others named."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.code, finding.place), []).append(finding)
    merged = []
    for same in groups.values():
        worst = max(same, key=_excess)
        names = dict.fromkeys(f.state for f in same if f.state != worst.state)
        merged.append(replace(worst, also=tuple(names)))
    return merged


def _excess(finding: Finding) -> float:
    """How far a value lies beyond its limit."""
    if finding.value is None:
        return 0.0
    return abs(finding.value - (finding.limit or 0.0))
