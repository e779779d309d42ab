"""Least efficiency that EU law asks of clean-water pumps (Regulation 547/2012).

It covers five designs of centrifugal pumps only, so that axial, mixed-flow and sewage pumps are
refused and not extrapolated.
"""

from __future__ import annotations

import math

from loopplan.physics._check import positive
from loopplan.physics.constants import GRAVITY
from loopplan.physics.pump_efficiency import specific_speed

MINIMUM_EFFICIENCY_C: dict[str, dict[int, tuple[float, float]]] = {
    "end suction, own bearing": {1450: (132.58, 128.07), 2900: (135.60, 130.27)},
    "end suction, close coupled": {1450: (132.74, 128.46), 2900: (135.93, 130.77)},
    "end suction, close coupled, inline": {1450: (136.67, 132.30), 2900: (139.45, 133.69)},
    "vertical multistage": {2900: (138.19, 133.95)},
    "submersible multistage": {2900: (134.31, 128.79)},
}
"""C of the formula by design, nominal speed [1/min], for an index of 0.10 and of 0.40.

`eu-547-2012`, from memory; C of the inline design at 1450 1/min is the least certain.
"""

INDEX_IN_FORCE = {0.10: "2013-01-01", 0.40: "2015-01-01"}
"""Index, and day from which pumps put on the EU market had to reach it (`eu-547-2012`)."""

PART_LOAD_SHARE = 0.947
"""Share of the least efficiency that must be reached at 75 % of the best flow [-]."""

OVERLOAD_SHARE = 0.985
"""Share of the least efficiency that must be reached at 110 % of the best flow [-]."""

_LOW_SPEED, _HIGH_SPEED = 6.0, 80.0
_LEAST_FLOW = 6.0 / 3600.0
_MOST_POWER = 150e3
_MOST_HEAD = {1450: 90.0, 2900: 140.0}


def minimum_efficiency(
    design: str, speed: int, flow: float, head: float, index: float = 0.40, stages: int = 1
) -> float:
    """Least efficiency at the best point, with the full impeller.

    Args:
        design: design of the pump, one of `MINIMUM_EFFICIENCY_C`.
        speed: nominal speed, 1450 or 2900 [1/min] as listed for the design.
        flow: flow at the best point [m3/s], 6 m3/h and up.
        head: head at the best point [m]; for end-suction pumps up to 90 m at 1450 1/min, 140 m
            at 2900.
        index: minimum efficiency index, 0.10 or 0.40 [-].
        stages: number of stages.

    Returns:
        Least efficiency [-]; `PART_LOAD_SHARE` and `OVERLOAD_SHARE` of it beside the best point.

    Raises:
        ValueError: a design, speed or index that is not listed, or a duty that the regulation
            does not cover (specific speed n_q 6 to 80 among others).

    Source: `eu-547-2012` Annex III.
    """
    if design not in MINIMUM_EFFICIENCY_C:
        raise ValueError(f"'{design}' is not covered; allowed: {', '.join(MINIMUM_EFFICIENCY_C)}")
    speeds = MINIMUM_EFFICIENCY_C[design]
    if speed not in speeds:
        allowed = ", ".join(str(known) for known in speeds)
        raise ValueError(f"nominal speed is {speed:g} 1/min; allowed: {allowed} 1/min")
    if index not in INDEX_IN_FORCE:
        raise ValueError(f"minimum efficiency index is {index:g}; allowed: 0.10 or 0.40")
    q, h = float(positive("flow", flow, "m3/s")), float(positive("head", head, "m"))
    n_q = float(specific_speed(speed, q, h, stages))
    if not _LOW_SPEED <= n_q <= _HIGH_SPEED:
        raise ValueError(f"specific speed is {n_q:.1f} 1/min; allowed: 6 to 80 1/min")
    if q < _LEAST_FLOW * (1.0 - 1e-9):
        raise ValueError(f"flow is {q * 3600.0:.2f} m3/h; allowed: 6 m3/h and up")
    if design.startswith("end suction") and h > _MOST_HEAD[speed]:
        raise ValueError(f"head is {h:g} m; allowed: up to {_MOST_HEAD[speed]:g} m")
    x, y = math.log(n_q), math.log(q * 3600.0)
    c = speeds[speed][list(INDEX_IN_FORCE).index(index)]
    found = (88.59 * x + 13.46 * y - 11.48 * x * x - 0.85 * y * y - 0.38 * x * y - c) / 100.0
    power = 1000.0 * GRAVITY * q * h / found
    if design.startswith("end suction") and power > _MOST_POWER:
        raise ValueError(f"shaft power is {power / 1e3:.0f} kW; allowed: up to 150 kW")
    return found
