"""Invented farms by the hundred, solved from cold: they converge, close, and never crash."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest

from loopplan.errors import NoSolution
from loopplan.loop.solution import Solved, prepare, solve_scenario
from loopplan.loop.solve import solve
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget_of
from tests.random_loops import random_farm

FEW, ALL = 200, 2000
SOON, SHARE_SOON, SHARE = 60, 0.995, 0.998
"""Share of feasible farms that converge within 60 iterations, and with all that are allowed."""


@dataclass
class Tally:
    """What became of the farms of some seeds."""

    solved: list[int]
    soon: list[int]
    unsolved: list[int]

    def holds(self) -> None:
        """Check the shares."""
        count = len(self.solved) + len(self.unsolved)
        assert len(self.solved) >= SHARE * count, self.unsolved
        assert len(self.soon) >= SHARE_SOON * count, sorted(set(self.solved) - set(self.soon))


def run(seeds: range) -> Tally:
    """Solve farms from cold and check each solution; only a NoSolution may be raised."""
    tally = Tally([], [], [])
    for seed in seeds:
        scenario = read(random_farm(seed).text().encode())
        compiled = prepare(scenario)
        state = solve(compiled.system)
        if not state.converged.all():
            try:
                # A state that gets lost in company is tried alone.
                solve_scenario(scenario)
                tally.solved.append(seed)
            except NoSolution as error:
                assert error.element in scenario.elements
                tally.unsolved.append(seed)
            continue
        tally.solved.append(seed)
        if state.iterations.max() <= SOON:
            tally.soon.append(seed)
        assert np.isfinite(state.heads[:-1]).all()
        assert np.isfinite(state.flows).all()
        assert state.balance.max() <= 1e-9
        assert state.laws[0].max() <= 1e-7
        assert state.laws[1].max() <= 1e-9
        rows_agree(Solved(compiled, state), seed)
    return tally


def rows_agree(solved: Solved, seed: int) -> None:
    """Every row, worked again by its scalar law, agrees to 0.1 mm (channels to 0.5 mm)."""
    for state in budget_of(solved).states:
        for row in state.rows:
            allowed = 5e-4 if row.law == "channel" else 1e-4
            assert abs(row.mismatch) <= allowed, (seed, state.name, row.name, row.mismatch)


def test_a_seeded_few_converge_and_close() -> None:
    run(range(FEW)).holds()


@pytest.mark.slow
def test_all_converge_and_close() -> None:
    run(range(ALL)).holds()


def test_farms_are_not_only_series() -> None:
    """The generator makes what the trade builds: splits, merges, channels, drowned sills."""
    kinds: dict[str, int] = {}
    splits = 0
    for seed in range(60):
        farm = random_farm(seed)
        for fields in farm.elements.values():
            kinds[fields["kind"]] = kinds.get(fields["kind"], 0) + 1
        after: dict[str, set[str]] = {}
        for path in farm.paths:
            for a, b in pairwise(path):
                after.setdefault(a, set()).add(b)
        splits += any(len(names) > 1 for names in after.values())
    assert splits > 45
    assert {"weir", "channel", "pipe", "opening", "lift", "round tank"} <= set(kinds)
