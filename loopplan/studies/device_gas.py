"""What an airlift's air adds to the water and takes from it, and what else that would cost."""

from __future__ import annotations

import numpy as np

from loopplan.physics.gas_transfer import (
    TRANSFER_DEPTHS,
    carbon_dioxide_stripped,
    oxygen_added,
)
from loopplan.studies.device_airlift import AirliftStudy
from loopplan.studies.device_gas_pressure import (
    depth_of_air,
    gas_pressure,
    gas_pressure_words,
    transfer_numbers,
)
from loopplan.studies.lift_sheet_results import Band, Gas

AERATION = 1.5 / 3.6e6
"""Oxygen for each joule of other aeration in clean water without oxygen [kg/J]: 1.5 kg/kWh, from
memory the middle of surface and coarse-bubble aerators (1.2 to 2)."""

_CLEAN = 9.09e-3
"""Oxygen of clean water at 20 degC in balance with air [kg/m3], for which aerators are rated."""


def gas_credit(study: AirliftStudy, k: int) -> Gas | None:
    """Return oxygen added and carbon dioxide stripped in a duty state, by its number [kg/s].

    None where the oxygen of the water that comes to the airlift is not stated, or no air moves
    the water.
    """
    shape, duty = study.drawn.shape, study.point.duties[k]
    if shape.oxygen is None or duty.flow <= 0.0:
        return None
    if study.hopeless or not study.works[k] or (duty.by_itself and not study.acts):
        return None
    at, air = duty.conditions, float(study.air[study.edge, k])
    depth = depth_of_air(study, k)
    atmosphere = float(np.asarray(study.place.atmosphere)[k])
    numbers = transfer_numbers(study, k)
    oxygen = [
        duty.units
        * float(
            oxygen_added(duty.flow, n, shape.oxygen, depth, at.temperature, at.salinity, atmosphere)
        )
        for n in numbers
    ]
    carbon = [0.0, 0.0, 0.0]
    remarks = []
    if shape.carbon_dioxide is not None:
        carbon = [
            duty.units
            * float(
                carbon_dioxide_stripped(
                    duty.flow, air, n, shape.carbon_dioxide, at.temperature, at.salinity,
                    atmosphere,
                )
            )
            for n in numbers
        ]  # fmt: skip
    else:
        remarks.append("carbon dioxide is not counted: state `carbon dioxide` of the water")
    low, high = TRANSFER_DEPTHS
    if not low <= depth <= high:
        remarks.append(
            f"transfer was measured {low:g} to {high:g} m deep; the air goes in at {depth:.2f} m"
        )
    remarks += gas_pressure_words(shape, gas_pressure(study, k))
    return Gas(_band(oxygen), _band(carbon), _instead(study, k, oxygen[1]), tuple(remarks))


def _instead(study: AirliftStudy, k: int, oxygen: float) -> float:
    """Power [W] that other aeration would take for this oxygen, in this water."""
    from loopplan.physics.gas_solubility import oxygen_solubility

    shape, at = study.drawn.shape, study.point.duties[k].conditions
    atmosphere = float(np.asarray(study.place.atmosphere)[k])
    full = float(oxygen_solubility(at.temperature, at.salinity, atmosphere))
    assert shape.oxygen is not None
    share = (full - shape.oxygen) / _CLEAN * 1.024 ** (at.temperature - 20.0)
    if oxygen <= 0.0 or share <= 0.05:
        return 0.0
    return float(oxygen / (AERATION * share * shape.transfer_in_farm_water))


def _band(values: list[float]) -> Band:
    return Band(values[1], min(values), max(values))
