"""Where pump and system meet, by bracketing: for sheets and checks.

The loop itself is solved by its one solver; here the system is a function that is given.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array
from loopplan.physics._roots import bracketed_root
from loopplan.physics.curve_fit import Curve
from loopplan.physics.pump_curves import flow_at_head, run_out, series_head

System = Callable[[Array], Array]
"""Head that a system asks for [m] at a flow [m3/s], rising with it; takes and gives arrays."""


@dataclass(frozen=True)
class OperatingPoint:
    """Flow and head at which pumps and system agree.

    Attributes:
        flow: flow [m3/s]; 0 where the system asks for more than the head at shut-off.
        head: head that the pumps make [m].
        each: flow of each pump [m3/s].
        beyond_run_out: whether a pump runs beyond the end of its curve; flow and head then rest
            on a straight line that no maker vouches for.
    """

    flow: float
    head: float
    each: tuple[float, ...]
    beyond_run_out: bool


def _beyond(curves: Sequence[Curve], flows: Sequence[float]) -> bool:
    return any(q > run_out(c)[0] * (1.0 + 1e-12) for c, q in zip(curves, flows, strict=True))


def in_series(curves: Sequence[Curve], system: System) -> OperatingPoint:
    """Operating point of one pump, or of pumps one after the other.

    Args:
        curves: head [m] against flow [m3/s] of each, falling.
        system: the system.

    Returns:
        The point.

    Source: closed form; root as in `chandrupatla-1997`.
    """

    def excess(flow: Array) -> Array:
        return np.asarray(series_head(curves, flow) - system(flow))

    high = np.asarray(max(run_out(curve)[0] for curve in curves))
    while excess(high) > 0.0:
        high = 2.0 * high
    flow = float(bracketed_root(excess, np.zeros(()), high)) if excess(np.zeros(())) > 0.0 else 0.0
    each = (flow,) * len(curves)
    return OperatingPoint(flow, float(series_head(curves, flow)), each, _beyond(curves, each))


def in_parallel(curves: Sequence[Curve], system: System) -> OperatingPoint:
    """Operating point of pumps side by side, each with a non-return valve.

    Args:
        curves: head [m] against flow [m3/s] of each, falling.
        system: the system.

    Returns:
        The point.

    Source: closed form; root as in `chandrupatla-1997`.
    """

    def excess(head: Array) -> Array:
        total = sum(flow_at_head(curve, head) for curve in curves)
        return np.asarray(head - system(np.asarray(total)))

    high = np.asarray(max(float(series_head([curve], 0.0)) for curve in curves))
    low = high - 1.0
    while excess(low) > 0.0:
        low = high - 2.0 * (high - low)
    head = float(bracketed_root(excess, low, high)) if excess(high) > 0.0 else float(high)
    each = tuple(float(flow_at_head(curve, head)) for curve in curves)
    return OperatingPoint(sum(each), head, each, _beyond(curves, each))
