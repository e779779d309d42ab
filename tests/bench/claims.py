"""What is claimed of speed and memory, and how each claim is measured.

Every claim is a ratio against a baseline of the same run, so that it holds on slow machines too,
or a count that no machine changes.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from statistics import median
from typing import Any

from tests.readme_blocks import ROOT

ROUNDS = 7

BASE = "import numpy, scipy.sparse, networkx, pydantic, rich.table"
BUDGET = "import sys; from loopplan.cli import main; sys.exit(main(['budget', 'trout-channel']))"

ONE_THREAD = {f"{name}_NUM_THREADS": "1" for name in ("OMP", "OPENBLAS", "MKL")}


@dataclass(frozen=True)
class Claim:
    """A claim: what it says, the limit, where CI fails, and how it is measured."""

    key: str
    words: str
    limit: float
    gate: float
    unit: str
    least: bool
    measure: Callable[[], float]

    def holds(self, value: float, limit: float) -> bool:
        """Whether a value meets a limit of this claim."""
        return value >= limit if self.least else value <= limit


_ENVIRONMENT = {**os.environ, **ONE_THREAD, "PYTHONUTF8": "1"}
# As on a user's machine: compiled modules are kept from the first start on.
_ENVIRONMENT.pop("PYTHONDONTWRITEBYTECODE", None)


def child(*words: str) -> subprocess.CompletedProcess[str]:
    """Run Python on one thread from the top folder."""
    done = subprocess.run(
        [sys.executable, *words],
        capture_output=True,
        check=False,
        cwd=ROOT,
        encoding="utf-8",
        env=_ENVIRONMENT,
        stdin=subprocess.DEVNULL,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    return done


@cache
def measured(*words: str) -> dict[str, Any]:
    """Return what a measurement printed; each is made once in a run."""
    found: dict[str, Any] = json.loads(child("-m", "tests.bench.measure", *words).stdout)
    return found


def speed(name: str) -> float:
    """How many times faster our solve is than the general root finder [-]."""
    found = measured(name)
    assert all(found["found"].values()), "a contender did not converge: there is nothing to compare"
    assert found["differ"] < 1e-6, "the contenders disagree"
    return median(found["general"]) / median(found["ours"])


def exponent() -> float:
    """Exponent of solve time with levels, from the smallest to the largest works [-]."""
    rows = measured("growth")["rows"]
    assert all(row["converged"] for row in rows)
    first, last = rows[0], rows[-1]
    times = median(last["solve"]) / median(first["solve"])
    return math.log(times) / math.log(last["levels"] / first["levels"])


def iterations() -> float:
    """Most iterations at any size [-]."""
    return float(max(row["iterations"] for row in measured("growth")["rows"]))


def memory(what: str) -> float:
    """Peak memory of a process of its own [MB]."""
    return float(measured("peak", what)["bytes"]) / 1e6


@cache
def starts() -> dict[str, float]:
    """Median seconds of importing the libraries, and of a whole budget, interleaved."""
    codes = {"libraries": BASE, "budget": BUDGET}
    seconds: dict[str, list[float]] = {name: [] for name in codes}
    for code in codes.values():
        child("-c", code)
    for _ in range(ROUNDS):
        for name, code in codes.items():
            start = time.perf_counter()
            child("-c", code)
            seconds[name].append(time.perf_counter() - start)
    return {name: median(times) for name, times in seconds.items()}


def start_up() -> float:
    """Whole budget over importing the libraries alone [-]."""
    found = starts()
    return found["budget"] / found["libraries"]


_GENERAL = "`scipy.optimize.root` with analytic Jacobian"

CLAIMS = (
    Claim(
        "solve-trout",
        f"trout-channel, one state: a cold solve against {_GENERAL}, no slower",
        1.0,
        0.5,
        "times",
        True,
        lambda: speed("trout"),
    ),
    Claim(
        "solve-net",
        f"meshed net of pipes, 200 levels and 171 loops: faster than {_GENERAL}",
        40.0,
        20.0,
        "times",
        True,
        lambda: speed("net"),
    ),
    Claim(
        "solve-200",
        f"works of 200 levels, rings with channels: faster than {_GENERAL}",
        1.5,
        0.75,
        "times",
        True,
        lambda: speed("200"),
    ),
    Claim(
        "solve-800",
        f"works of 800 levels: faster than {_GENERAL}",
        50.0,
        25.0,
        "times",
        True,
        lambda: speed("800"),
    ),
    Claim(
        "growth",
        "works from 1,000 to 5,000 levels: solve time grows with levels to the power",
        # Half of the claim: twice the time.
        1.2,
        1.2 + math.log(2.0, 5.0),
        "",
        False,
        exponent,
    ),
    Claim(
        "iterations",
        "works of 1,000, 2,000 and 5,000 levels: iterations",
        25.0,
        25.0,
        "",
        False,
        iterations,
    ),
    Claim(
        "memory-trout",
        "budget of trout-channel: peak memory",
        250.0,
        250.0,
        "MB",
        False,
        lambda: memory("budget"),
    ),
    Claim(
        "memory-works",
        "works of 5,000 levels, compiled and solved: peak memory",
        1000.0,
        1000.0,
        "MB",
        False,
        lambda: memory("works"),
    ),
    Claim(
        "start-up",
        "`loopplan budget trout-channel` from start to end, over importing its libraries alone",
        2.5,
        5.0,
        "times",
        False,
        start_up,
    ),
)
