"""Submergence: how deep an inlet must lie under the surface so that it draws no air."""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.constants import GRAVITY


def inlet_submergence(velocity: Numbers, diameter: Numbers) -> Array:
    """Least submergence of an inlet against vortices that draw air.

    For even approach without swirl; where water arrives in a curve or over a fall, more is
    needed. Stated for intakes of pumps; gravity outlets of tanks often get by with less.

    Args:
        velocity: velocity in the inlet [m/s], 0 to 10.
        diameter: diameter of the inlet, of its bell where it has one [m], above 0.

    Returns:
        Submergence S = D (1 + 2.3 Fr) [m], Fr = v / sqrt(g D).

    Raises:
        ValueError: outside the range.

    Source: `hi-9-8`.
    """
    v = within("velocity", velocity, 0.0, 10.0, "m/s")
    d = positive("diameter", diameter, "m")
    return np.asarray(d * (1.0 + 2.3 * v / np.sqrt(GRAVITY * d)))[()]
