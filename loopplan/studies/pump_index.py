"""What the minimum efficiency index asks of a centrifugal pump, inside its range."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopplan.lifts.pumps import CentrifugalPump
from loopplan.physics.curve_fit import curve_by_points, curve_value
from loopplan.physics.minimum_efficiency import MINIMUM_EFFICIENCY_C, minimum_efficiency

if TYPE_CHECKING:
    from loopplan.studies.device_pumps import PumpStudy

INDEX = 0.40
"""Index that pumps put on the EU market must reach [-]."""

_NEAR = 0.1
"""Share by which a full speed may differ from a nominal one, so that it counts as it [-]."""


def index_words(study: PumpStudy) -> str:
    """Return in words what the index asks of a pump at its best point, or that it asks nothing.

    The best point is that of the stated efficiency, or else the duty of the largest flow.
    """
    stated, speed = study.stated, study.full_speed
    if speed is None or study.curve is None:
        return ""
    pump = stated if isinstance(stated, CentrifugalPump) else CentrifugalPump.model_validate({})
    design = pump.design
    law = f"minimum efficiency index {INDEX:.2f} (EU 547/2012, {design})"
    near = [n for n in MINIMUM_EFFICIENCY_C[design] if abs(speed / n - 1.0) <= _NEAR]
    if not near:
        listed = " or ".join(str(n) for n in MINIMUM_EFFICIENCY_C[design])
        return (
            f"outside the range of the {law}: {speed:.0f} turns a minute are not near the nominal "
            f"{listed}"
        )
    flow, head, have = _best(study)
    try:
        asked = minimum_efficiency(design, near[0], flow, head, INDEX, study.stages)
    except ValueError as error:
        return f"outside the range of the {law}: {error}"
    words = f"the {law} asks for {100.0 * asked:.0f} % at its best point"
    if have is None:
        return f"{words}; its efficiency there is not stated"
    reached = "reaches that" if have >= asked else "stays below that"
    return f"{words}; it has {100.0 * have:.0f} % and {reached}"


def _best(study: PumpStudy) -> tuple[float, float, float | None]:
    """Flow [m3/s] and head [m] of the best point, and the stated efficiency there [-]."""
    stated, duty = study.stated, study.design
    if stated is None or not stated.efficiency:
        return duty.flow, study.head(duty), None
    curve = curve_by_points(*zip(*stated.efficiency, strict=True))
    flows = np.linspace(curve.x[0], curve.x[-1], 201)
    values = curve_value(curve, flows)[0]
    best = int(values.argmax())
    assert study.curve is not None
    head = float(curve_value(study.curve, flows[best])[0])
    return float(flows[best]), head, float(values[best])
