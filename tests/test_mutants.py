"""Mutants of the shipped scenarios: each ends in a solution that closes, a NoSolution or a refusal.

A NoSolution is checked by filling the loop in time (`tests/filling.py`): where levels come to
rest there is a solution, and the solver should have found it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from functools import cache

import numpy as np
import pytest

from loopplan.errors import BadFile, NoSolution
from loopplan.loop.compile import Compiled
from loopplan.loop.solution import prepare, solve_scenario
from loopplan.loop.solve import solve
from loopplan.report.as_csv import budget_csv
from loopplan.report.as_json import budget_json
from loopplan.report.terminal import View, terminal_text
from loopplan.scenario.models import Scenario
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget_of
from loopplan.studies.results import BudgetResult, StateResult
from tests.filling import RESTS, RUNS_AWAY, Filled, fill, one
from tests.mutants import ALL, FOLDER, NAMES, Mutant, mutant

FEW = 100

SOLVED, NO_SOLUTION, REFUSED = "solved", "no solution", "refused"


def seeds(name: str, count: int) -> Sequence[int]:
    return range(NAMES.index(name), count, len(NAMES))


def end(made: Mutant) -> str:
    """How a mutant ends, with all that has to hold at that end."""
    try:
        scenario = read(made.text.encode(), made.name)
        solved = solve_scenario(scenario)
    except BadFile as error:
        says_where(made, error)
        return REFUSED
    except NoSolution as error:
        assert error.element in made.tree["elements"]
        assert error.quantity and error.reason and error.state
        return NO_SOLUTION
    result = budget_of(solved)
    for state in result.states:
        closes(state)
    told = set(absurd(scenario, result)) - {(f.code, f.place) for f in result.findings}
    assert not told, (made.seed, told)
    written(result)
    return SOLVED


def says_where(made: Mutant, error: BadFile) -> None:
    """Each problem points at a line, and at an element of it or at a section."""
    lines = made.text.splitlines()
    assert error.problems
    for problem in error.problems:
        assert problem.file == made.name and problem.cure
        assert 1 <= problem.line <= len(lines)
        section, _, rest = problem.key.partition(": ")
        if section == "elements" and rest:
            assert lines[problem.line - 1].strip().startswith(json.dumps(rest.split(": ")[0]))
        else:
            assert any(name in problem.message for name in made.tree["elements"])


def closes(state: StateResult) -> None:
    """The limits of every solution, as for the shipped scenarios."""
    residuals = state.residuals
    assert residuals.water_balance <= 1e-9
    assert residuals.law_head <= 1e-7
    assert residuals.law_flow <= 1e-9
    assert residuals.head_budget <= 1e-3
    for row in state.rows:
        assert abs(row.mismatch) <= (5e-4 if row.law == "channel" else 1e-4), (state.name, row)


def absurd(scenario: Scenario, result: BudgetResult) -> Iterator[tuple[str, str]]:
    """Findings that results call for, as (code, place), told or not."""
    for state in result.states:
        for level in state.levels:
            if level.isolated:
                continue  # stands where nothing but shut ways leads to
            assert level.volume >= 0.0 and math.isfinite(level.level)
            plate = hasattr(scenario.elements[level.element], "plate")
            if level.freeboard is not None and level.freeboard < 0.0:
                yield ("plate-overtopped" if plate else "level-above-wall"), level.element
            if level.depth is not None and level.depth <= 0.0:
                yield ("plate-uneven" if plate else "basin-dry"), level.element
        for row in state.rows:
            element = scenario.elements[row.element]
            top = getattr(element, "wall_top", None)
            surface = max(row.level_before, row.level_after)
            if row.law == "channel" and top is not None and surface > top:
                yield "channel-overtops", row.element
            if row.flow < -1e-9 * max(1.0, state.balance.circulation):
                yield "reverse-flow", row.element
            if element.role == "lift" and not row.part and row.flow > 0.0 and row.loss > 0.0:
                yield "lift-runs-downhill", row.element
        assert state.balance.circulation > 0.0
        assert state.balance.replacement >= 0.0


def written(result: BudgetResult) -> None:
    """All that is printed can be printed, and no number of it is missing."""
    text = terminal_text(result, View())
    assert "nan" not in text.lower().split()
    json.loads(budget_json(result), parse_constant=_never)
    for table in budget_csv(result).values():
        assert not {"nan", "inf", "-inf"} & set(table.lower().replace("\n", ",").split(","))


def _never(word: str) -> None:
    raise AssertionError(f"the JSON holds {word}")


def areas(compiled: Compiled, variant: int) -> list[float]:
    """Plan area [m2] of each node, zero where it has no basin."""
    found = [compiled.basin(i, variant) for i in range(compiled.system.nodes)]
    return [0.0 if b is None else b.area * b.units for b in found] + [0.0]


def filled(compiled: Compiled, variant: int) -> Filled:
    return fill(one(compiled.system, variant), areas(compiled, variant))


def is_feasible(made: Mutant) -> bool:
    """Whether filling finds a solution in some duty state that the solver did not get to."""
    compiled = prepare(read(made.text.encode(), made.name))
    state = solve(compiled.system)
    # What converges and is no solution moves water that was declared otherwise.
    open_ = np.flatnonzero(~state.converged)
    return any(filled(compiled, int(k)).end == RESTS for k in open_)


def run(name: str, count: int) -> dict[int, str]:
    """Ends of the mutants of one scenario; no feasible one may go unsolved."""
    ends = {seed: end(mutant(seed)) for seed in seeds(name, count)}
    unsolved = [s for s, e in ends.items() if e == NO_SOLUTION and is_feasible(mutant(s))]
    assert not unsolved
    assert sum(e == SOLVED for e in ends.values()) >= 0.5 * len(ends)
    return ends


@pytest.mark.parametrize("name", NAMES)
def test_a_seeded_few_end_well(name: str) -> None:
    run(name, FEW)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_all_end_well(name: str) -> None:
    assert {SOLVED, REFUSED} <= set(run(name, ALL).values())


@cache
def changes() -> list[tuple[str, ...]]:
    return [mutant(seed).changes for seed in range(ALL)]


def test_mutants_follow_from_their_seed() -> None:
    assert [mutant(seed).text for seed in range(20)] == [mutant(seed).text for seed in range(20)]
    assert len({mutant(seed).text for seed in range(ALL)}) > 0.9 * ALL


def test_mutants_are_of_all_kinds_single_and_combined() -> None:
    assert {len(made) for made in changes()} == {1, 2, 3, 4}
    words = [word for made in changes() for word in made]
    for part in (
        " removed",
        ", count ",
        " doubled",
        "place of",
        "floor",
        "crest",
        "flow: ",
        "diameter: ",
    ):
        assert sum(part in word for word in words) >= 20, part


@pytest.mark.parametrize("name", NAMES)
def test_filling_comes_to_the_levels_of_the_solver(name: str) -> None:
    scenario = read(FOLDER / f"{name}.yaml")
    compiled = prepare(scenario)
    state = solve(compiled.system)
    for k in range(2):
        reached = filled(compiled, k)
        assert reached.end == RESTS
        assert reached.heads == pytest.approx(state.heads[:, k], abs=1e-4)
        assert reached.flows == pytest.approx(state.flows[:, k], abs=1e-6)


def test_filling_runs_away_where_more_is_taken_than_comes() -> None:
    made = (FOLDER / "smolt-hall.yaml").read_text(encoding="utf-8")
    made = made.replace("flow: 32 m3/h", "flow: 8 m3/h")
    scenario = read(made.encode())
    assert filled(prepare(scenario), 0).end == RUNS_AWAY
    with pytest.raises(NoSolution, match=r"4\.00 m3/h until it runs dry") as caught:
        solve_scenario(scenario)
    assert caught.value.element == "wash pump"
    assert caught.value.quantity == "water balance"
