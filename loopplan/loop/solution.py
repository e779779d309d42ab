"""Solve a scenario and judge what came out: a solution, or the element that will not close."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from loopplan.errors import NoSolution, Refused
from loopplan.laws import Array
from loopplan.loop.compile import Compiled, System, columns, compile_scenario
from loopplan.loop.graph import Graph, build
from loopplan.loop.reasons import EXCHANGE_SHARE, fed_twice, overdrawn
from loopplan.loop.shut import standing_levels
from loopplan.loop.solve import Options, State, solve
from loopplan.loop.standing import standing_lifts, weak_lift
from loopplan.loop.structure import check_structure
from loopplan.loop.usual_states import with_usual_states
from loopplan.scenario.models import Scenario

LeftOut = tuple[tuple[str, str], ...]
"""(duty state, reason) of states that were added to the file's and could not be solved."""


@dataclass(frozen=True)
class Solved:
    """A scenario with heads and flows of all its duty states.

    `standing` are (branch, state) of lifts that stand still, each with the branch of the check
    valve that is held shut.
    """

    compiled: Compiled
    state: State
    left_out: LeftOut = ()
    standing: Mapping[tuple[int, int], int] = field(default_factory=dict)
    channel_volumes: dict[tuple[int, int], float] = field(
        default_factory=dict, repr=False, compare=False
    )
    """Water [m3] in channels by (branch, state), kept because several studies ask for it."""

    @property
    def flows(self) -> Array:
        """Flow of each branch [m3/s] (branches, states)."""
        return self.state.flows

    @property
    def heads(self) -> Array:
        """Head at each node [m] (nodes + 1, states); the last is the outside."""
        return self.state.heads


def prepare(scenario: Scenario) -> Compiled:
    """Compile a scenario and check its structure, solving nothing.

    Duty states that are added to those of the file are left out where they cannot be closed.
    Raises :class:`Refused` where the scenario cannot be closed as described.
    """
    return _prepared(scenario)[0]


def _prepared(scenario: Scenario) -> tuple[Compiled, LeftOut]:
    """Compile, and tell the added duty states that were left out, with why."""
    graph = build(scenario)
    scenario = with_usual_states(scenario, graph)
    try:
        return _compiled(scenario, graph), ()
    except Refused:
        left_out: dict[str, str] = {}
        added = [state.name for state in scenario.states if state.added]
        for name in added:
            others = [n for n in added if n != name]
            try:
                _compiled(_without(scenario, others), graph)
            except Refused as error:
                left_out[name] = error.problems[0].message
        if not left_out:
            raise
        return _compiled(_without(scenario, left_out), graph), tuple(left_out.items())


def _compiled(scenario: Scenario, graph: Graph) -> Compiled:
    compiled = compile_scenario(scenario, graph)
    check_structure(compiled)
    _refuse_uphill(compiled)
    return compiled


def _without(scenario: Scenario, names: Iterable[str]) -> Scenario:
    """The scenario without some of its added duty states."""
    gone = set(names)
    return replace(
        scenario, states=tuple(s for s in scenario.states if not (s.added and s.name in gone))
    )


def solve_scenario(scenario: Scenario, options: Options | None = None) -> Solved:
    """Solve all duty states of a scenario.

    Raises :class:`Refused` before solving, :class:`NoSolution` after.
    """
    compiled, left_out = _prepared(scenario)
    solved = Solved(compiled, _solved(compiled.system, options))
    failed: list[tuple[str, str]] = []
    standing: dict[tuple[int, int], int] = {}
    for k, state in enumerate(compiled.scenario.states):
        try:
            if not solved.state.converged[k]:
                raise _no_solution(solved, k, state.name)
            _check_exchanges(solved, k)
            standing |= {(j, k): valve for j, valve in standing_lifts(solved, k)}
        except NoSolution as error:
            if not state.added:
                raise
            failed.append((state.name, f"{error.quantity} of '{error.element}': {error.reason}"))
    if failed:
        again = solve_scenario(_without(compiled.scenario, dict(failed)), options)
        return replace(again, left_out=(*left_out, *failed, *again.left_out))
    found = replace(solved.state, heads=_with_cut_off(solved))
    return Solved(compiled, found, left_out, standing)


def _solved(system: System, options: Options | None) -> State:
    """Solve all variants at once, and those that get lost in company once more alone."""
    state = solve(system, options)
    if state.converged.all() or system.variants == 1:
        return state
    arrays = {name: value.copy() for name, value in vars(state).items()}
    for k in np.flatnonzero(~state.converged):
        alone = solve(columns(system, [int(k)]), options)
        if alone.converged[0]:
            for name, value in arrays.items():
                value[..., k] = getattr(alone, name)[..., 0]
    return State(**arrays)


def _with_cut_off(solved: Solved) -> Array:
    """Heads with the levels that are cut off where they come to stand."""
    compiled, heads = solved.compiled, solved.heads
    if compiled.system.closed is None or compiled.isolated is None:
        return heads
    heads = heads.copy()
    for k, state in enumerate(compiled.scenario.states):
        if not state.shut:
            continue
        known = ~compiled.isolated[:, k] | compiled.system.fixed
        closed = np.flatnonzero(compiled.system.closed[:, k])
        passages = {int(j): compiled.passage(int(j), k) for j in closed}
        heads[:, k] = standing_levels(compiled.graph, passages, state, known, heads[:, k])
        for node in np.flatnonzero(~known):
            basin = compiled.basin(int(node), k)
            if basin is not None:
                heads[node, k] = max(heads[node, k], basin.floor)
    return heads


def _refuse_uphill(compiled: Compiled) -> None:
    """A run without a lift, from a given level to a given higher one."""
    scenario, graph, system = compiled.scenario, compiled.graph, compiled.system
    problems = []
    out: dict[int, list[int]] = {}
    for j, branch in enumerate(graph.branches):
        if scenario.elements[branch.element].role == "passage" or graph_basin(compiled, branch):
            out.setdefault(branch.up, []).append(j)
    for start in np.flatnonzero(system.fixed[:-1]):
        if scenario.elements[_name(compiled, int(start))].role == "water":
            continue
        stack: list[tuple[int, tuple[str, ...]]] = [(int(start), ())]
        seen = {int(start)}
        while stack:
            node, trail = stack.pop()
            for j in out.get(node, []):
                branch = graph.branches[j]
                nxt = branch.down
                if nxt in seen or nxt == system.nodes:
                    continue
                seen.add(nxt)
                names = (*trail, branch.element)
                rise = system.levels[nxt] - system.levels[start]
                if system.fixed[nxt] and rise.max() > 1e-9:
                    problems.append(
                        scenario.problem(
                            ("elements", branch.element),
                            f"water would have to run uphill: from "
                            f"'{_name(compiled, int(start))}' "
                            f"({system.levels[start].max():.3f} m) through "
                            f"{', '.join(names)} to '{_name(compiled, nxt)}' "
                            f"({system.levels[nxt].max():.3f} m) without a lift",
                            "put a lift on the way, or correct the two levels",
                        )
                    )
                elif not system.fixed[nxt]:
                    stack.append((nxt, names))
    if problems:
        raise Refused(problems)


def graph_basin(compiled: Compiled, branch: object) -> bool:
    """Whether a branch is the own inlet or outlet of a basin."""
    element = getattr(branch, "element", "")
    return compiled.scenario.elements[element].role == "basin"


def _name(compiled: Compiled, node: int) -> str:
    found = compiled.graph.nodes[node].basin
    return found[0] if found is not None else compiled.graph.nodes[node].name


def _no_solution(solved: Solved, k: int, state: str) -> NoSolution:
    """Name what closes worst, and the likely reason."""
    from loopplan.loop.newton import Newton

    compiled, system = solved.compiled, solved.compiled.system
    newton = Newton(system)
    local = newton.laws(solved.flows, solved.heads)
    scale = solved.state.circulation[k]
    law = np.abs(local.g[:, k]) / np.where(newton.unit_is_head, 1.0, max(scale, 1e-9))
    balance = np.abs(newton.balance(solved.flows, np.zeros((len(system.volumes), scale.size or 1))))
    worst_law = int(law.argmax()) if law.size else 0
    share = balance[newton.rows, k] / scale if newton.rows.size else np.zeros(1)
    worst_node = int(newton.rows[share.argmax()]) if newton.rows.size else 0
    known = overdrawn(compiled, k) or weak_lift(compiled, k) or fed_twice(compiled, state)
    if known is not None:
        return known
    if not np.isfinite(solved.heads[:, k]).all() or share.max(initial=0.0) > law.max(initial=0.0):
        return NoSolution(
            _name(compiled, worst_node),
            "water balance",
            "what flows in does not find a way out at any level that was tried; look for a "
            "passage too small for the flow, or a level that holds the water back",
            state,
        )
    branch = compiled.graph.branches[worst_law]
    return NoSolution(
        branch.element,
        "head" if newton.unit_is_head[worst_law] else "flow",
        "no pair of levels carries its flow; look at its size and at the levels on both sides",
        state,
    )


def _check_exchanges(solved: Solved, k: int) -> None:
    """What crosses an outside level must be what was declared."""
    compiled = solved.compiled
    scenario, graph = compiled.scenario, compiled.graph
    node_of = {n.basin[0]: i for i, n in enumerate(graph.nodes) if n.basin is not None}
    entries = [c for c in scenario.closures if c.way != "kept level"]
    scale = solved.state.circulation[k]
    stated = 0.0
    for closure in entries:
        if closure.exchange is not None:
            stated += closure.exchange
    net = _net_given(compiled, k)
    for closure in entries:
        place = closure.at or closure.in_[0]
        leaves = float(solved.state.exchanges[node_of[place], k])
        if closure.way == "stored volume":
            # The water is counted because none of it crosses to the outside there.
            due = 0.0
        elif closure.exchange is not None:
            due = closure.exchange
        elif len(entries) == 1:
            due = net - _other_ways_out(solved, k)
        else:
            due = _net_at(compiled, node_of[place], k)
        if abs(leaves - due) <= EXCHANGE_SHARE * scale:
            continue
        raise NoSolution(
            place,
            "exchange with the outside",
            f"{leaves * 3600:.2f} m3/h would have to leave there to close the levels, and "
            f"{due * 3600:.2f} m3/h follow from {_flows_in_words(solved, k)}; the given levels "
            "and flows disagree" + _backward(solved, k),
            compiled.names[k],
        )


def _net_given(compiled: Compiled, k: int) -> float:
    """Make-up less stated discharge [m3/s]."""
    total = 0.0
    for j, branch in enumerate(compiled.graph.branches):
        role = compiled.scenario.elements[branch.element].role
        if branch.law == "given" and role in ("source", "sink") and not compiled.is_closed(j, k):
            part = compiled.passage(j, k)
            total += part.params["flow"] * part.units * (1.0 if role == "source" else -1.0)
    return total


def _net_at(compiled: Compiled, node: int, k: int) -> float:
    """Make-up less stated discharge [m3/s] joined to one node."""
    total = 0.0
    for j, branch in enumerate(compiled.graph.branches):
        role = compiled.scenario.elements[branch.element].role
        if (
            branch.law == "given"
            and role in ("source", "sink")
            and node in (branch.up, branch.down)
            and not compiled.is_closed(j, k)
        ):
            part = compiled.passage(j, k)
            total += part.params["flow"] * part.units * (1.0 if role == "source" else -1.0)
    return total


def _other_ways_out(solved: Solved, k: int) -> float:
    """What leaves over overflows and into open water [m3/s]."""
    total = 0.0
    compiled = solved.compiled
    for j, branch in enumerate(compiled.graph.branches):
        if compiled.scenario.elements[branch.element].role == "sink" and branch.law != "given":
            total += float(solved.flows[j, k])
    for node in np.flatnonzero(compiled.system.outside[:-1]):
        if compiled.scenario.elements[_name(compiled, int(node))].role == "water":
            total += float(solved.state.exchanges[node, k])
    return total


def _flows_in_words(solved: Solved, k: int) -> str:
    words = []
    for j, branch in enumerate(solved.compiled.graph.branches):
        role = solved.compiled.scenario.elements[branch.element].role
        if branch.law == "given" and role in ("source", "sink", "lift"):
            words.append(f"'{branch.element}' {solved.flows[j, k] * 3600:.2f} m3/h")
    return ", ".join(words) if words else "no make-up and no discharge"


def _backward(solved: Solved, k: int) -> str:
    names = [
        b.element
        for j, b in enumerate(solved.compiled.graph.branches)
        if solved.flows[j, k] < -1e-9
    ]
    if not names:
        return ""
    return "; water would run backward (uphill against its path) through " + ", ".join(
        f"'{n}'" for n in dict.fromkeys(names)
    )
