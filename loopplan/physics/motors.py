"""Losses of motors and of frequency converters, at full load and at part load.

Three ways to count a frequency converter, and a result must say which was used: none (full speed
from the mains), the converter alone (`drive_efficiency`, milder), or motor and converter in one
model (`motor_and_drive_loss`, stricter: it holds the extra loss in the motor too).
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.motor_tables import EFFICIENCY, OUTPUTS, SMALL_FOUR_POLES

HORSEPOWER = 745.69987
"""Mechanical horsepower [W]."""

_DRIVE_LOADS = (0.016, 0.125, 0.25, 0.42, 0.5, 0.75, 1.0)
_DRIVE_SIZES = tuple(HORSEPOWER * hp for hp in (3, 5, 10, 20, 30, 50, 60, 75, 100, 200, 400))
_DRIVE_EFFICIENCY = (
    (0.31, 0.77, 0.86, 0.90, 0.91, 0.93, 0.94),
    (0.35, 0.80, 0.88, 0.91, 0.92, 0.94, 0.95),
    (0.41, 0.83, 0.90, 0.93, 0.94, 0.95, 0.96),
    (0.47, 0.86, 0.93, 0.94, 0.95, 0.96, 0.97),
    (0.50, 0.88, 0.93, 0.95, 0.95, 0.96, 0.97),
    (0.46, 0.86, 0.92, 0.95, 0.95, 0.96, 0.97),
    (0.51, 0.87, 0.92, 0.95, 0.95, 0.96, 0.97),
    (0.47, 0.86, 0.93, 0.95, 0.96, 0.97, 0.97),
    (0.55, 0.89, 0.94, 0.95, 0.96, 0.97, 0.97),
    (0.61, 0.91, 0.95, 0.96, 0.96, 0.97, 0.97),
    (0.61, 0.91, 0.95, 0.96, 0.96, 0.97, 0.97),
)
"""Rows by size, columns by load."""

_BOTH_UP_TO = (5.0 * HORSEPOWER, 20.0 * HORSEPOWER, 50.0 * HORSEPOWER)
_BOTH = np.array(
    [
        (-0.4658, 1.4965, 0.5303),
        (-1.3198, 2.9551, 0.1052),
        (-1.5122, 3.0777, 0.1847),
        (-0.8914, 2.8846, 0.2625),
    ]
)
"""a, b, c of the loss a x^2 + b x + c of motor and converter, by size."""


def motor_efficiency(rated: Numbers, efficiency_class: str = "IE3", poles: int = 4) -> Array:
    """Nominal efficiency of a three-phase motor at full load and 50 Hz.

    Between the printed outputs it runs straight in the logarithm of the output (within 0.1 points
    of the standard's polynomial). Motors with more than 8 poles are in no table: their values lie
    below those of 8.

    Args:
        rated: rated output [W], 120 (4 poles) or 750 (else) to 1e6; above 200 kW the value of
            200 kW holds.
        efficiency_class: `IE3` or `IE4`.
        poles: 2, 4, 6 or 8.

    Returns:
        Efficiency [-].

    Raises:
        ValueError: outside the range.

    Source: `iec-60034-30-1`.
    """
    if (efficiency_class, poles) not in EFFICIENCY:
        raise ValueError(
            f"motor of class {efficiency_class} with {poles} poles; "
            "allowed: IE3 or IE4 with 2, 4, 6 or 8 poles"
        )
    small = SMALL_FOUR_POLES[efficiency_class] if poles == 4 else ()
    printed = small + EFFICIENCY[efficiency_class, poles]
    outputs = OUTPUTS[-len(printed) :]
    p = within("rated output", rated, outputs[0], 1e6, "W")
    return np.asarray(np.interp(np.log(p), np.log(outputs), printed) / 100.0)[()]


def full_load_loss(rated: Numbers, efficiency: Numbers) -> Array:
    """Loss of a motor at full load.

    Args:
        rated: rated output [W], above 0.
        efficiency: its efficiency at full load [-], above 0 to 1.

    Returns:
        Loss [W].

    Raises:
        ValueError: outside the range.

    Source: closed form.
    """
    eta = within("efficiency", positive("efficiency", efficiency), 0.0, 1.0)
    return np.asarray(positive("rated output", rated, "W") * (1.0 / eta - 1.0))[()]


def _load(shaft_power: Numbers, rated: Numbers) -> Array:
    share = np.asarray(shaft_power, dtype=np.float64) / positive("rated output", rated, "W")
    return within("shaft power over rated output", share, 0.0, 1.5)


def motor_loss(shaft_power: Numbers, rated: Numbers, efficiency: Numbers) -> Array:
    """Loss of a motor at part load, run from the mains.

    Args:
        shaft_power: power at the shaft [W], 0 to 1.5 times the rated output.
        rated: rated output [W], above 0.
        efficiency: its efficiency at full load [-], above 0 to 1.

    Returns:
        Loss [W]; 0.641 of the full-load loss remains without load.

    Raises:
        ValueError: outside the range.

    Source: `cfr-431-y`.
    """
    x = _load(shaft_power, rated)
    y = 0.6410 + x * (-0.4301 + x * (1.2399 - 0.4508 * x))
    return np.asarray(y * full_load_loss(rated, efficiency))[()]


def motor_and_drive_loss(shaft_power: Numbers, rated: Numbers, efficiency: Numbers) -> Array:
    """Loss of a motor and its frequency converter together.

    The rule was made for pumps whose load falls with speed on a system of 20 % static head; so at
    light load, where the motor turns slowly, the loss can be below that from the mains.

    Args:
        shaft_power: power at the shaft [W], 0 to 1.5 times the rated output.
        rated: rated output [W], above 0.
        efficiency: efficiency of the motor at full load from the mains [-], above 0 to 1.

    Returns:
        Loss [W].

    Raises:
        ValueError: outside the range.

    Source: `cfr-431-y`.
    """
    x = _load(shaft_power, rated)
    size = np.searchsorted(_BOTH_UP_TO, np.asarray(rated, dtype=np.float64))
    a, b, c = np.moveaxis(_BOTH[size], -1, 0)
    return np.asarray((c + x * (b + x * a)) * full_load_loss(rated, efficiency))[()]


def drive_efficiency(rated: Numbers, load: Numbers = 1.0) -> Array:
    """Efficiency of a frequency converter alone (pulse-width modulation).

    Args:
        rated: its rated power [W], above 0; the table runs from 2.2 to 298 kW, its ends hold
            beyond.
        load: share of the rated power [-], 0 to 1.5; below 0.016 and above 1 the ends hold.

    Returns:
        Efficiency [-].

    Raises:
        ValueError: outside the range.

    Source: `doe-motor-tip-11`.
    """
    size, share = np.broadcast_arrays(
        np.asarray(np.clip(positive("rated power", rated, "W"), _DRIVE_SIZES[0], _DRIVE_SIZES[-1])),
        np.clip(within("load", load, 0.0, 1.5), _DRIVE_LOADS[0], 1.0),
    )
    table, sizes, loads = (
        np.array(part) for part in (_DRIVE_EFFICIENCY, _DRIVE_SIZES, _DRIVE_LOADS)
    )
    i = np.clip(np.searchsorted(sizes, size) - 1, 0, len(sizes) - 2)
    j = np.clip(np.searchsorted(loads, share) - 1, 0, len(loads) - 2)
    s = (size - sizes[i]) / (sizes[i + 1] - sizes[i])
    t = (share - loads[j]) / (loads[j + 1] - loads[j])
    low = (1.0 - t) * table[i, j] + t * table[i, j + 1]
    high = (1.0 - t) * table[i + 1, j] + t * table[i + 1, j + 1]
    return np.asarray((1.0 - s) * low + s * high)[()]


def electric_power(
    shaft_power: Numbers, rated: Numbers, efficiency: Numbers, drive: str = "none"
) -> Array:
    """Power from the mains for a shaft power.

    Args:
        shaft_power: power at the shaft [W], 0 to 1.5 times the rated output.
        rated: rated output of the motor [W], above 0.
        efficiency: efficiency of the motor at full load [-], above 0 to 1.
        drive: `none`, `converter` (the converter alone) or `motor and converter` (one model).

    Returns:
        Power [W].

    Raises:
        ValueError: outside the range, or a way that is not known.

    Source: `cfr-431-y`, `doe-motor-tip-11`.
    """
    if drive == "motor and converter":
        return np.asarray(shaft_power + motor_and_drive_loss(shaft_power, rated, efficiency))[()]
    power = np.asarray(shaft_power + motor_loss(shaft_power, rated, efficiency))
    if drive == "none":
        return power[()]
    if drive != "converter":
        raise ValueError(
            f"drive counted as '{drive}'; allowed: none, converter, motor and converter"
        )
    return np.asarray(power / drive_efficiency(rated, np.asarray(shaft_power) / rated))[()]
