"""Shapes for a pump of which only the best point is known: project assumptions, for a first look.

Textbooks agree on the trend with specific speed; the figures are loopplan's own.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.curve_fit import Curve, curve_by_polynomial

STEEPNESS: tuple[tuple[float, float], ...] = (
    (20.0, 1.20), (40.0, 1.30), (80.0, 1.50), (160.0, 1.90), (250.0, 2.50),
)  # fmt: skip
"""Specific speed n_q, and head at shut-off over head at the best point [-].

A project assumption: textbooks agree that curves steepen with specific speed, and on about the
ends of this table (from memory).
"""

SHUT_OFF_POWER: tuple[tuple[float, float], ...] = (
    (20.0, 0.45), (40.0, 0.60), (80.0, 0.95), (160.0, 1.50), (250.0, 2.20),
)  # fmt: skip
"""Specific speed n_q, and power at shut-off over power at the best point [-].

A project assumption like `STEEPNESS`; the power of radial pumps rises with flow, that of
propeller pumps falls.
"""

RUN_OUT_RATIO = 1.25
"""Flow at the end of a generic curve over flow at the best point [-]; a project assumption."""


def _table(rows: tuple[tuple[float, float], ...], specific_speed: float) -> float:
    known, values = zip(*rows, strict=True)
    return float(np.interp(specific_speed, known, values))


def generic_curve(flow: float, head: float, specific_speed: float) -> Curve:
    """Curve for a pump of which only the duty is known: a parabola through it.

    Its shape is a project assumption (`STEEPNESS`, `RUN_OUT_RATIO`): good for a first look, and
    it has no saddle, so it must not be used to judge part load of a propeller pump.

    Args:
        flow: flow at the best point [m3/s], above 0.
        head: head there [m], above 0.
        specific_speed: n_q [1/min], 5 to 500; the ends of the table hold beyond it.

    Returns:
        The curve, from shut-off to run-out.

    Raises:
        ValueError: outside the range.

    Source: `assumed-pump-shape`.
    """
    q, h = float(positive("flow", flow, "m3/s")), float(positive("head", head, "m"))
    n_q = float(within("specific speed", specific_speed, 5.0, 500.0, "1/min"))
    rise = _table(STEEPNESS, n_q)
    return curve_by_polynomial([rise * h, 0.0, -(rise - 1.0) * h / q**2], 0.0, RUN_OUT_RATIO * q)


def shut_off_power(power: float, specific_speed: float) -> float:
    """Power that a pump asks for against a closed valve, where no curve tells it.

    Args:
        power: shaft power at the best point [W], above 0.
        specific_speed: n_q [1/min], 5 to 500; the ends of the table hold beyond it.

    Returns:
        Shaft power at shut-off [W]; a project assumption (`SHUT_OFF_POWER`).

    Raises:
        ValueError: outside the range.

    Source: `assumed-pump-shape`.
    """
    n_q = float(within("specific speed", specific_speed, 5.0, 500.0, "1/min"))
    return float(positive("power", power, "W")) * _table(SHUT_OFF_POWER, n_q)


def off_point_efficiency(best: Numbers, flow_ratio: Numbers) -> Array:
    """Efficiency away from the best point, where no curve tells it.

    Args:
        best: efficiency at the best point [-], 0 to 1.
        flow_ratio: flow over flow at the best point [-], 0 to 2.

    Returns:
        best (2 x - x^2) [-], a parabola from zero flow. Propeller pumps fall off faster.

    Raises:
        ValueError: outside the range.

    Source: `assumed-pump-shape`.
    """
    eta = within("efficiency", best, 0.0, 1.0)
    x = within("flow ratio", flow_ratio, 0.0, 2.0)
    return np.asarray(eta * x * (2.0 - x))[()]
