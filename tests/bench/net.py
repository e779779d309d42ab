"""A meshed net of pipes for benchmarks: a grid, water drawn at its levels. Invented.

Built straight as arrays, for there is no element that draws a given flow from anywhere. Sizes and
draws are fixed pseudo-random numbers, so that no two flows are equal.
"""

from __future__ import annotations

import numpy as np

from loopplan.laws import Array
from loopplan.loop.compile import Ints, LawGroup, System

ROWS, COLUMNS = 10, 20
LEVELS = ROWS * COLUMNS
"""Levels of the net; the first is given, an outside level."""

LOOPS = (ROWS - 1) * (COLUMNS - 1)
"""Loops of the net: pipes less levels, and one."""


def net(seed: int = 1) -> System:
    """Return the net in one duty state."""
    random = np.random.default_rng(seed)
    number = np.arange(LEVELS).reshape(ROWS, COLUMNS)
    # In the order of the levels, so that each pipe's sizes stay its own.
    along = zip(number[:, :-1].flat, number[:, 1:].flat, strict=True)
    across = zip(number[:-1].flat, number[1:].flat, strict=True)
    pairs = sorted([*along, *across])
    pipes = len(pairs)
    draws = random.uniform(0.0, 0.004, LEVELS)
    draws[0] = 0.0
    up = np.array([pair[0] for pair in pairs] + [*range(LEVELS)], dtype=np.intp)
    down = np.array([pair[1] for pair in pairs] + [LEVELS] * LEVELS, dtype=np.intp)
    sizes = {
        "length": _column(random.uniform(50.0, 150.0, pipes)),
        "diameter": _column(random.uniform(0.1, 0.3, pipes)),
        "roughness": np.full((pipes, 1), 1e-4),
        "viscosity": np.full((pipes, 1), 1.2e-6),
        "factor": np.zeros((pipes, 1)),
        "k": _column(random.uniform(0.0, 3.0, pipes)),
    }
    given = np.zeros(LEVELS + 1, dtype=bool)
    given[[0, LEVELS]] = True
    levels = np.zeros((LEVELS + 1, 1))
    levels[[0, LEVELS], 0] = 50.0, -100.0
    return System(
        nodes=LEVELS,
        branches=up.size,
        variants=1,
        up=up,
        down=down,
        groups=(
            _group("pipe", slice(0, pipes), up, down, sizes),
            _group("given", slice(pipes, None), up, down, {"flow": _column(draws)}),
        ),
        fixed=given,
        outside=given & (np.arange(LEVELS + 1) < LEVELS),
        levels=levels,
        free=np.array([], dtype=np.intp),
        volumes=(),
        surface=np.zeros(LEVELS + 1, dtype=bool),
        ground=np.full((LEVELS + 1, 1), 40.0),
    )


def _column(values: Array) -> Array:
    return values.reshape(-1, 1)


def _group(law: str, part: slice, up: Ints, down: Ints, params: dict[str, Array]) -> LawGroup:
    index = np.arange(up.size, dtype=np.intp)[part]
    return LawGroup(law, index, up[part], down[part], params, np.ones((index.size, 1)))
