"""Findings about the devices at a lift."""

from __future__ import annotations

from collections.abc import Iterable

from loopplan.findings import Finding, find
from loopplan.lifts.airlift import Shaft, Tube
from loopplan.lifts.assign import AIRLIFT
from loopplan.limits import Limits
from loopplan.physics.airlift_shaft import BUBBLE_RISE
from loopplan.physics.airlift_shaft import GAS_IN_DATA as SHAFT_REACH
from loopplan.physics.airlift_tube import GAS_IN_DATA as TUBE_REACH
from loopplan.studies.device_gas_pressure import percent
from loopplan.studies.judge import airlift_limits, merge_states
from loopplan.studies.lift_duty import Duty, LiftPoint
from loopplan.studies.lift_sheet_results import AirPoint, LiftSheet, PumpPoint

STALL_MARGIN = 0.05
"""Least lift [m] between the fouled state and stall."""

LEVEL_DIFFERS = 0.1
"""Difference [m] between the water of a shaft and that of its drawing that is told."""


def judge_devices(point: LiftPoint, sheet: LiftSheet, limits: Limits) -> list[Finding]:
    """Return findings about the device that is asked for, or else the one recommended."""
    taken = sheet.fixed or sheet.recommended
    found: list[Finding] = []
    for device in sheet.devices:
        if device.device != taken:
            continue
        if device.device == AIRLIFT and device.feasible:
            found += airlift_limits(point.name, point.duties, limits)
        if sheet.fixed and not device.feasible:
            bad = next(state for state in device.states if not state.feasible)
            found.append(
                find(
                    "device-cannot-serve",
                    point.name,
                    state=bad.state,
                    message=f"the {taken} that is asked for cannot serve: {bad.against[0]}",
                )
            )
        for k, state in enumerate(device.states):
            if device.device == AIRLIFT and isinstance(state.detail, AirPoint):
                found += _airlift(point, point.duties[k], state.detail)
            if isinstance(state.detail, PumpPoint):
                found += _pump(point, state.state, state.detail)
    return merge_states(found)


def _airlift(point: LiftPoint, duty: Duty, air: AirPoint) -> Iterable[Finding]:
    state, lift = duty.state, duty.head
    if air.margin < STALL_MARGIN:
        yield find(
            "airlift-stalls-near",
            point.name,
            state=state,
            value=air.margin,
            limit=STALL_MARGIN,
            unit="m",
            message=f"the air that is installed moves no water above {air.stall.value:.2f} m of "
            f"lift, {100.0 * air.margin:.0f} cm above the {lift:.2f} m at work; each centimetre "
            f"costs {100.0 * air.lost_per_cm:.0f} % of the flow",
        )
    if air.reserve is not None and air.reserve < 0.0:
        yield find(
            "airlift-bulks-over",
            point.name,
            state=state,
            value=air.reserve,
            limit=0.0,
            unit="m",
            message=f"water and air rise {-air.reserve:.2f} m above the wall of the shaft",
        )
    if air.downward is not None and air.downward > BUBBLE_RISE:
        yield find(
            "bubbles-carried-under",
            point.name,
            state=state,
            value=air.downward,
            limit=BUBBLE_RISE,
            unit="m/s",
            message=f"water goes down the inlet half at {air.downward:.2f} m/s, faster than "
            f"bubbles rise ({BUBBLE_RISE:g} m/s)",
        )
    limit = point.lift.airlift.gas_limit if point.lift.airlift is not None else None
    if air.gas_pressure is not None and limit is not None and air.gas_pressure.most > limit:
        yield find(
            "gas-pressure-high",
            point.name,
            state=state,
            value=air.gas_pressure.most,
            limit=limit,
            unit="",
            message=f"total gas pressure behind it is about {percent(air.gas_pressure)}, over the "
            f"limit of {100.0 * limit:.1f} % at its upper edge; a shaft alone is a caution either "
            "way, and no all-clear",
        )
    reach = TUBE_REACH if isinstance(point.lift.airlift, Tube) else SHAFT_REACH
    if air.gas_speed > reach:
        yield find(
            "airlift-beyond-data",
            point.name,
            state=state,
            value=air.gas_speed,
            limit=reach,
            unit="m/s",
            message=f"air rises at {air.gas_speed:.1f} m/s (superficial); the data that the model "
            f"was held against end at {reach:g} m/s",
        )
    shape = point.lift.airlift
    if not isinstance(shape, Shaft):
        return
    floor = point.floor if shape.floor is None else shape.floor
    water = shape.running_depth if floor is None else duty.up - floor
    if abs(water - shape.running_depth) > LEVEL_DIFFERS:
        yield find(
            "shaft-level-differs",
            point.name,
            state=state,
            value=water,
            limit=shape.running_depth,
            unit="m",
            message=f"{water:.2f} m of water stand in the shaft; it is drawn for "
            f"{shape.running_depth:.2f} m ({shape.depth:.2f} m deep, {shape.dry_reserve:.2f} m "
            "dry)",
        )
    if shape.diffuser_height < shape.partition_gap:
        yield find(
            "diffusers-below-partition",
            point.name,
            state=state,
            value=shape.diffuser_height,
            limit=shape.partition_gap,
            unit="m",
            message=f"diffusers lie {shape.diffuser_height:.2f} m above the floor, below the edge "
            f"of the partition ({shape.partition_gap:.2f} m)",
        )


def _pump(point: LiftPoint, state: str, pump: PumpPoint) -> Iterable[Finding]:
    for remark in pump.remarks:
        if remark.code:
            yield find(remark.code, point.name, state=state, message=remark.words)
