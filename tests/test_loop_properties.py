"""What every solved loop must obey, whatever it is made of: properties over invented farms.

Expected values are balances and invariances; nothing is compared with an earlier run.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from random import Random
from typing import Any

import numpy as np
import pytest

from loopplan.errors import NoSolution
from loopplan.loop.cycles import cycle_basis
from loopplan.loop.solution import Solved, solve_scenario
from loopplan.scenario.reader import read
from loopplan.studies.recheck import again
from tests.random_loops import Farm, random_farm
from tests.random_parts import SMALL, Amount

SEEDS = range(50)
FEW = range(25)
SKIPPED = 0.02
SAME = 1e-9
CUT_OFF = 1e-9
"""Share of the circulation below which a basin is cut off: nothing fixes its level then."""


def solve(farm: Farm, **units: Any) -> Solved:
    return solve_scenario(read(farm.text(**units).encode(), "invented.yaml"))


@cache
def invented(seed: int) -> tuple[Farm, Solved | None]:
    farm = random_farm(seed)
    try:
        return farm, solve(farm)
    except NoSolution:
        return farm, None


def farms(seeds: range) -> Iterator[tuple[Farm, Solved]]:
    for seed in seeds:
        farm, solved = invented(seed)
        if solved is not None:
            yield farm, solved


def test_few_farms_are_left_out() -> None:
    left_out = [seed for seed in SEEDS if invented(seed)[1] is None]
    assert len(left_out) <= SKIPPED * len(SEEDS), left_out


Numbers = dict[Any, np.ndarray]


def levels(solved: Solved, name: Callable[[str], str] = str) -> Numbers:
    """Heads of all basins that water runs through, by name; not a number where none does."""
    graph, moves = solved.compiled.graph, np.zeros_like(solved.heads)
    for j, branch in enumerate(graph.branches):
        for node in (branch.up, branch.down):
            moves[node] = np.maximum(moves[node], np.abs(solved.flows[j]))
    known = moves > CUT_OFF * solved.state.circulation
    return {
        name(n.basin[0]): np.where(known[i], solved.heads[i], np.nan)
        for i, n in enumerate(graph.nodes)
        if n.basin is not None
    }


def flows(solved: Solved, name: Callable[[str], str] = str) -> Numbers:
    """Flows of all passages, by element and part, as shares of the circulation."""
    return {
        (name(b.element), b.part): solved.flows[j] / solved.state.circulation
        for j, b in enumerate(solved.compiled.graph.branches)
    }


def has_channel(farm: Farm) -> bool:
    return "channel" in {fields["kind"] for fields in farm.elements.values()}


def check_same(found: Numbers, due: Numbers, within: float = SAME) -> None:
    assert found.keys() == due.keys()
    for name, value in due.items():
        assert found[name] == pytest.approx(value, rel=0.0, abs=within, nan_ok=True), name


def test_water_balances_at_every_level() -> None:
    for _, solved in farms(SEEDS):
        total = np.zeros_like(solved.heads)
        for j, branch in enumerate(solved.compiled.graph.branches):
            total[branch.up] -= solved.flows[j]
            total[branch.down] += solved.flows[j]
        leaves = np.where(solved.compiled.system.outside[:-1, None], total[:-1], 0.0)
        assert np.abs(total[:-1] - leaves).max() <= SAME * solved.state.circulation.max()
        # What crosses to the outside over levels is what the outside has lost.
        assert leaves.sum(axis=0) + total[-1] == pytest.approx(0.0, abs=1e-12 + SAME)


def test_heads_close_round_every_loop() -> None:
    loops = 0
    for _, solved in farms(SEEDS):
        compiled = solved.compiled
        for cycle in cycle_basis(compiled.graph):
            laws = {compiled.graph.branches[j].law for j, _ in cycle}
            if "given" in laws or set(compiled.system.free) & {j for j, _ in cycle}:
                continue
            for k in range(len(compiled.names)):
                dry = CUT_OFF * solved.state.circulation[k]
                if any(abs(solved.flows[j, k]) <= dry for j, _ in cycle):
                    continue  # What is dry hands no head on: see test_dry_passages.
                loops += 1
                total = sum(sign * lost(solved, j, k) for j, sign in cycle)
                assert total == pytest.approx(0.0, abs=1e-3 if "channel" in laws else 1e-6)
    assert loops > 80


def lost(solved: Solved, j: int, k: int) -> float:
    """Head lost in a passage by its separate scalar law, from its flow and the head below."""
    branch, part = solved.compiled.graph.branches[j], solved.compiled.passage(j, k)
    down, up = float(solved.heads[branch.down, k]), float(solved.heads[branch.up, k])
    return (
        again(part.law, part.params, float(solved.flows[j, k]) / part.units, down, up).head_up
        - down
    )


def check_twins(twin: Callable[[Farm], Solved], shift: float = 0.0) -> None:
    left_out = 0
    for farm, solved in farms(FEW):
        try:
            other = twin(farm)
        except NoSolution:
            left_out += 1
            continue
        check_same(levels(other), {name: h + shift for name, h in levels(solved).items()})
        check_same(flows(other), flows(solved))
    assert left_out <= math.ceil(SKIPPED * len(FEW))


def test_units_of_the_file_do_not_matter() -> None:
    check_twins(lambda farm: solve(farm, units=SMALL))


def check_order(seed: int) -> None:
    farm, solved = invented(seed)
    if solved is None:
        return
    r = Random(seed)
    names = r.sample(list(farm.elements), len(farm.elements))
    alias = {name: f"p{i}" for i, name in enumerate(r.sample(names, len(names)))}

    def renamed(value: Any) -> Any:
        if isinstance(value, list):
            return [alias[v] for v in value]
        return alias.get(value, value) if isinstance(value, str) else value

    shuffled = Farm(
        {alias[name]: farm.elements[name] for name in names},
        [renamed(path) for path in r.sample(farm.paths, len(farm.paths))],
        [{key: renamed(v) for key, v in entry.items()} for entry in reversed(farm.levels)],
        farm.states,
    )
    other = solve(shuffled)
    check_same(levels(other), levels(solved, alias.__getitem__))
    check_same(flows(other), flows(solved, alias.__getitem__))


WITH, WITHOUT = ([s for s in SEEDS if has_channel(random_farm(s)) is has] for has in (True, False))
WAYS = [pytest.param(WITHOUT, id="no channel"), pytest.param(WITH, id="channels")]


@pytest.mark.parametrize("seeds", WAYS)
def test_names_and_order_do_not_matter(seeds: list[int]) -> None:
    for seed in seeds:
        check_order(seed)


LEVELS = {"floor", "wall top", "crest", "invert", "floor up", "floor down", "level"}


def raised(fields: Any, by: float) -> Any:
    """Fields with all levels of a farm raised, those of its parts as well."""
    if isinstance(fields, list):
        return [raised(entry, by) for entry in fields]
    if not isinstance(fields, dict):
        return fields
    return {
        key: Amount(value.value + by, value.unit)
        if key in LEVELS and isinstance(value, Amount)
        else raised(value, by)
        for key, value in fields.items()
    }


def test_datum_does_not_matter() -> None:
    def higher(farm: Farm) -> Solved:
        parts, closures = raised(farm.elements, 7.5), raised(farm.levels, 7.5)
        return solve(replace(farm, elements=parts, levels=closures))

    check_twins(higher, 7.5)


@pytest.mark.parametrize("seeds", WAYS)
def test_duty_states_together_are_duty_states_one_by_one(seeds: list[int]) -> None:
    states = {
        "clean": {}, "fouled": {"condition": "fouled"}, "warm": {"temperature": "22 degC"},
        "low": {"flow": "70 %"},
    }  # fmt: skip
    checked = 0
    for seed in seeds:
        farm = random_farm(seed)
        try:
            alone = [solve(replace(farm, states={name: state})) for name, state in states.items()]
        except NoSolution:
            continue
        checked += 1
        together = solve(replace(farm, states=states))
        for numbers in (levels, flows):
            batch = numbers(together)
            for k, one in enumerate(alone):
                check_same({name: x[[k]] for name, x in batch.items()}, numbers(one))
    assert checked >= 0.75 * len(seeds)
