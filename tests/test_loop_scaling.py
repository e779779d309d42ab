"""Sizes that must tell in a solved loop as their meaning says: counts and lengths.

Expected values are ratios; the farms are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from loopplan.errors import NoSolution
from loopplan.loop.solution import Solved
from tests.random_loops import Farm
from tests.random_parts import Amount
from tests.test_loop_properties import SEEDS, check_same, farms, flows, levels, solve

G = 9.80665


def place(farm: Farm, name: str) -> tuple[str, str] | None:
    """Neighbours of an element that stands in one flow path, not at its end."""
    paths = [p for p in farm.paths if name in p]
    if len(paths) != 1 or paths[0].count(name) != 1:
        return None
    i = paths[0].index(name)
    return (paths[0][i - 1], paths[0][i + 1]) if 0 < i < len(paths[0]) - 1 else None


PLAIN_KINDS = ("pipe", "weir", "loss")


def test_two_like_ones_are_a_count_of_two() -> None:
    checked: dict[str, int] = {}
    for farm, _ in farms(SEEDS):
        for name, fields in farm.elements.items():
            kind, at = fields["kind"], place(farm, name)
            if kind not in PLAIN_KINDS or at is None or "count" in fields:
                continue
            if checked.get(kind, 0) >= 2:
                continue
            twins = replace(
                farm,
                elements={**farm.elements, "twin": fields},
                paths=[*farm.paths, [at[0], "twin", at[1]]],
            )
            try:
                one, two = solve(farm.with_(name, count=2)), solve(twins)
            except NoSolution:
                continue
            checked[kind] = checked.get(kind, 0) + 1
            check_same(levels(two), levels(one), 1e-8)
            share = flows(one)[name, 0]
            assert flows(two)["twin", 0] == pytest.approx(0.5 * share, rel=0, abs=1e-8)
            assert flows(two)[name, 0] == pytest.approx(0.5 * share, rel=0, abs=1e-8)
            break
    assert checked == dict.fromkeys(PLAIN_KINDS, 2)


def friction(solved: Solved, name: str) -> float:
    """Friction loss of a pipe [m]: its whole loss less its local losses."""
    graph = solved.compiled.graph
    (j,) = [j for j, b in enumerate(graph.branches) if b.element == name]
    part = solved.compiled.passage(j, 0)
    speed = solved.flows[j, 0] / part.units / (math.pi / 4.0 * part.params["diameter"] ** 2)
    whole = solved.heads[graph.branches[j].up, 0] - solved.heads[graph.branches[j].down, 0]
    return float(whole - part.params["k"] * speed * abs(speed) / (2.0 * G))


def test_twice_the_pipe_is_twice_the_friction_at_the_same_flow() -> None:
    checked = 0
    for farm, solved in farms(SEEDS):
        for name, fields in farm.elements.items():
            if fields["kind"] != "pipe" or friction(solved, name) < 1e-3:
                continue
            try:
                double = solve(farm.with_(name, length=Amount(2.0 * fields["length"].value, "m")))
            except NoSolution:
                continue
            if flows(double)[name, 0] * double.state.circulation != pytest.approx(
                flows(solved)[name, 0] * solved.state.circulation, rel=1e-10
            ):
                continue  # Lifts with a curve and other ways give way to it.
            checked += 1
            assert friction(double, name) == pytest.approx(2.0 * friction(solved, name), rel=1e-6)
            break
        if checked >= 12:
            break
    assert checked >= 8
