"""The standard motor for a shaft power, and what it takes from the mains."""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.motor_tables import OUTPUTS, next_output
from loopplan.physics.motors import electric_power, motor_efficiency

_LEAST_SHAFT = 1.0
_SMALLEST, _LARGEST = 120.0, 1e6
"""Rated outputs [W] between which efficiencies are tabled; the ends hold beyond."""


def rated_output(shaft: float, factor: float) -> float:
    """Return the rated output [W] of the motor for a shaft power [W], `factor` of it [-].

    Above the largest standard motor it is what is needed: several motors, or one to order.
    """
    needed = max(shaft, _LEAST_SHAFT) * factor
    return needed if needed > OUTPUTS[-1] else next_output(needed)


def mains_power(
    shaft: Numbers, rated: Numbers, efficiency_class: str = "IE3", drive: str = "none"
) -> Array:
    """Return the power from the mains [W] for a shaft power [W] and a rated output [W].

    `drive` as :func:`loopplan.physics.motors.electric_power` has it. An overload beyond 1.5 of
    the rated output is counted at the efficiency that the motor has there.
    """
    load = np.minimum(shaft, 1.5 * np.asarray(rated))
    efficiency = motor_efficiency(np.clip(rated, _SMALLEST, _LARGEST), efficiency_class)
    over = np.divide(shaft, load, out=np.ones_like(load), where=load > 0.0)
    return np.asarray(electric_power(load, rated, efficiency, drive) * over)
