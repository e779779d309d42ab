"""Total gas pressure of the water behind an airlift, against a limit that is stated."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from loopplan.physics.gas_solubility import nitrogen_solubility
from loopplan.physics.gas_transfer import TRANSFER_PER_METRE, gas_pressure_after, transfer_number
from loopplan.studies.lift_sheet_results import Band

if TYPE_CHECKING:
    from loopplan.lifts.airlift import Shaft, Tube
    from loopplan.studies.device_airlift import AirliftStudy


def depth_of_air(study: AirliftStudy, k: int) -> float:
    """Return the water above the place where air goes in [m], in a duty state by its number."""
    return float(np.broadcast_to(study.riser.submergence, study.flow.shape)[k])


def transfer_numbers(study: AirliftStudy, k: int) -> list[float]:
    """Return least, expected and most transfer number [-] of a duty state."""
    duty, air = study.point.duties[k], float(study.air[study.edge, k])
    at, alpha = duty.conditions, study.drawn.shape.transfer_in_farm_water
    depth = depth_of_air(study, k)
    return [
        float(transfer_number(duty.flow, air, depth, per_metre, at.temperature, alpha))
        for per_metre in TRANSFER_PER_METRE
    ]


def gas_pressure(study: AirliftStudy, k: int) -> Band | None:
    """Return the pressure of all dissolved gases behind it over that of the air [-].

    None where the oxygen of the water that comes to it is not stated. Nitrogen that is not stated
    is taken to stand in balance with the air at the surface.
    """
    shape, at = study.drawn.shape, study.point.duties[k].conditions
    if shape.oxygen is None:
        return None
    atmosphere = float(np.broadcast_to(study.place.atmosphere, study.flow.shape)[k])
    nitrogen = shape.nitrogen
    if nitrogen is None:
        nitrogen = float(nitrogen_solubility(at.temperature, at.salinity, atmosphere))
    found = [
        float(
            gas_pressure_after(
                number, shape.oxygen, nitrogen, depth_of_air(study, k), at.temperature,
                at.salinity, atmosphere,
            )
        )
        for number in transfer_numbers(study, k)
    ]  # fmt: skip
    return Band(found[1], min(found), max(found))


def gas_pressure_words(shape: Shaft | Tube, pressure: Band | None) -> Iterable[str]:
    """Yield what is to be said of it beside the gases."""
    if pressure is not None:
        limit = ", with no limit stated"
        if shape.gas_limit is not None:
            limit = f"; the limit is {100.0 * shape.gas_limit:.1f} %"
        yield f"total gas pressure behind it is about {percent(pressure)}{limit}"
        if shape.nitrogen is None:
            yield "nitrogen of the water that comes to it is taken in balance with the air"
    yield (
        "what is told of gas pressure at a shaft alone is a caution, not an all-clear: measure it "
        "at the tanks"
    )


def percent(band: Band) -> str:
    """Write a share with its range in per cent."""
    value, least, most = (f"{100.0 * x:.1f}" for x in (band.value, band.least, band.most))
    return f"{value} % ({least} to {most} %)"
