"""Drift flux in airlift tubes: slugs, and what becomes of them in large bores.

Coefficients are from memory. Nothing here checks its arguments, for it runs inside solvers.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.constants import GRAVITY
from loopplan.physics.two_phase import (
    LARGE_DUCT_VISCOSITY_NUMBER,
    DriftFlux,
    Phases,
    broadcast,
)


def large_pipe_drift(diameter: Numbers, phases: Phases) -> Array:
    """Drift velocity in large pipes, where no slug spans the bore any more.

    Args:
        diameter: bore [m].
        phases: water and air.

    Returns:
        Drift velocity V [m/s]: rises up to a bore of 30 Laplace lengths (82 mm), 0.43 m/s above.

    Source: `kataoka-ishii-1987` (low-viscosity form, as at 20 degC).
    """
    lift = np.asarray(phases.density) - phases.gas_density
    bore = diameter / np.sqrt(phases.surface_tension / (GRAVITY * lift))
    size = np.where(bore <= 30.0, 0.0019 * np.minimum(bore, 30.0) ** 0.809, 0.030)
    plus = size * phases.density_ratio**-0.157 * LARGE_DUCT_VISCOSITY_NUMBER**-0.562
    return np.asarray(plus * phases.bubble_scale)[()]


def slug_drift(diameter: Numbers, phases: Phases) -> Array:
    """Rise of a bubble that spans the tube.

    Args:
        diameter: bore [m], above some 6 mm.
        phases: water and air.

    Returns:
        Drift velocity V [m/s]: 0.352 sqrt(g D) (1 - 3.18/Bo - 14.77/Bo^2), not below zero; what
        stands in brackets is 1 in wide tubes and matters below some 25 mm.

    Source: `nicklin-1962`, `reinemann-1990` (surface tension in small tubes).
    """
    lift = np.asarray(phases.density) - phases.gas_density
    bond = lift * GRAVITY * np.square(diameter) / phases.surface_tension
    wet = np.maximum(1.0 - 3.18 / bond - 14.77 / bond**2, 0.0)
    return np.asarray(0.352 * np.sqrt(GRAVITY * np.asarray(diameter)) * wet)[()]


def tube(jg: Numbers, jl: Numbers, phases: Phases, size: Numbers) -> DriftFlux:
    """Airlift tubes: slugs in small bores, and no faster than the drift of large pipes.

    Slugs are not stable above 30 to 40 Laplace lengths (80 to 110 mm); their formula grows
    without limit, so V stops where it meets that of large pipes (0.43 m/s, bore 155 mm).

    Args:
        jg: superficial velocity of the gas [m/s], up to 2 or so (slug and churn flow).
        jl: superficial velocity of the water [m/s].
        phases: water and air.
        size: bore of the tube [m].

    Returns:
        C0 = 1.2 [-] and V [m/s]. Against 25 and 28 mm tubes: see docs/validation.md.

    Source: `nicklin-1962`, `reinemann-1990`, `kataoka-ishii-1987`.
    """
    wide = large_pipe_drift(np.inf, phases)
    return broadcast(1.2, np.minimum(slug_drift(size, phases), wide), jg, jl)
