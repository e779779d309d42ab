"""What is timed, each in a process of its own: `python -m tests.bench.measure NAME` prints JSON.

Seconds of the processor's clock, rounds of all contenders interleaved. Nothing is judged here.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from loopplan.loop.compile import System, compile_scenario
from loopplan.loop.solve import solve
from loopplan.loop.structure import check_structure
from loopplan.scenario.models import Scenario
from loopplan.scenario.reader import read
from loopplan.shipped import scenario_path
from tests.bench.net import net
from tests.bench.works import works

ROUNDS = 5
GROWTH = (1000, 2000, 5000)
"""Levels of the works that growth is measured on."""


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Return seconds and what came out."""
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def first_state(scenario: Scenario) -> System:
    """Return a scenario in its first duty state as arrays."""
    return compile_scenario(replace(scenario, states=scenario.states[:1])).system


def against_general(system: System) -> dict[str, Any]:
    """Time our cold solve and the general root finder on a system of one duty state."""
    # Not at the top: scipy.optimize would count in the peak memory of the budget.
    from tests.bench.baseline import General

    ours: list[float] = []
    general: list[float] = []
    solve(system)
    for _ in range(ROUNDS):
        # One of our solves is so short that a single stop of the machine would count.
        seconds, state = timed(lambda: [solve(system) for _ in range(5)][-1])
        ours.append(seconds / 5)
        seconds, (q, h, found) = timed(lambda: General(system).solve())
        general.append(seconds)
    agree = max(np.abs(q - state.flows).max(), np.abs(h - state.heads).max())
    return {
        "levels": system.nodes,
        "unknowns": system.nodes + system.branches,
        "ours": ours,
        "general": general,
        "found": {"ours": bool(state.converged.all()), "general": found},
        "differ": float(agree),
    }


def growth() -> dict[str, Any]:
    """Time the solve of works of growing size; reading them into arrays is timed apart."""
    made: dict[int, Any] = {}
    rows: list[dict[str, Any]] = []
    for levels in GROWTH:
        scenario = works(levels)
        seconds, compiled = timed(partial(compile_scenario, scenario))
        structure, _ = timed(partial(check_structure, compiled))
        made[levels] = compiled.system
        rows.append(
            {
                "levels": compiled.system.nodes,
                "branches": compiled.system.branches,
                "compile": seconds,
                "structure": structure,
                "solve": [],
            }
        )
        solve(compiled.system)
    for _ in range(ROUNDS):
        for row, system in zip(rows, made.values(), strict=True):
            seconds, state = timed(partial(solve, system))
            row["solve"].append(seconds)
            row["iterations"] = int(state.iterations.max())
            row["converged"] = bool(state.converged.all())
    return {"rows": rows}


def peak() -> dict[str, Any]:
    """Return the peak memory of a budget, or of large works: the second word says of which."""
    what = sys.argv[2]
    if what == "budget":
        from loopplan.studies.budget import budget

        budget(read(scenario_path("trout-channel")))
    else:
        compiled = compile_scenario(works(GROWTH[-1]))
        check_structure(compiled)
        assert solve(compiled.system).converged.all()
    return {"bytes": peak_memory()}


def peak_memory() -> int:
    """Most memory that this process has held [bytes]."""
    status = Path("/proc/self/status")
    if status.exists():
        # What resource.getrusage tells counts a parent's memory too, up to the start.
        for line in status.read_text(encoding="ascii").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) * 1024
    import resource

    size = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return size if sys.platform == "darwin" else size * 1024


MEASURES: dict[str, Callable[[], dict[str, Any]]] = {
    "trout": lambda: against_general(first_state(read(scenario_path("trout-channel")))),
    "net": lambda: against_general(net()),
    "other net": lambda: against_general(net(int(sys.argv[2]))),
    "200": lambda: against_general(first_state(works(200))),
    "800": lambda: against_general(first_state(works(800))),
    "growth": growth,
    "peak": peak,
}

if __name__ == "__main__":
    sys.stdout.write(json.dumps(MEASURES[sys.argv[1]]()) + "\n")
