"""Acceptance grades: how far a pump may be from what its maker guarantees."""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.physics._check import positive
from loopplan.physics.curve_fit import Curve, scaled_curve


@dataclass(frozen=True)
class Tolerance:
    """What a pump may differ from its guaranteed point.

    Attributes:
        flow: least and most of flow [- of the guaranteed].
        head: least and most of head [- of the guaranteed].
        efficiency: least of efficiency [- of the guaranteed].
    """

    flow: tuple[float, float]
    head: tuple[float, float]
    efficiency: float


GRADES: dict[str, Tolerance] = {
    "1B": Tolerance((-0.05, 0.05), (-0.03, 0.03), -0.03),
    "1E": Tolerance((-0.05, 0.05), (-0.03, 0.03), 0.0),
    "1U": Tolerance((0.0, 0.10), (0.0, 0.06), 0.0),
    "2B": Tolerance((-0.08, 0.08), (-0.05, 0.05), -0.05),
    "2U": Tolerance((0.0, 0.16), (0.0, 0.10), -0.05),
    "3B": Tolerance((-0.09, 0.09), (-0.07, 0.07), -0.07),
}
"""Acceptance grades (`iso-9906`)."""

SMALL_PUMP = 10e3
"""Shaft power [W] below which ISO 9906 allows wider tolerances."""


def grade_tolerance(grade: str, shaft_power: float) -> Tolerance:
    """Tolerance of an acceptance grade.

    Args:
        grade: one of `GRADES`.
        shaft_power: shaft power at the guaranteed point [W], above 0.

    Returns:
        The tolerance; below `SMALL_PUMP` the wider one of small pumps, where it is wider.

    Raises:
        ValueError: a grade that is not known, or power that is not above zero.

    Source: `iso-9906`.
    """
    if grade not in GRADES:
        raise ValueError(f"'{grade}' is not a grade; allowed: {', '.join(GRADES)}")
    power = float(positive("shaft power", shaft_power, "W"))
    known = GRADES[grade]
    if power >= SMALL_PUMP:
        return known
    small = -(10.0 * (1.0 - power / SMALL_PUMP) + 7.0) / 100.0
    return Tolerance(
        (min(known.flow[0], -0.10), max(known.flow[1], 0.10)),
        (min(known.head[0], -0.08), max(known.head[1], 0.08)),
        min(known.efficiency, small),
    )


def grade_band(curve: Curve, tolerance: Tolerance) -> tuple[Curve, Curve]:
    """Lowest and highest curve that a pump may have within its tolerance.

    Args:
        curve: head [m] against flow [m3/s].
        tolerance: the tolerance.

    Returns:
        The lowest and the highest curve, head [m] against flow [m3/s].

    Source: `iso-9906`, its tolerances of flow and head taken together at every point.
    """
    low, high = (
        scaled_curve(curve, 1.0 + q, 1.0 + h)
        for q, h in zip(tolerance.flow, tolerance.head, strict=True)
    )
    return low, high
