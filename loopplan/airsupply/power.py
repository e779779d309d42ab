"""Power of the blowers of a header, by class, with the range that the class leaves."""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.lifts.pumps import Motor
from loopplan.physics import motor_choice
from loopplan.physics.blower_classes import BLOWERS
from loopplan.physics.blowers import blower_power, ideal_power
from loopplan.physics.motors import drive_efficiency
from loopplan.scenario.air import Blower

POWER_SOURCES = ("metcalf-eddy-5-77", "iec-60034-30-1", "cfr-431-y", "doe-motor-tip-11")


Three = tuple[float, float, float]
"""A figure in the middle of the class, at its best and at its worst efficiency."""


@dataclass(frozen=True)
class BlowerPower:
    """Power of all running blowers of a header [W].

    `ideal` is that of the lossless cycle of their class.
    """

    ideal: float
    shaft: Three
    electric: Three


def efficiencies(blower: Blower) -> Three:
    """Return efficiency in the middle, at best and at worst [-], as its class takes it."""
    if blower.efficiency is not None:
        return (blower.efficiency,) * 3
    low, high = BLOWERS[blower.class_].efficiency
    return 0.5 * (low + high), high, low


def shaft_efficiency(blower: Blower, efficiency: float, rated: float) -> float:
    """Return the efficiency at the shaft [-] of one that may be told from the mains."""
    if BLOWERS[blower.class_].taken == "shaft":
        return efficiency
    return min(efficiency / _motor(blower.motor, rated), 1.0)


def _motor(motor: Motor, rated: float) -> float:
    return float(motor_choice.full_load_efficiency(rated, motor.efficiency_class))


def rated_output(blower: Blower, inlet: float, delivery: float) -> float:
    """Return the rated output of one blower's motor [W].

    As stated, or the next standard size above the shaft power at full speed and a delivery
    pressure, both absolute [Pa], with the stated reserve.
    """
    motor = blower.motor
    if motor.power is not None:
        return motor.power
    middle = efficiencies(blower)[0]
    shaft = float(blower_power(blower.air, inlet, max(delivery, 1.0001 * inlet), middle))
    if BLOWERS[blower.class_].taken == "wire":
        shaft *= _motor(motor, shaft)
    return motor_choice.rated_output(shaft, 1.0 + motor.reserve)


def power(
    blower: Blower, running: float, drawn: float, inlet: float, delivery: float, rated: float
) -> BlowerPower:
    """Return the power of `running` like blowers that draw in `drawn` [m3/s] together.

    Between the absolute pressures `inlet` and `delivery` [Pa], each with a motor of `rated`
    output [W].
    """
    one = drawn / running
    middle, best, worst = (
        _both(blower, float(blower_power(one, inlet, max(delivery, inlet), efficiency)), rated)
        for efficiency in efficiencies(blower)
    )
    shaft, electric = (
        (running * a, running * b, running * c) for a, b, c in zip(middle, best, worst, strict=True)
    )
    cycle = BLOWERS[blower.class_].cycle
    ideal = float(ideal_power(cycle, drawn, inlet, max(delivery, inlet)))
    return BlowerPower(ideal, shaft, electric)


def _both(blower: Blower, taken: float, rated: float) -> tuple[float, float]:
    """Power at the shaft and from the mains [W] of one blower."""
    motor = blower.motor
    by_converter = motor.drive == "frequency converter"
    if BLOWERS[blower.class_].taken == "wire":
        at_full_load = _motor(motor, rated)
        load = min(taken * at_full_load / rated, motor_choice.MOST_LOAD)
        drive = float(drive_efficiency(rated, load)) if by_converter else 1.0
        return taken * at_full_load, taken / drive
    # Beyond what is known of motors the loss is taken on in proportion; a finding says so.
    way = "converter" if by_converter else "none"
    return taken, float(motor_choice.mains_power(taken, rated, motor.efficiency_class, way))
