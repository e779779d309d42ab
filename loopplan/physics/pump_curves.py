"""Head of pumps against flow: faults of curves, saddle, speed, parallel and series.

A pump curve is a `Curve` of head [m] against flow [m3/s] at the speed for which it is stated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics._roots import bracketed_root
from loopplan.physics.curve_fit import Curve, curve_value, rising_ranges, scaled_curve


@dataclass(frozen=True)
class CurveFault:
    """Why a curve cannot be taken as that of a centrifugal pump.

    Attributes:
        kind: `crosses itself` or `rises`.
        low: flow at which it starts [m3/s].
        high: flow at which it ends [m3/s].
        words: what is wrong and what would do.
    """

    kind: str
    low: float
    high: float
    words: str


@dataclass(frozen=True)
class Saddle:
    """The saddle of the curve of a propeller pump.

    Attributes:
        trough_flow: flow at the bottom of the saddle [m3/s].
        trough_head: head there [m]; a pump that starts against more can hang left of the saddle.
        peak_flow: flow at the peak right of it [m3/s].
        peak_head: head there [m].
    """

    trough_flow: float
    trough_head: float
    peak_flow: float
    peak_head: float


def curve_faults(flow: Sequence[float], head: Sequence[float]) -> list[CurveFault]:
    """Look for what a centrifugal curve by points must not do; rising is legal for propellers.

    Args:
        flow: flows in the order in which the curve is drawn [m3/s].
        head: heads [m].

    Returns:
        The faults with their flows [m3/s], none for a good curve.

    Source: `trade-practice`; one head for a flow, and one flow for a head.
    """
    found = []
    for (q0, h0), (q1, h1) in pairwise(zip(flow, head, strict=True)):
        if q1 <= q0:
            words = f"goes from {q0:g} to {q1:g} m3/s: it crosses itself; give rising flows"
            found.append(CurveFault("crosses itself", q1, q0, words))
        elif h1 > h0:
            found.append(_rises(q0, q1, h0, h1))
    return found


def _rises(q0: float, q1: float, h0: float, h1: float) -> CurveFault:
    words = (
        f"head rises from {h0:g} to {h1:g} m between {q0:g} and {q1:g} m3/s, so that one head has "
        "two flows; give heads that fall, or another pump"
    )
    return CurveFault("rises", q0, q1, words)


def rising_faults(curve: Curve) -> list[CurveFault]:
    """Look for rising parts of a curve that is made already, by polynomial for example.

    Args:
        curve: head [m] against flow [m3/s].

    Returns:
        The faults with their flows [m3/s], none for a good curve.

    Source: as `curve_faults`.
    """
    return [
        _rises(low, high, float(curve_value(curve, low)[0]), float(curve_value(curve, high)[0]))
        for low, high in rising_ranges(curve)
    ]


def saddle(curve: Curve) -> Saddle | None:
    """Find the saddle of the curve of a propeller pump.

    Args:
        curve: head [m] against flow [m3/s].

    Returns:
        From the first bottom to the last peak of the curve, or None if it falls all the way.

    Source: closed form.
    """
    ranges = rising_ranges(curve)
    if not ranges:
        return None
    low, high = ranges[0][0], ranges[-1][1]
    return Saddle(low, float(curve_value(curve, low)[0]), high, float(curve_value(curve, high)[0]))


def barred_flow(curve: Curve) -> tuple[float, float] | None:
    """Flows at which a pump with a saddle must not be kept running.

    All that lies left of the peak: on the rising part no point is stable, and left of it the
    blades are stalled (rough running, high power).

    Args:
        curve: head [m] against flow [m3/s].

    Returns:
        Least and most of the barred flow [m3/s], or None if the curve has no saddle.

    Source: `trade-practice`.
    """
    found = saddle(curve)
    return None if found is None else (0.0, found.peak_flow)


def at_speed(curve: Curve, speed_ratio: float) -> Curve:
    """Curve of the same pump at another speed: flow goes with the speed, head with its square.

    The duty must be solved again on the system: where there is static head, power does not fall
    with the cube of the speed.

    Args:
        curve: head [m] against flow [m3/s] at the stated speed.
        speed_ratio: speed over stated speed [-], above 0 to 2.

    Returns:
        The curve at that speed.

    Raises:
        ValueError: outside the range.

    Source: `affinity`.
    """
    r = float(within("speed ratio", positive("speed ratio", speed_ratio), 0.0, 2.0))
    return scaled_curve(curve, r, r * r)


def stop_speed(curve: Curve, static_head: Numbers) -> Array:
    """Speed below which a pump no longer lifts water over the static head.

    Args:
        curve: head [m] against flow [m3/s] at the stated speed, falling.
        static_head: head that the system asks for at no flow [m].

    Returns:
        Speed over stated speed [-]: sqrt(static head / head at shut-off); 0 where there is no
        static head.

    Source: `affinity`.
    """
    share = np.maximum(np.asarray(static_head, dtype=np.float64), 0.0) / shut_off_head(curve)
    return np.asarray(np.sqrt(share))[()]


def shut_off_head(curve: Curve) -> float:
    """Return the head [m] at no flow of a pump curve; beyond its first point it runs on straight.

    Source: closed form.
    """
    return float(curve_value(curve, 0.0)[0])


def run_out(curve: Curve) -> tuple[float, float]:
    """Return the end of a pump curve: its last flow [m3/s], and head [m] there.

    Beyond, no maker vouches for power and for the NPSH that it asks for.

    Source: closed form.
    """
    return float(curve.x[-1]), float(curve.y[-1])


def flow_at_head(curve: Curve, head: Numbers) -> Array:
    """Flow of a pump with a falling curve at a head.

    Args:
        curve: head [m] against flow [m3/s], falling.
        head: head [m].

    Returns:
        Flow [m3/s]; none above the head at shut-off (a non-return valve holds), and on the
        straight line beyond the end of the curve below the head at run-out.

    Source: closed form.
    """
    h = np.asarray(head, dtype=np.float64)
    end_flow, end_head = run_out(curve)
    high = end_flow + np.maximum((h - end_head) / float(curve.slope[-1]), 0.0)
    low = np.zeros_like(high)
    found = bracketed_root(lambda q: curve_value(curve, q)[0] - h, low, high)
    return np.asarray(np.where(h >= shut_off_head(curve), 0.0, found))[()]


def parallel_flow(curves: Sequence[Curve], head: Numbers) -> Array:
    """Flow of pumps side by side, each with a non-return valve: at one head their flows add.

    Args:
        curves: their curves, head [m] against flow [m3/s], falling.
        head: head [m].

    Returns:
        Flow of all [m3/s].

    Source: closed form.
    """
    return np.asarray(sum(flow_at_head(curve, head) for curve in curves))[()]


def series_head(curves: Sequence[Curve], flow: Numbers) -> Array:
    """Head of pumps one after the other: at one flow their heads add.

    Args:
        curves: their curves, head [m] against flow [m3/s].
        flow: flow [m3/s].

    Returns:
        Head of all [m].

    Source: closed form.
    """
    return np.asarray(sum(curve_value(curve, flow)[0] for curve in curves))[()]
