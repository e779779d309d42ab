"""Loops of the cases, written as scenario files and solved by the package."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from loopplan.loop.solution import solve_scenario
from loopplan.scenario.reader import read
from tests.referee import laws as ref
from tests.referee.solve import walk

HEAD, CHANNEL_HEAD, FLOW = 1e-6, 1e-4, 1e-6
Q = 0.05
BARE = "entrance: none, exit: none"


class Solved:
    """Levels by basin and flows by element of the package's solution."""

    def __init__(self, elements: Mapping[str, str], paths: str, more: str = "") -> None:
        body = "".join(f"  {name}: {{{fields}}}\n" for name, fields in elements.items())
        rows = "".join(f"  {i}: [{way}]\n" for i, way in enumerate(paths.split("; ")))
        text = (
            "loopplan: 1\nfarm: {name: Invented loop}\nwater: {temperature: 12 degC}\n"
            f"elements:\n{body}flow paths:\n{rows}{more}duty states: {{clean: {{}}}}\n"
        )
        scenario = read(text.encode(), "referee.yaml")
        solved = solve_scenario(scenario)
        graph = solved.compiled.graph
        self.viscosity = scenario.states[0].conditions.viscosity
        self.levels = {
            node.basin[0]: float(solved.heads[i, 0])
            for i, node in enumerate(graph.nodes)
            if node.basin is not None
        }
        self.flows = {b.element: float(solved.flows[j, 0]) for j, b in enumerate(graph.branches)}

    def agrees(
        self, levels: Mapping[str, float], flows: Mapping[str, float], head: float = HEAD
    ) -> None:
        assert {n: self.levels[n] for n in levels} == pytest.approx(dict(levels), rel=0, abs=head)
        assert {n: self.flows[n] for n in flows} == pytest.approx(dict(flows), rel=FLOW)


def basin(kind: str = "box") -> str:
    return f"kind: {kind}, area: 3 m2, floor: -3 m, wall top: 9 m"


def outside(level: float) -> str:
    return f"levels: [{{way: outside level, at: sump, level: {level!r} m}}]\n"


def run(length: float, bore: float, k: float) -> str:
    return f"kind: pipe, length: {length!r} m, diameter: {bore!r} m, k: {k!r}, {BARE}"


VISCOSITY = Solved(
    {
        "sump": basin("sump"),
        "a": basin(),
        "p": run(5.0, 0.2, 1.0),
        "lift": "kind: lift, flow: 9 L/s",
    },
    "sump, lift, a, p, sump",
    outside(0.0),
).viscosity
"""Of water at 12 degC [m2/s]: data of both, and checked against its own sources elsewhere."""


def pipe(length: float, bore: float, k: float, units: int = 1) -> ref.Head:
    # 0.03 mm is the package's stated wall of clean plastic pipe.
    return ref.pipe(length, bore, k, 0.03e-3, VISCOSITY, units)


def gravity_run(names: str, elements: Mapping[str, str], lift: str, sump: float) -> Solved:
    """A loop of boxes with one passage after each: names of the passages in flow order."""
    passages = names.split(", ")
    boxes = {f"box {i}": basin() for i in range(len(passages))}
    way = ", ".join(f"box {i}, {name}" for i, name in enumerate(passages))
    parts = {"sump": basin("sump"), **boxes, **elements, "lift": f"kind: lift, {lift}"}
    return Solved(parts, f"{way}, sump, lift, box 0", outside(sump))


def boxes_of(chain: list[ref.Head], q: float, sump: float) -> dict[str, float]:
    return {f"box {i}": head for i, head in enumerate(walk(chain, q, sump))}
