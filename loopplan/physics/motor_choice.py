"""The standard motor for a shaft power, and what it takes from the mains, whatever its size."""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.motor_tables import OUTPUTS, next_output
from loopplan.physics.motors import electric_power, motor_efficiency

MOST_LOAD = 1.5
"""Load over rated output [-] up to which losses of motors are known."""

_LEAST_SHAFT = 1.0
_SMALLEST, _LARGEST = 120.0, 1e6
"""Rated outputs [W] between which efficiencies are tabled; the ends hold beyond."""


def rated_output(shaft: float, factor: float) -> float:
    """Rated output of the motor for a shaft power.

    Args:
        shaft: greatest shaft power [W]; 1 W at least is taken.
        factor: margin on it [-], 1 to 3.

    Returns:
        Next standard output [W]; above the largest what is needed: several motors, or one to
        order.

    Raises:
        ValueError: outside the range.

    Source: `iec-60072-1`.
    """
    needed = max(shaft, _LEAST_SHAFT) * factor
    return needed if needed > OUTPUTS[-1] else next_output(max(shaft, _LEAST_SHAFT), factor)


def full_load_efficiency(rated: Numbers, efficiency_class: str = "IE3") -> Array:
    """Nominal efficiency of a motor at full load; that of the ends holds beyond the table.

    Args:
        rated: rated output [W].
        efficiency_class: `IE3` or `IE4`.

    Returns:
        Efficiency [-].

    Raises:
        ValueError: another class.

    Source: `iec-60034-30-1`.
    """
    return motor_efficiency(np.clip(rated, _SMALLEST, _LARGEST), efficiency_class)


def mains_power(
    shaft: Numbers, rated: Numbers, efficiency_class: str = "IE3", drive: str = "none"
) -> Array:
    """Power that a motor and its drive take from the mains.

    Args:
        shaft: shaft power [W]; an overload beyond `MOST_LOAD` is counted at the efficiency that
            the motor has there.
        rated: rated output [W], above 0.
        efficiency_class: `IE3` or `IE4`.
        drive: as `loopplan.physics.motors.electric_power` has it.

    Returns:
        Electric power [W].

    Raises:
        ValueError: another class or drive.

    Source: `iec-60034-30-1`, `cfr-431-y`, `doe-motor-tip-11`.
    """
    load = np.minimum(shaft, MOST_LOAD * np.asarray(rated))
    efficiency = full_load_efficiency(rated, efficiency_class)
    over = np.divide(shaft, load, out=np.ones_like(load), where=load > 0.0)
    return np.asarray(electric_power(load, rated, efficiency, drive) * over)
