"""Random farms with an element out of service are the same farms written without it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loopplan.errors import NoSolution, Refused
from loopplan.loop.solution import Solved, solve_scenario
from loopplan.scenario.reader import read
from tests.random_loops import Farm, random_farm

FEW, MANY = range(9, 14), range(40)
MOST = 3
"""Elements of one farm that are tried."""


def solve(farm: Farm) -> Solved:
    return solve_scenario(read(farm.text(), "farm.yaml"))


def without(farm: Farm, gone: set[str]) -> Farm:
    """The farm with elements taken out of its file; paths break where they stood."""
    paths = []
    for path in farm.paths:
        piece: list[str] = []
        for name in [*path, ""]:
            if name and name not in gone:
                piece.append(name)
                continue
            if len(piece) > 1:
                paths.append(piece)
            piece = []
    elements = {n: f for n, f in farm.elements.items() if n not in gone}
    return replace(farm, elements=elements, paths=paths, states={"clean": {}})


def candidates(farm: Farm) -> list[str]:
    """Lone elements that another of their kind may stand beside."""
    kinds = [f["kind"] for f in farm.elements.values()]
    return [n for n, f in farm.elements.items() if kinds.count(f["kind"]) > 1 and "count" not in f]


def flows(found: Solved, k: int) -> dict[tuple[str, str], float]:
    return {
        (b.element, b.name): float(found.flows[j, k])
        for j, b in enumerate(found.compiled.graph.branches)
    }


@pytest.mark.parametrize(
    ("seeds", "least"), [(FEW, 5), pytest.param(MANY, 30, marks=pytest.mark.slow)]
)
def test_out_of_service_is_not_there(seeds: range, least: int) -> None:
    checked = 0
    for seed in seeds:
        farm = random_farm(seed)
        for name in candidates(farm)[:: max(len(candidates(farm)) // MOST, 1)]:
            states = {"clean": {}, "out": {"out of service": [name]}}
            try:
                found = solve(replace(farm, states=states))
            except (Refused, NoSolution):
                # In series with all else, or too much for what is left.
                continue
            closed = found.compiled.system.closed
            assert closed is not None
            by_element: dict[str, bool] = {}
            for j, b in enumerate(found.compiled.graph.branches):
                by_element[b.element] = by_element.get(b.element, True) and bool(closed[j, 1])
            gone = {n for n, still in by_element.items() if still}
            gone |= {
                n.basin[0]
                for i, n in enumerate(found.compiled.graph.nodes)
                if n.basin and found.compiled.is_isolated(i, 1)
            }
            try:
                alone = solve(without(farm, gone))
            except Refused:
                # What is left of a joint is a way back, which no flow path can be written for.
                continue
            scale = float(found.state.circulation[1])
            both, one = flows(found, 1), flows(alone, 0)
            # Channels take other numbers of steps.
            channels = any("channel" in f["kind"] for f in farm.elements.values())
            within = 1e-3 if channels else 2e-6
            for key, flow in one.items():
                assert both[key] == pytest.approx(flow, abs=within * scale), (seed, name, key)
            assert all(both[key] == 0.0 for key in both.keys() - one.keys())
            assert np.isfinite(found.heads).all()
            checked += 1
    assert checked >= least
