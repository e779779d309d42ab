"""The standard motor for a shaft power."""

from __future__ import annotations

from loopplan.physics.motor_tables import OUTPUTS, next_output

_LEAST_SHAFT = 1.0


def rated_output(shaft: float, factor: float) -> float:
    """Return the rated output [W] of the motor for a shaft power [W], `factor` of it [-].

    Above the largest standard motor it is what is needed: several motors, or one to order.
    """
    needed = max(shaft, _LEAST_SHAFT) * factor
    return needed if needed > OUTPUTS[-1] else next_output(needed)
