"""What each lift must do, over all duty states, and the device class that suits it."""

from __future__ import annotations

from loopplan.lifts.assign import AIRLIFT, assign
from loopplan.lifts.rule_screen import rule_screen
from loopplan.limits import Limits
from loopplan.loop.compile import Compiled
from loopplan.loop.solution import Solved
from loopplan.studies.results import LiftResult, LiftState, StateResult


def lift_results(solved: Solved, states: list[StateResult]) -> list[LiftResult]:
    """Return one result for each lift, in the order of the file."""
    compiled = solved.compiled
    limits = compiled.scenario.limits
    assert isinstance(limits, Limits)
    results = []
    for j, branch in enumerate(compiled.graph.branches):
        element = compiled.scenario.elements[branch.element]
        if element.role != "lift" or compiled.passage(j, 0).name:
            continue  # what stands behind a pump's flange is no lift
        found = tuple(_state(solved, j, k, state.name) for k, state in enumerate(states))
        runs = [s for s in found if s.runs] or found
        heads = [s.head for s in runs]
        pressure = max(s.pressure for s in runs)
        choice = assign(max(heads), pressure, limits)
        asked = str(getattr(element, "device", "open"))
        worst = max(found, key=lambda s: s.head)
        by_air = AIRLIFT in (asked, choice.device) and worst.head > 0.0
        results.append(
            LiftResult(
                branch.element,
                asked,
                found,
                min(heads),
                max(heads),
                choice.device,
                choice.reason,
                choice.against,
                rule_screen(worst.flow, worst.head) if by_air else None,
            )
        )
    return results


def _state(solved: Solved, j: int, k: int, name: str) -> LiftState:
    compiled = solved.compiled
    branch = compiled.graph.branches[j]
    heads = solved.heads[:, k]
    before, _ = _next_basin(compiled, branch.up, k, upstream=True)
    after, pressure = _next_basin(compiled, branch.down, k, upstream=False)
    head = float(heads[branch.down] - heads[branch.up])
    static = float(heads[after] - heads[before])
    return LiftState(
        name,
        float(solved.flows[j, k]),
        float(heads[before]),
        float(heads[after]),
        static,
        head - static,
        pressure,
        head,
        not (compiled.is_closed(j, k) or (j, k) in solved.standing),
    )


def _next_basin(compiled: Compiled, node: int, k: int, *, upstream: bool) -> tuple[int, float]:
    """The first basin before or after a node, and the greatest pressure need on the way.

    Where the way divides, the first branch in the file's order is followed for the level,
    and all are searched for pressure.
    """
    branches = compiled.graph.branches
    pressure = 0.0
    found: int | None = None
    stack, seen = [node], {node}
    while stack:
        here = stack.pop(0)
        if compiled.graph.nodes[here].basin is not None:
            found = here if found is None else found
            continue
        for j, branch in enumerate(branches):
            if (branch.down if upstream else branch.up) != here:
                continue
            part = compiled.passage(j, k)
            if part.pressure:
                pressure = max(pressure, part.useful)
            nxt = branch.up if upstream else branch.down
            if nxt not in seen and nxt != compiled.system.nodes:
                seen.add(nxt)
                stack.append(nxt)
    return (node if found is None else found), pressure
