"""Findings about the devices at a lift."""

from __future__ import annotations

from collections.abc import Iterable

from loopplan.findings import Finding, find
from loopplan.lifts.assign import AIRLIFT
from loopplan.physics.airlift_shaft import BUBBLE_RISE
from loopplan.physics.airlift_tube import GAS_IN_DATA
from loopplan.studies.lift_duty import LiftPoint
from loopplan.studies.lift_sheet_results import AirPoint, LiftSheet, PumpPoint

STALL_MARGIN = 0.05
"""Least lift [m] between the fouled state and stall."""


def judge_devices(point: LiftPoint, sheet: LiftSheet) -> list[Finding]:
    """Return findings about the device that is asked for, or else the one recommended."""
    taken = sheet.fixed or sheet.recommended
    found: list[Finding] = []
    for device in sheet.devices:
        if device.device != taken:
            continue
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
                found += _airlift(point, state.state, state.detail, point.duties[k].head)
            if isinstance(state.detail, PumpPoint):
                found += _pump(point, state.state, state.detail)
    return _worst_state(found)


def _airlift(point: LiftPoint, state: str, air: AirPoint, lift: float) -> Iterable[Finding]:
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
    if air.gas_speed > GAS_IN_DATA:
        yield find(
            "airlift-beyond-data",
            point.name,
            state=state,
            value=air.gas_speed,
            limit=GAS_IN_DATA,
            unit="m/s",
            message=f"air rises at {air.gas_speed:.1f} m/s (superficial); the data that the model "
            f"was held against end at {GAS_IN_DATA:g} m/s",
        )
    shape = point.lift.airlift
    if (
        shape is not None
        and shape.kind == "channel shaft"
        and (shape.diffuser_height < shape.partition_gap)
    ):
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
    for words in pump.remarks:
        if "frequency converter" in words:
            yield find("pump-throttled", point.name, state=state, message=words)
        elif "closed valve" in words:
            yield find("pump-shut-off-power", point.name, state=state, message=words)
        elif "bell" in words:
            yield find("bell-velocity", point.name, state=state, message=words)


def _worst_state(findings: list[Finding]) -> list[Finding]:
    from loopplan.studies.judge import merge_states

    return merge_states(findings)
