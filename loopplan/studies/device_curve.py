"""The operating curve of an airlift: water by air at the lift of the first state, and its peak."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loopplan.lifts.airlift import Tube
from loopplan.physics.air import STANDARD, dry_mass_flow
from loopplan.physics.airlift_column import balance
from loopplan.physics.airlift_shaft import GAS_IN_DATA as SHAFT_REACH
from loopplan.physics.airlift_solve import operating_curve, peak_water, water_moved
from loopplan.physics.airlift_tube import GAS_IN_DATA as TUBE_REACH
from loopplan.studies.device_airlift import AirliftStudy, band_at
from loopplan.studies.lift_sheet_results import AirCurve

_POINTS = 41


def air_curve(study: AirliftStudy) -> AirCurve | None:
    """Return the operating curve; None where no air moves water in that state.

    The curve ends past the peak of the edge at which the loop is solved, or where the search
    does; the other edges are read at the same air.
    """
    point, edge = study.point, study.edge
    duty = point.first
    if study.hopeless or duty.stands or (duty.by_itself and not study.acts):
        return None
    one = AirliftStudy(replace(point, duties=(duty,)), study.drawn, study.limits)
    found = operating_curve(one.riser, one.place, one.lift, one.closure(edge), _POINTS)
    if found.peak.flow[0] <= 0.0:
        return None
    air = found.dry_air * one.more[edge]
    water, peaks = [], []
    for k in range(3):
        closure = one.closure(k)
        water.append(water_moved(one.riser, one.place, air / one.more[k], one.lift, closure).flow)
        peaks.append(peak_water(one.riser, one.place, one.lift, closure))
    top = balance(
        one.riser, one.place, found.peak.flow, found.peak.dry_air, one.lift, one.closure(edge)
    )
    scale = duty.units / float(dry_mass_flow(1.0, STANDARD))
    moved = duty.units * np.stack(water)[:, :, 0]
    peak_air = np.array([scale * x.dry_air[0] * one.more[k] for k, x in enumerate(peaks)])
    peak_flow = np.array([duty.units * x.flow[0] for x in peaks])
    return AirCurve(
        float(one.lift[0]),
        tuple(float(scale * x) for x in air[:, 0]),
        tuple(band_at(moved[:, i], edge) for i in range(moved.shape[1])),
        band_at(peak_air, edge),
        band_at(peak_flow, edge),
        bool(found.peak.inside[0]),
        float(top.gas_velocity_top[0]),
        float(np.asarray(one.riser.most_gas)),
        TUBE_REACH if isinstance(study.drawn.shape, Tube) else SHAFT_REACH,
    )
