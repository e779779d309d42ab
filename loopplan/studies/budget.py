"""The budget study: the loop solved in every duty state, and where each centimetre goes."""

from __future__ import annotations

from loopplan.declare import Basin, Seen
from loopplan.findings import Finding, worst_first
from loopplan.loop.solution import Solved, solve_scenario
from loopplan.scenario.models import Scenario
from loopplan.sources import SOURCES
from loopplan.studies.closing import cycle_residual
from loopplan.studies.cures import share_cures
from loopplan.studies.duty_judge import judge_states, judge_swing
from loopplan.studies.judge import judge, merge_states
from loopplan.studies.judge_standing import judge_standing
from loopplan.studies.lifts import lift_results
from loopplan.studies.poweroff import power_off
from loopplan.studies.poweroff_judge import judge_power_off
from loopplan.studies.recheck import Again, again
from loopplan.studies.results import (
    BudgetResult,
    LevelRow,
    Residuals,
    Row,
    SheetLine,
    StateResult,
)
from loopplan.studies.route import parts_passed
from loopplan.studies.share_judge import judge_shares
from loopplan.studies.shares import share_sets
from loopplan.studies.sheet import sheet_line
from loopplan.studies.swing import sump_swings
from loopplan.studies.water import water_balance

_TWO_G = 2.0 * 9.80665
_STILL = 1e-8
"""Share of circulation below which a branch counts as still water."""


def budget(scenario: Scenario) -> BudgetResult:
    """Solve a scenario in all its duty states and budget its head.

    Raises :class:`loopplan.errors.Refused` and :class:`loopplan.errors.NoSolution`.
    """
    return budget_of(solve_scenario(scenario))


def budget_of(solved: Solved) -> BudgetResult:
    """Budget the head of a solved scenario."""
    compiled = solved.compiled
    scenario = compiled.scenario
    states, seen, sheet = [], [], []
    for k in range(len(compiled.names)):
        state, views, lines = _State(solved, k).result()
        states.append(state)
        seen += views
        sheet += lines
    lifts = lift_results(solved, states)
    findings: list[Finding] = []
    for view in seen:
        findings += scenario.elements[view.element].checks(view, scenario.limits)
    findings += judge(solved, states, lifts)
    findings += judge_states(solved)
    swings = sump_swings(solved)
    for swing in swings:
        findings += judge_swing(swing, states)
    power = power_off(solved)
    if power is not None:
        findings += judge_power_off(solved, power, states)
    shares = share_sets(solved)
    cures = share_cures(solved, shares)
    findings += judge_standing(compiled, seen)
    findings += judge_shares(compiled, shares, cures)
    used = {key for line in sheet for key in line.sources}
    return BudgetResult(
        scenario.farm.name,
        scenario.farm.note,
        scenario.document.name,
        tuple(states),
        tuple(lifts),
        tuple(worst_first(merge_states(findings))),
        scenario.assumed,
        tuple((key, SOURCES[key].text) for key in sorted(used)),
        tuple(sheet),
        shares=shares,
        cures=cures,
        power_off=power,
        swings=swings,
    )


class _State:
    """One duty state of a solved scenario."""

    def __init__(self, solved: Solved, k: int) -> None:
        self.solved, self.k = solved, k
        self.compiled = solved.compiled
        self.scenario = solved.compiled.scenario
        self.heads = solved.heads[:, k]
        self.flows = solved.flows[:, k]
        self.branch_of = {
            (b.element, b.part): j for j, b in enumerate(self.compiled.graph.branches)
        }
        self.worked = [self._work(j) for j in range(len(self.compiled.graph.branches))]

    def _work(self, j: int) -> Again | None:
        """The scalar law of a branch, from its printed flow; None where the flow is given."""
        branch = self.compiled.graph.branches[j]
        free = j in self.compiled.system.free
        closed, outside = self.compiled.is_closed(j, self.k), self.compiled.system.nodes
        if closed and outside in (branch.up, branch.down):
            return None
        if (branch.law == "given" or free) and not closed:
            return None
        part = self.compiled.passage(j, self.k)
        flow = float(self.flows[j]) / part.units
        params = part.params
        if branch.beside is not None:
            main = self.branch_of[branch.element, branch.beside]
            params = {**params, "main": float(self.flows[main]) / part.units}
        up, down = float(self.heads[branch.up]), float(self.heads[branch.down])
        if self._is_still(j):
            # No law ties the two heads there.
            return Again(up, local=up - down)
        return again(branch.law, params, flow, down, up)

    def result(self) -> tuple[StateResult, list[Seen], list[SheetLine]]:
        """Rows, levels, water balance and residuals; views for the checks; the sheet."""
        rows: list[Row] = []
        for path, names in self.scenario.paths.items():
            rows += self._path(path, names)
        state = self.scenario.states[self.k]
        reached = self.solved.state
        levels = self._levels()
        balance = water_balance(self.solved, self.k, levels)
        residuals = Residuals(
            float(reached.balance[self.k]),
            float(reached.laws[0, self.k]),
            float(reached.laws[1, self.k]),
            cycle_residual(self.compiled, self.heads, self.worked),
            max((abs(r.mismatch) for r in rows), default=0.0),
            int(reached.iterations[self.k]),
        )
        result = StateResult(
            state.name,
            "fouled" if state.conditions.fouled else "clean",
            state.conditions.temperature,
            tuple(rows),
            tuple(levels),
            balance,
            residuals,
        )
        return result, self._seen(), self._sheet(rows)

    def _path(self, path: str, names: tuple[str, ...]) -> list[Row]:
        rows: list[Row] = []
        # A loop closes on its first element: its parts are not told twice.
        told = names[:-1] if len(names) > 1 and names[-1] == names[0] else names
        for place, name in enumerate(told):
            before = names[place - 1] if place else names[-2] if len(told) < len(names) else None
            after = names[place + 1] if place + 1 < len(names) else None
            element, parts = self.scenario.elements[name], self.compiled.parts[self.k][name]
            for index in parts_passed(element, parts, before, after):
                rows.append(self._row(path, self.branch_of[name, index]))
        total = sum(r.loss for r in rows if r.loss > 0.0 and not (r.bypass or r.shut))
        running = 0.0
        done = []
        for row in rows:
            counts = 0.0 if row.bypass or row.shut else row.loss
            running += counts
            share = counts / total if total > 0.0 and counts > 0.0 else 0.0
            done.append(Row(**{**row.__dict__, "share": share, "running": running}))
        return done

    def _row(self, path: str, j: int) -> Row:
        graph = self.compiled.graph
        branch = graph.branches[j]
        element = self.scenario.elements[branch.element]
        part = self.compiled.passage(j, self.k)
        up, down = float(self.heads[branch.up]), float(self.heads[branch.down])
        worked = self.worked[j]
        outer = branch.up == self.compiled.system.nodes, branch.down == self.compiled.system.nodes
        if outer[0]:
            up = down
        if worked is None:
            if outer[1]:
                down = up
            law = "free" if j in self.compiled.system.free else "given"
            gain = up - down
            is_lift = element.role == "lift"
            worked = Again(up, device=gain if is_lift else 0.0, local=0.0 if is_lift else gain)
        else:
            law = branch.law
            if outer[1]:
                # What leaves over a sill is lost to the farm from its crest on.
                down = min(up, float(part.params.get("crest", up)))
                worked = Again(worked.head_up, fall=worked.head_up - down)
        return Row(
            path,
            branch.element,
            part.name,
            element.kind,
            law,
            float(self.flows[j]),
            part.units,
            up,
            down,
            self._level(branch.up, up, worked.velocity_up),
            self._level(branch.down, down, worked.velocity_down),
            worked.velocity,
            worked.head_up - down,
            worked.friction,
            worked.local,
            worked.fall,
            worked.device,
            min(part.useful, max(worked.head_up - down, 0.0)),
            0.0,
            0.0,
            worked.head_up - up,
            part.span is not None and part.beside is None,
            self.compiled.is_closed(j, self.k),
        )

    def _is_still(self, j: int) -> bool:
        """Whether so little runs through a branch that the solver tells it from none."""
        return abs(float(self.flows[j])) <= _STILL * float(self.solved.state.circulation[self.k])

    def _level(self, node: int, head: float, speed: float | None) -> float:
        """A basin's head is its level; at a junction the velocity head comes off."""
        nodes = self.compiled.graph.nodes
        if nodes[node].basin is not None or speed is None:
            return head
        return head - speed**2 / _TWO_G

    def _levels(self) -> list[LevelRow]:
        rows = []
        graph = self.compiled.graph
        for i, node in enumerate(graph.nodes):
            basin = self.compiled.basin(i, self.k)
            if basin is None or node.basin is None:
                continue
            name = node.basin[0]
            element = self.scenario.elements[name]
            level = float(self.heads[i])
            walled = element.role != "water"
            area = basin.area * basin.units
            volume = area * max(level - basin.floor, 0.0)
            through = sum(
                abs(float(q)) for b, q in zip(graph.branches, self.flows, strict=True) if b.up == i
            )
            fish = bool(getattr(element, "fish", False))
            rows.append(
                LevelRow(
                    name,
                    element.kind,
                    basin.units,
                    basin.floor,
                    level,
                    basin.wall_top if walled else None,
                    basin.wall_top - level if walled else None,
                    level - basin.floor if walled else None,
                    area,
                    volume,
                    volume / through / 60.0 if fish and through > 0.0 else None,
                    self.compiled.is_isolated(i, self.k),
                )
            )
        return rows

    def _inflows(self) -> list[float]:
        """What flows into each level from all its passages [m3/s]."""
        into = [0.0] * len(self.compiled.graph.nodes)
        for branch, flow in zip(self.compiled.graph.branches, self.flows, strict=True):
            into[branch.down if flow > 0.0 else branch.up] += abs(float(flow))
        return into

    def _seen(self) -> list[Seen]:
        """One view of each part, for the checks of its kind."""
        views = []
        graph = self.compiled.graph
        into = self._inflows()
        name = self.compiled.names[self.k]
        for i, node in enumerate(graph.nodes):
            if node.basin is None or self.compiled.is_isolated(i, self.k):
                continue
            part = self.compiled.parts[self.k][node.basin[0]][node.basin[1]]
            assert isinstance(part, Basin)
            level = float(self.heads[i])
            views.append(Seen(node.basin[0], name, part, into[i], level, level, level, level, None))
        for j, branch in enumerate(graph.branches):
            if self.compiled.is_closed(j, self.k):
                continue
            row = self._row("", j)
            worked = self.worked[j]
            views.append(
                Seen(
                    branch.element,
                    name,
                    self.compiled.passage(j, self.k),
                    row.flow,
                    row.head_before,
                    row.head_after,
                    row.level_before,
                    row.level_after,
                    row.velocity,
                    (worked.extra if worked else None) or {},
                )
            )
        return views

    def _sheet(self, rows: list[Row]) -> list[SheetLine]:
        lines = []
        done: set[tuple[str, str]] = set()
        for row in rows:
            if (row.element, row.part) in done:
                continue
            done.add((row.element, row.part))
            j = next(
                j
                for (name, _), j in self.branch_of.items()
                if name == row.element and self.compiled.passage(j, self.k).name == row.part
            )
            lines.append(
                sheet_line(self.compiled.names[self.k], row, self.compiled.passage(j, self.k))
            )
        return lines
