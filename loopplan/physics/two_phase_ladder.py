"""The closures of a shaft by name, and the ladder from evenly spread gas to a plume."""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Numbers
from loopplan.physics.two_phase import (
    Closure,
    DriftFlux,
    Phases,
    circulating_column,
    developed_rectangular,
    developed_round,
    evenly_spread,
    large_duct_capped,
    large_duct_uniform,
    plume,
    small_circulating_column,
)

CLOSURES: dict[str, Closure] = {
    "evenly spread": evenly_spread,
    "large duct, uniform inlet": large_duct_uniform,
    "large duct, cap bubbles": large_duct_capped,
    "circulating column": circulating_column,
    "small circulating column": small_circulating_column,
    "plume": plume,
    "developed, round": developed_round,
    "developed, rectangular": developed_rectangular,
}
"""The closures that can be asked for by name in a shaft; the last two for comparison only."""

LADDER: tuple[Closure, ...] = (evenly_spread, large_duct_uniform, circulating_column, plume)
"""From gas spread evenly over the plan (0) to a plume (3)."""


def graded(rung: Numbers, jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Closure at a place on the ladder between evenly spread gas and a plume.

    Rungs: 0 evenly spread, 1 large duct with uniform inlet, 2 circulating column, 3 plume;
    C0 and V are taken on straight lines between. A rung never holds more gas than the one below
    it: where its own closure would, it takes that of the lower rung.

    Args:
        rung: place on the ladder [-], 0 to 3.
        jg: superficial velocity of the gas [m/s].
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: size of a circulation cell [m]: the smaller of width and depth.

    Returns:
        C0 [-] and V [m/s]. The interpolation is our judgement; it has no source.

    Source: `zuber-findlay-1965`, `hibiki-ishii-2003`, `heijnen-vant-riet-1984`, `zehner-1986`.
    """
    j = np.asarray(jg, dtype=np.float64) + jl
    c0, drift = LADDER[0](jg, jl, phases, size)
    below = (c0, drift)
    for foot, closure in enumerate(LADDER[1:]):
        own = closure(jg, jl, phases, size)
        faster = own[0] * j + own[1] > below[0] * j + below[1]
        above = (np.where(faster, own[0], below[0]), np.where(faster, own[1], below[1]))
        share = np.clip(np.asarray(rung) - foot, 0.0, 1.0)
        c0 = c0 + share * (above[0] - below[0])
        drift = drift + share * (above[1] - below[1])
        below = above
    return c0, drift
