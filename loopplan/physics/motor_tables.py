"""Nominal efficiency of three-phase motors at 50 Hz, as printed, and the legal floor.

This file loads no numpy; it serves the parser and the help.
"""

from __future__ import annotations

from dataclasses import dataclass

OUTPUTS: tuple[float, ...] = tuple(
    1e3 * kilowatt
    for kilowatt in (
        0.12, 0.18, 0.25, 0.37, 0.55, 0.75, 1.1, 1.5, 2.2, 3.0, 4.0, 5.5, 7.5, 11.0, 15.0, 18.5,
        22.0, 30.0, 37.0, 45.0, 55.0, 75.0, 90.0, 110.0, 132.0, 160.0, 200.0,
    )
)  # fmt: skip
"""Standard outputs [W] (`iec-60072-1`)."""

SMALL_FOUR_POLES: dict[str, tuple[float, ...]] = {
    "IE3": (64.8, 69.9, 73.5, 77.3, 80.8),
    "IE4": (69.8, 74.7, 77.9, 81.1, 83.9),
}
"""Efficiency [%] of 4-pole motors of 0.12 to 0.55 kW (`iec-60034-30-1`)."""

EFFICIENCY: dict[tuple[str, int], tuple[float, ...]] = {
    ("IE3", 2): (
        80.7, 82.7, 84.2, 85.9, 87.1, 88.1, 89.2, 90.1, 91.2, 91.9, 92.4,
        92.7, 93.3, 93.7, 94.0, 94.3, 94.7, 95.0, 95.2, 95.4, 95.6, 95.8,
    ),
    ("IE3", 4): (
        82.5, 84.1, 85.3, 86.7, 87.7, 88.6, 89.6, 90.4, 91.4, 92.1, 92.6,
        93.0, 93.6, 93.9, 94.2, 94.6, 95.0, 95.2, 95.4, 95.6, 95.8, 96.0,
    ),
    ("IE3", 6): (
        78.9, 81.0, 82.5, 84.3, 85.6, 86.8, 88.0, 89.1, 90.3, 91.2, 91.7,
        92.2, 92.9, 93.3, 93.7, 94.1, 94.6, 94.9, 95.1, 95.4, 95.6, 95.8,
    ),
    ("IE3", 8): (
        75.0, 77.7, 79.7, 81.9, 83.5, 84.8, 86.2, 87.3, 88.6, 89.6, 90.1,
        90.6, 91.3, 91.8, 92.2, 92.5, 93.1, 93.4, 93.7, 94.0, 94.3, 94.6,
    ),
    ("IE4", 2): (
        83.5, 85.2, 86.5, 88.0, 89.1, 90.0, 90.9, 91.7, 92.6, 93.3, 93.7,
        94.0, 94.5, 94.8, 95.0, 95.3, 95.6, 95.8, 96.0, 96.2, 96.3, 96.5,
    ),
    ("IE4", 4): (
        85.7, 87.2, 88.2, 89.5, 90.4, 91.1, 91.9, 92.6, 93.3, 93.9, 94.2,
        94.5, 94.9, 95.2, 95.4, 95.7, 96.0, 96.1, 96.3, 96.4, 96.6, 96.7,
    ),
    ("IE4", 6): (
        82.7, 84.5, 85.9, 87.4, 88.6, 89.5, 90.5, 91.3, 92.3, 92.9, 93.4,
        93.7, 94.2, 94.5, 94.8, 95.1, 95.4, 95.6, 95.8, 96.0, 96.2, 96.3,
    ),
    ("IE4", 8): (
        78.4, 80.8, 82.6, 84.5, 85.9, 87.1, 88.3, 89.3, 90.4, 91.2, 91.7,
        92.1, 92.7, 93.1, 93.4, 93.7, 94.2, 94.4, 94.7, 94.9, 95.1, 95.4,
    ),
}  # fmt: skip
"""Efficiency [%] at full load by class and poles, for the outputs of 0.75 to 200 kW.

`iec-60034-30-1`, from memory. The rows IE3 with 2, 4 and 6 poles and IE4 with 4 agree with the
standard's own interpolation to 0.05 points; those with 8 poles, and IE4 with 2 and 6, could be
checked for smoothness only.
"""


@dataclass(frozen=True)
class MotorRule:
    """A rule of law on the efficiency class of new motors.

    Attributes:
        since: day from which it holds.
        low: least rated output [W].
        high: most rated output [W].
        poles: numbers of poles that it covers.
        least_class: least efficiency class.
    """

    since: str
    low: float
    high: float
    poles: tuple[int, ...]
    least_class: str


LEGAL_FLOOR: tuple[MotorRule, ...] = (
    MotorRule("2023-07-01", 75e3, 200e3, (2, 4, 6), "IE4"),
    MotorRule("2021-07-01", 0.75e3, 1000e3, (2, 4, 6, 8), "IE3"),
    MotorRule("2021-07-01", 0.12e3, 0.75e3, (2, 4, 6, 8), "IE2"),
)
"""Floor for three-phase motors in the EU (`eu-2019-1781`), strictest first; drives: IE2."""


def legal_class(rated: float, poles: int = 4) -> str | None:
    """Least efficiency class that EU law allows for a new three-phase motor.

    Args:
        rated: rated output [W].
        poles: number of poles.

    Returns:
        The class, or None where the regulation does not reach.

    Source: `eu-2019-1781`.
    """
    for rule in LEGAL_FLOOR:
        if poles in rule.poles and rule.low <= rated <= rule.high:
            return rule.least_class
    return None


def next_output(shaft_power: float, service_factor: float = 1.0) -> float:
    """Smallest standard motor for a shaft power.

    Args:
        shaft_power: largest shaft power that is asked for [W], above 0.
        service_factor: margin on it [-], 1 to 3.

    Returns:
        Rated output [W].

    Raises:
        ValueError: outside the range, or more than the largest standard motor gives.

    Source: `iec-60072-1`.

    >>> next_output(3.2e3, 1.15)
    4000.0
    """
    if not shaft_power > 0.0:
        raise ValueError(f"shaft power is {shaft_power:g} W; allowed: above 0 W")
    if not 1.0 <= service_factor <= 3.0:
        raise ValueError(f"service factor is {service_factor:g}; allowed: 1 to 3")
    needed = shaft_power * service_factor
    for output in OUTPUTS:
        if output >= needed * (1.0 - 1e-9):
            return output
    raise ValueError(f"motor of {needed / 1e3:.0f} kW; allowed: up to {OUTPUTS[-1] / 1e3:.0f} kW")
