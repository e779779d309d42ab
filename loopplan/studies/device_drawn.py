"""The airlift that is evaluated at a lift point: as drawn in the file, or that of practice."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from loopplan.lifts.airlift import Shaft, Tube
from loopplan.physics._check import Array
from loopplan.physics.airlift_band import single_edge_closure
from loopplan.physics.airlift_column import site
from loopplan.physics.airlift_practice import best_outlet_area
from loopplan.physics.airlift_shaft import BUBBLE_RISE
from loopplan.physics.airlift_shaft import Shaft as ShaftRiser
from loopplan.studies.lift_duty import LEAST_FLOW, LiftPoint

_AREA_STEP = 0.1
_CALM = 0.9
"""Speed down an assumed inlet half over the rise of bubbles [-]."""


@dataclass(frozen=True)
class Drawn:
    """The airlift that is evaluated: as drawn in the file, or assumed."""

    shape: Shaft | Tube
    assumed: tuple[tuple[str, str, str], ...]
    """(field, value, source) of what was assumed because no airlift is drawn."""


def drawn_airlift(point: LiftPoint) -> Drawn:
    """Return the airlift of a lift point; the shaft of common practice where none is drawn.

    Its outlet half is as large as takes the least air in the first duty state, its inlet half as
    wide, and so large that the water goes down slower than bubbles rise.
    """
    if point.lift.airlift is not None:
        return Drawn(point.lift.airlift, ())
    duty = point.first
    plain = Shaft.model_validate(
        {"kind": "channel shaft", "inlet half": "1 m2", "outlet half": "1 m2"}
    )
    floor = duty.up - plain.running_depth

    def shaft_of(area: Array) -> ShaftRiser:
        size = plain.geometry(floor)
        width = np.sqrt(area)
        return ShaftRiser(
            size["depth"], plain.running_depth, area, area, width, size["partition_gap"],
            size["diffuser_height"], size["sill_height"], width,
        )  # fmt: skip

    at = duty.conditions
    lift = float(np.clip(duty.head, 0.05, 0.7))
    flow = max(duty.flow, LEAST_FLOW)
    best = best_outlet_area(
        shaft_of, site(at.temperature, at.salinity, at.altitude), flow, lift,
        single_edge_closure(1, plain.coverage),
    )  # fmt: skip
    most = max(d.flow for d in point.duties)
    outlet = _rounded(float(best.area))
    inlet = max(outlet, _rounded(most / (_CALM * BUBBLE_RISE)))
    fields = {"inlet half": f"{inlet:.1f} m2", "outlet half": f"{outlet:.1f} m2"}
    shape = Shaft.model_validate({"kind": "channel shaft", **fields})
    halves = (
        ("outlet half", fields["outlet half"], "assumed: takes the least air in the first state"),
        ("inlet half", fields["inlet half"], "assumed: slower down than bubbles rise"),
    )
    return Drawn(shape, (*halves, *shape.assumed()))


def _rounded(area: float) -> float:
    return max(ceil(area / _AREA_STEP - 1e-9) * _AREA_STEP, _AREA_STEP)
