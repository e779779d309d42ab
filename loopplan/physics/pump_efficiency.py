"""Kind and efficiency of a rotating pump from its duty.

Speeds of rotation are in turns a minute [1/min] here, as in the specific speed n_q, whose class
limits are printed in that unit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.constants import GRAVITY


@dataclass(frozen=True)
class PumpClass:
    """A class of pumps by specific speed.

    Attributes:
        name: its name in the trade.
        low: least specific speed n_q [1/min].
        high: most specific speed n_q [1/min].
    """

    name: str
    low: float
    high: float


PUMP_CLASSES = (
    PumpClass("radial", 10.0, 40.0),
    PumpClass("slow mixed-flow", 40.0, 80.0),
    PumpClass("fast mixed-flow", 80.0, 160.0),
    PumpClass("axial", 160.0, 400.0),
)
"""Classes (`gulich-classes`); books overlap them, here each ends where the next begins."""

LOADED_SPEED_50_HZ: dict[int, float] = {
    2: 2900.0, 4: 1450.0, 6: 960.0, 8: 720.0, 10: 580.0, 12: 480.0,
}  # fmt: skip
"""Speed under load [1/min] by number of poles at 50 Hz, slip of 3 to 4 % included.

Common practice, no source; with 60 Hz it is 1.2 times as high.
"""

DERATING = 0.85
"""Share of the published efficiency that is taken for pumps as bought [-].

A project assumption: small and low-cost propeller pumps lie well below the published best values,
and no measured wire-to-water value at low head could be reached.
"""


@dataclass(frozen=True)
class SpeedChoice:
    """One motor speed for a duty.

    Attributes:
        poles: number of poles of the motor.
        speed: speed under load [1/min].
        specific_speed: n_q that the duty has at this speed [1/min].
        pump_class: class of pump that this asks for, or None beyond all classes.
    """

    poles: int
    speed: float
    specific_speed: float
    pump_class: PumpClass | None


def hydraulic_power(flow: Numbers, head: Numbers, density: Numbers) -> Array:
    """Power that the water gains.

    Args:
        flow: flow [m3/s].
        head: head added [m].
        density: density [kg/m3].

    Returns:
        Power [W].

    Source: closed form.
    """
    return np.asarray(GRAVITY * density * flow * head)[()]


def specific_speed(speed: Numbers, flow: Numbers, head: Numbers, stages: int = 1) -> Array:
    """Specific speed n_q: the speed of a like pump that lifts 1 m3/s by 1 m.

    Args:
        speed: speed [1/min], above 0.
        flow: flow at the best point, of one side of a double-entry impeller [m3/s], above 0.
        head: head at the best point [m], above 0.
        stages: number of stages that share the head.

    Returns:
        n_q [1/min]; times 51.65 it is the specific speed in US units.

    Raises:
        ValueError: outside the range.

    Source: closed form.
    """
    n, q = positive("speed", speed, "1/min"), positive("flow", flow, "m3/s")
    h = positive("head", head, "m") / positive("stages", stages)
    return np.asarray(n * np.sqrt(q) / h**0.75)[()]


def pump_class(specific_speed: float) -> PumpClass | None:
    """Class of pump for a specific speed.

    Args:
        specific_speed: n_q [1/min], above 0.

    Returns:
        The class, or None outside them all: below, the duty wants more speed, more stages or a
        displacement pump; above, it wants less speed or several pumps.

    Source: `gulich-classes`.
    """
    for known in PUMP_CLASSES:
        if known.low <= specific_speed < known.high:
            return known
    return PUMP_CLASSES[-1] if specific_speed == PUMP_CLASSES[-1].high else None


def loaded_speed(poles: int, frequency: float = 50.0) -> float:
    """Speed of a motor under load.

    Args:
        poles: number of poles, one of `LOADED_SPEED_50_HZ`.
        frequency: mains frequency [Hz], 10 to 70.

    Returns:
        Speed [1/min], slip included.

    Raises:
        ValueError: outside the range.

    Source: `trade-practice`.
    """
    if poles not in LOADED_SPEED_50_HZ:
        allowed = ", ".join(str(known) for known in LOADED_SPEED_50_HZ)
        raise ValueError(f"motor with {poles} poles; allowed: {allowed}")
    return LOADED_SPEED_50_HZ[poles] * float(within("frequency", frequency, 10, 70, "Hz")) / 50.0


def speed_choices(flow: float, head: float, frequency: float = 50.0) -> tuple[SpeedChoice, ...]:
    """Which class of pump a duty asks for at each motor speed that there is.

    Args:
        flow: flow [m3/s], above 0.
        head: head [m], above 0.
        frequency: mains frequency [Hz], 10 to 70.

    Returns:
        One choice for each number of poles, fast ones first, with n_q [1/min].

    Raises:
        ValueError: outside the range.

    Source: `gulich-classes`, `trade-practice`.
    """
    found = []
    for poles in LOADED_SPEED_50_HZ:
        speed = loaded_speed(poles, frequency)
        n_q = float(specific_speed(speed, flow, head))
        found.append(SpeedChoice(poles, speed, n_q, pump_class(n_q)))
    return tuple(found)


FORM_LIMIT = 45.0
"""Specific speed n_q [1/min] from which the form for mixed-flow and axial pumps is used."""


def best_efficiency(flow: Numbers, specific_speed: Numbers) -> Array:
    """Efficiency at the best point that good practice reaches: an upper limit.

    Bare single-stage pump in clean water, industrial make. What is bought small and cheap lies
    well below; see `DERATING`.

    Args:
        flow: flow at the best point [m3/s], 0.001 to 20.
        specific_speed: n_q [1/min], 5 to 400; below `FORM_LIMIT` the form for radial pumps.

    Returns:
        Efficiency of the pump alone [-].

    Raises:
        ValueError: outside the range.

    Source: `gulich-3-9`.
    """
    q = within("flow", flow, 0.001, 20.0, "m3/s")
    n_q = within("specific speed", specific_speed, 5.0, 400.0, "1/min")
    a = np.where(q <= 1.0, 1.0, 0.5)
    m = 0.1 * a * q**-0.15 * (45.0 / n_q) ** 0.06
    shared = 1.0 - 0.095 * q**-m
    radial = shared - 0.3 * (0.35 - np.log10(n_q / 23.0)) ** 2 * q**-0.05
    axial = shared - 0.09 * np.log10(np.maximum(n_q, FORM_LIMIT) / 45.0) ** 2.5
    return np.asarray(np.where(n_q < FORM_LIMIT, radial, axial))[()]


def efficiency_at_speed(efficiency: Numbers, speed_ratio: Numbers) -> Array:
    """Efficiency of a pump at another speed, at the point that corresponds.

    Args:
        efficiency: efficiency at the stated speed [-], above 0 to 1.
        speed_ratio: speed over stated speed [-], 0.2 to 1.5.

    Returns:
        1 - (1 - efficiency) / ratio^0.1 [-], not below 0.

    Raises:
        ValueError: outside the range.

    Source: `sarbu-borza-1998`.
    """
    eta = within("efficiency", positive("efficiency", efficiency), 0.0, 1.0)
    r = within("speed ratio", speed_ratio, 0.2, 1.5)
    return np.asarray(np.maximum(1.0 - (1.0 - eta) * r**-0.1, 0.0))[()]


def wire_to_water(
    pump_efficiency: Numbers, motor_efficiency: Numbers, drive_efficiency: Numbers = 1.0
) -> Array:
    """Efficiency from the mains to the water.

    Args:
        pump_efficiency: that of the pump [-], above 0 to 1.
        motor_efficiency: that of the motor at its load [-], above 0 to 1.
        drive_efficiency: that of the frequency converter [-], above 0 to 1; 1 without one.

    Returns:
        Their product [-].

    Raises:
        ValueError: outside the range.

    Source: closed form.
    """
    product = np.asarray(1.0)
    for name, value in (
        ("pump efficiency", pump_efficiency),
        ("motor efficiency", motor_efficiency),
        ("drive efficiency", drive_efficiency),
    ):
        product = product * within(name, positive(name, value), 0.0, 1.0)
    return np.asarray(product)[()]


def energy_per_volume(head: Numbers, density: Numbers, efficiency: Numbers) -> Array:
    """Energy that a lift takes from the mains for each cubic metre of water.

    Args:
        head: head added [m].
        density: density [kg/m3].
        efficiency: wire to water [-], above 0.

    Returns:
        Energy [J/m3]; 3600 J/m3 are 1 Wh/m3.

    Raises:
        ValueError: efficiency that is not above zero.

    Source: closed form.
    """
    return np.asarray(GRAVITY * density * head / positive("efficiency", efficiency))[()]
