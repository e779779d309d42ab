"""Branches that feel the flow of another one: a Newton step takes all of that into account.

Closed form: along a whole step every residual goes to nothing at one rate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from loopplan.loop.compile import System
from loopplan.loop.newton import Newton
from loopplan.loop.solution import prepare
from loopplan.loop.solve import solve
from loopplan.scenario.reader import read

COUNT = 5


def manifolds(pump: str = "flow: 800 m3/h", kept: str = "", count: int = COUNT) -> System:
    """Pairs of headers that divide over nozzles into a pond, and gather by pipes out of it."""
    jets = [f"jet {i}" for i in range(1, count + 1)]
    pipes = [f"pipe {i}" for i in range(1, count + 1)]
    elements = "\n".join(
        f"  {jet}: {{kind: nozzles, count: 2, number: 1, diameter: 60 mm}}\n"
        f"  {pipe}: {{kind: pipe, count: 2, length: 3 m, diameter: 110 mm}}"
        for jet, pipe in zip(jets, pipes, strict=True)
    )
    paths = "\n".join(
        f"  {jet}: [feed header, {jet}, pond]\n  {pipe}: [pond, {pipe}, drain header]"
        for jet, pipe in zip(jets, pipes, strict=True)
    )
    text = f"""
loopplan: 1
farm: {{name: manifolds}}
water: {{temperature: 12 degC}}
elements:
  head box: {{kind: box, area: 3 m2, floor: -1 m, wall top: 90 m}}
  feed header: {{kind: dividing manifold, count: 2, length: {2 * count} m, diameter: 300 mm,
    branch diameter: 110 mm, spacing: 2 m, places: [{", ".join(jets)}]}}
{elements}
  pond: {{kind: box, area: 30 m2, floor: -2 m, wall top: 90 m}}
  drain header: {{kind: collecting manifold, count: 2, length: {2 * count + 2} m,
    diameter: 300 mm, branch diameter: 110 mm, spacing: 2 m, places: [{", ".join(pipes)}]}}
  sump: {{kind: sump, area: 5 m2, floor: -1 m, wall top: 2 m}}
  pump: {{kind: lift, {pump}}}
flow paths:
  feed: [head box, feed header]
{paths}
  back: [drain header, sump, pump, head box]
levels:
  - {{way: outside level, at: sump, level: 0 m}}
{kept}
duty states: {{clean: {{}}}}
"""
    return prepare(read(text.encode())).system


def channel() -> System:
    """Two like channels with a level floor that divide over sills into a pond."""
    sills = [f"sill {i}" for i in range(1, COUNT + 1)]
    places = ", ".join(f"{name}: {4 * i} m" for i, name in enumerate(sills, 1))
    text = f"""
loopplan: 1
farm: {{name: channel}}
water: {{temperature: 12 degC}}
elements:
  head box: {{kind: box, area: 3 m2, floor: 0 m, wall top: 3 m}}
  run: {{kind: dividing channel, count: 2, length: 20 m, width: 0.8 m, floor up: 0.5 m,
    floor down: 0.5 m, wall top: 3 m, places: {{{places}}}}}
{chr(10).join(f"  {n}: {{kind: weir, count: 2, crest: 1.2 m, width: 1 m}}" for n in sills)}
  pond: {{kind: box, area: 5 m2, floor: -1 m, wall top: 2 m}}
  pump: {{kind: lift, flow: 2000 m3/h}}
flow paths:
  feed: [head box, run]
{chr(10).join(f"  {n}: [run, {n}, pond]" for n in sills)}
  back: [pond, pump, head box]
levels:
  - {{way: outside level, at: pond, level: 0 m}}
duty states: {{clean: {{}}}}
"""
    return prepare(read(text.encode())).system


def with_a_stop() -> System:
    """Manifolds whose dividing header has its first branch and third reach out of service."""
    system = manifolds()
    closed = np.zeros((system.branches, system.variants), dtype=bool)
    branch = next(int(g.index[0]) for g in system.groups if g.law == "tee")
    closed[[2, branch]] = True
    assert any(g.beside is not None and 2 in g.beside for g in system.groups)
    return replace(system, closed=closed)


def beside_a_lift() -> System:
    """Manifolds whose tees all feel the flow of a lift that keeps a level."""
    system = manifolds("", "  - {way: kept level, at: head box, level: 8 m, by: pump}")
    (lift,) = system.free
    groups = [
        replace(g, beside=np.full_like(g.beside, lift))
        if g.law == "tee" and g.beside is not None
        else g
        for g in system.groups
    ]
    return replace(system, groups=tuple(groups))


CASES: dict[str, Callable[[], System]] = {
    "manifolds": manifolds,
    "channel": channel,
    "stopped": with_a_stop,
    "beside a lift": beside_a_lift,
}


@pytest.mark.parametrize("name", sorted(CASES))
def test_all_residuals_fall_at_one_rate_along_a_step(name: str) -> None:
    system = CASES[name]()
    near = solve(system)
    rng = np.random.default_rng(4)
    q = near.flows + 1e-4 * rng.standard_normal(near.flows.shape)
    h = near.heads + 1e-3 * rng.standard_normal(near.heads.shape) * ~system.fixed[:, None]
    newton = Newton(system)
    exchange = np.zeros((0, system.variants))
    local = newton.laws(q, h)
    step = newton.eliminate(local, q, h, exchange)
    dh, dq, _ = newton.correct(step, local.g, q, h, exchange)
    part = 1e-4
    fall = (newton.laws(q + part * dq, h + part * dh).g - local.g) / part
    law = np.setdiff1d(np.arange(system.branches), system.free)
    size = np.abs(local.g).max()
    assert size > 1e-4
    assert fall[law] == pytest.approx(-local.g[law], abs=2e-3 * size)
    assert np.abs(newton.balance(q, exchange)[newton.rows]).max() > 1e-5
    assert np.abs(newton.balance(q + dq, exchange)[newton.rows]).max() <= 1e-9


@pytest.mark.parametrize("count", [2, 8, 16, 24])
def test_long_headers_take_few_iterations(count: int) -> None:
    state = solve(manifolds(count=count))
    assert state.converged.all()
    assert state.iterations.max() <= 15
