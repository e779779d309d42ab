"""Solve a scenario and judge what came out: a solution, or the element that will not close."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from loopplan.declare import Passage
from loopplan.errors import NoSolution, Refused
from loopplan.laws import Array
from loopplan.loop.compile import Compiled, LawGroup, compile_scenario
from loopplan.loop.solve import Options, State, solve
from loopplan.loop.structure import check_structure
from loopplan.scenario.models import Scenario

_EXCHANGE_SHARE = 1e-6


@dataclass(frozen=True)
class Solved:
    """A scenario with heads and flows of all its duty states."""

    compiled: Compiled
    state: State

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

    Raises :class:`Refused` where it cannot be closed as described.
    """
    compiled = compile_scenario(scenario)
    check_structure(compiled)
    _refuse_uphill(compiled)
    return compiled


def solve_scenario(scenario: Scenario, options: Options | None = None) -> Solved:
    """Solve all duty states of a scenario.

    Raises :class:`Refused` before solving, :class:`NoSolution` after.
    """
    compiled = prepare(scenario)
    solved = Solved(compiled, solve(compiled.system, options))
    for k, name in enumerate(compiled.names):
        if not solved.state.converged[k]:
            raise _no_solution(solved, k, name)
    for k in range(len(compiled.names)):
        _check_exchanges(solved, k)
        _check_lifts(solved, k)
    return solved


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
    known = _overdrawn(compiled, k) or _weak_lift(compiled, k) or _fed_twice(compiled, state)
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


def _overdrawn(compiled: Compiled, k: int) -> NoSolution | None:
    """Name what takes more water out of a part of the loop than comes into it, if it does.

    Parts hang together by whatever carries a flow that nobody states. Water leaves them over
    sills and never comes back that way, so that what is stated must at least come out even.
    """
    graph, system = compiled.graph, compiled.system
    part = list(range(system.nodes + 1))

    def find(node: int) -> int:
        while part[node] != node:
            node = part[node]
        return node

    stated = []
    for j, branch in enumerate(graph.branches):
        if branch.law == "given" and j not in system.free:
            stated.append(j)
        elif system.nodes not in (branch.up, branch.down):
            part[find(branch.up)] = find(branch.down)
    # What a level from outside or a stored volume gives is judged with the exchanges.
    fed = {find(int(n)) for n in np.flatnonzero(system.outside[:-1])}
    fed |= {find(int(n)) for volume in system.volumes for n in volume.nodes}
    flows: dict[int, list[tuple[float, str]]] = {}
    for j in stated:
        branch, passage = graph.branches[j], compiled.passage(j, k)
        flow = float(passage.params["flow"] * passage.units)
        up, down = find(branch.up), find(branch.down)
        if up != down:
            flows.setdefault(up, []).append((-flow, branch.element))
            flows.setdefault(down, []).append((flow, branch.element))
    for where, moved in flows.items():
        lost = -sum(flow for flow, _ in moved)
        taken = [(f, n) for f, n in moved if f < 0.0]
        if where in fed or where == system.nodes or not taken:
            continue
        if lost <= _EXCHANGE_SHARE * -sum(f for f, _ in taken):
            continue
        came = [(f, n) for f, n in moved if f > 0.0]
        return NoSolution(
            min(taken)[1],
            "water balance",
            f"{_told(taken)} leave this part of the loop for good and "
            f"{_told(came) if came else 'nothing'} comes in: it would lose {lost * 3600:.2f} m3/h "
            "until it runs dry; bring in more new water, or take out less",
            compiled.names[k],
        )
    return None


def _told(flows: list[tuple[float, str]]) -> str:
    """Flows with the elements that carry them."""
    return ", ".join(f"{abs(f) * 3600:.2f} m3/h through '{n}'" for f, n in flows)


def _fed_twice(compiled: Compiled, state: str) -> NoSolution | None:
    """Name a channel whose side branch meets that of another, with nothing in between."""
    feeds: dict[int, str] = {}
    for branch in compiled.graph.branches:
        if branch.law != "tap":
            continue
        other = feeds.setdefault(branch.down, branch.element)
        if other != branch.element:
            return NoSolution(
                branch.element,
                "flow",
                f"'{other}' feeds the same place as its {branch.name}, with nothing in between: "
                "how the two share the water there hangs on next to nothing; put an opening or a "
                "weir of its own into each side branch",
                state,
            )
    return None


_TRICKLE = 0.02
"""Share of the last flow of its curve at which a lift is asked whether it reaches up at all."""


def _weak_lift(compiled: Compiled, k: int) -> NoSolution | None:
    """Name a lift whose curve ends below what even a trickle asks for, if there is one."""
    system = compiled.system
    lifts = {
        j
        for j, b in enumerate(compiled.graph.branches)
        if b.law == "curve" and compiled.scenario.elements[b.element].role == "lift"
    } - set(system.free.tolist())
    if not lifts:
        return None
    groups: list[LawGroup] = []
    for group in system.groups:
        is_lift = np.isin(group.index, sorted(lifts))
        for rows, law in ((~is_lift, group.law), (is_lift, "given")):
            if not rows.any():
                continue
            if law == group.law:
                params = {n: v[..., rows, :] for n, v in group.params.items()}
            else:
                flow = _TRICKLE * group.params["flows"][-1] * group.params["speed"]
                params = {"flow": flow[rows]}
            index, units = group.index[rows], group.units[rows]
            groups.append(LawGroup(law, index, group.up[rows], group.down[rows], params, units))
    trickle = solve(replace(system, groups=tuple(groups)))
    if not trickle.converged[k]:
        return None
    for j in sorted(lifts):
        branch = compiled.graph.branches[j]
        part = compiled.passage(j, k)
        shut = part.params["heads"][0] * part.params["speed"] ** 2
        need = trickle.heads[branch.down, k] - trickle.heads[branch.up, k]
        if need > shut:
            reason = f"its curve ends at {shut:.3f} m at no flow, and {need:.3f} m are asked for"
            return NoSolution(branch.element, "head", reason, compiled.names[k])
    return None


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
        if abs(leaves - due) <= _EXCHANGE_SHARE * scale:
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
        if branch.law == "given" and role in ("source", "sink"):
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


def _check_lifts(solved: Solved, k: int) -> None:
    """A lift that would carry no water, or carry it backward."""
    compiled = solved.compiled
    scale = solved.state.circulation[k]
    for j, branch in enumerate(compiled.graph.branches):
        if compiled.scenario.elements[branch.element].role != "lift":
            continue
        if solved.flows[j, k] > 1e-9 * scale:
            continue
        need = solved.heads[branch.down, k] - solved.heads[branch.up, k]
        part = compiled.passage(j, k)
        assert isinstance(part, Passage)
        shut = part.params["heads"][0] * part.params["speed"] ** 2 if branch.law == "curve" else 0.0
        reason = (
            f"{need:.3f} m are asked for and its curve ends at {shut:.3f} m: no water moves"
            if branch.law == "curve"
            else "the level that it keeps asks for no flow, or for a flow backward"
        )
        raise NoSolution(branch.element, "flow", reason, compiled.names[k])
