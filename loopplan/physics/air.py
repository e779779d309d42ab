"""Air: density, humidity, and one air flow told at several states.

Air is an ideal gas here (dry air at 0 to 60 degC and up to 2 bar departs from it by less than
0.1 %). What is conserved along an air line and up an airlift is the *dry* air; water vapour joins
it or leaves it. A volume of air means nothing without its state: three are in use in the trade.

- *normal*: 0 degC, 101.325 kPa, dry (`NORMAL`);
- *standard* or *free*: 20 degC, 101.325 kPa, dry (`STANDARD`); blower makers of North America
  mean the same with 36 % humidity, which makes 0.8 % of volume;
- *inlet*: what the blower draws in on site (`inlet_state`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.water import atmospheric_pressure

KELVIN = 273.15
"""0 degC [K]."""

GAS_CONSTANT_DRY = 8.314462618 / 0.0289647
"""Gas constant of dry air [J/(kg K)], molar mass 28.9647 g/mol (`iso-2533` has 28.9644)."""

GAS_CONSTANT_VAPOUR = 8.314462618 / 0.01801528
"""Gas constant of water vapour [J/(kg K)]."""

OXYGEN_SHARE = 0.20946
"""Oxygen in dry air by volume [-] (`iso-2533`)."""

OXYGEN_MASS_SHARE = OXYGEN_SHARE * 31.9988 / 28.9647
"""Oxygen in dry air by mass [-]."""


@dataclass(frozen=True)
class AirState:
    """The state at which a volume of air is told.

    Attributes:
        temperature: temperature [degC], -40 to 200.
        pressure: absolute pressure [Pa], above 0.
        humidity: relative humidity [-], 0 to 1; above 60 degC only 0 (dry).
    """

    temperature: Numbers
    pressure: Numbers
    humidity: Numbers = 0.0


NORMAL = AirState(0.0, 101325.0)
"""Normal state: 0 degC, 101.325 kPa, dry."""

STANDARD = AirState(20.0, 101325.0)
"""Standard state, which is free air here: 20 degC, 101.325 kPa, dry."""


def inlet_state(
    altitude: Numbers, temperature: Numbers = 20.0, humidity: Numbers = 0.0
) -> AirState:
    """State of the air that a blower draws in on site, filter loss not counted.

    Args:
        altitude: height above the sea [m], -500 to 5000.
        temperature: temperature of the air [degC], -40 to 60.
        humidity: relative humidity [-], 0 to 1.

    Returns:
        The state, at the pressure of the standard atmosphere.

    Raises:
        ValueError: if the altitude is outside its range.

    Source: `iso-2533`.
    """
    return AirState(temperature, atmospheric_pressure(altitude), humidity)


def saturation_pressure(temperature: Numbers) -> Array:
    """Pressure of water vapour in saturated air (over water, below 0 degC too).

    Args:
        temperature: temperature [degC], -40 to 60.

    Returns:
        Vapour pressure [Pa]; within 0.5 %.

    Raises:
        ValueError: outside the range.

    Source: `wmo-8-magnus`.
    """
    t = within("air temperature", temperature, -40.0, 60.0, "degC")
    return np.asarray(611.2 * np.exp(17.62 * t / (243.12 + t)))[()]


def _parts(state: AirState) -> tuple[Array, Array, Array]:
    """Return temperature [K], pressure of the dry air [Pa] and of the vapour [Pa]."""
    t = within("air temperature", state.temperature, -40.0, 200.0, "degC")
    pressure = positive("air pressure", state.pressure, "Pa")
    humidity = within("relative humidity", state.humidity, 0.0, 1.0)
    damp = humidity > 0.0
    if np.any(damp & (t > 60.0)):
        raise ValueError("relative humidity above 60 degC; allowed: 0 (give dry air)")
    vapour = np.where(damp, humidity * saturation_pressure(np.minimum(t, 60.0)), 0.0)
    dry = positive("pressure of the dry air", pressure - vapour, "Pa")
    return t + KELVIN, dry, vapour


def dry_density(state: AirState) -> Array:
    """Mass of dry air in a volume of air.

    Args:
        state: state of the air.

    Returns:
        Dry air [kg/m3].

    Raises:
        ValueError: if the state is outside its range.

    Source: `ideal-gas`.
    """
    kelvin, dry, _ = _parts(state)
    return np.asarray(dry / (GAS_CONSTANT_DRY * kelvin))[()]


def air_density(state: AirState) -> Array:
    """Density of air, its vapour included.

    Args:
        state: state of the air.

    Returns:
        Density [kg/m3]; within 0.2 %.

    Raises:
        ValueError: if the state is outside its range.

    Source: `ideal-gas`, `wmo-8-magnus`.

    >>> float(air_density(STANDARD))
    1.2041
    """
    kelvin, dry, vapour = _parts(state)
    return np.asarray((dry / GAS_CONSTANT_DRY + vapour / GAS_CONSTANT_VAPOUR) / kelvin)[()]


def dry_mass_flow(flow: Numbers, state: AirState) -> Array:
    """Dry air carried by a volume flow.

    Args:
        flow: air flow [m3/s] at the state.
        state: state at which the flow is told.

    Returns:
        Dry air [kg/s].

    Raises:
        ValueError: if the state is outside its range.

    Source: `ideal-gas`.
    """
    return np.asarray(flow * dry_density(state))[()]


def volume_flow(dry_mass: Numbers, state: AirState) -> Array:
    """Volume flow that carries an amount of dry air.

    Args:
        dry_mass: dry air [kg/s].
        state: state at which the flow is wanted.

    Returns:
        Air flow [m3/s] at the state.

    Raises:
        ValueError: if the state is outside its range.

    Source: `ideal-gas`.
    """
    return np.asarray(dry_mass / dry_density(state))[()]


def convert_flow(flow: Numbers, given: AirState, wanted: AirState) -> Array:
    """Tell an air flow at another state; the dry air stays the same.

    Args:
        flow: air flow [m3/s] at the state `given`.
        given: state at which it is told.
        wanted: state at which it is wanted.

    Returns:
        Air flow [m3/s] at the state `wanted`.

    Raises:
        ValueError: if a state is outside its range.

    Source: `ideal-gas`.

    >>> float(convert_flow(1.0, NORMAL, STANDARD))
    1.0732
    """
    return volume_flow(dry_mass_flow(flow, given), wanted)


def isothermal_power(flow: Numbers, pressure: Numbers, delivery_pressure: Numbers) -> Array:
    """Power of lossless isothermal compression: the least that can press air to depth.

    Args:
        flow: air flow [m3/s] at the pressure `pressure`.
        pressure: absolute pressure from which it is taken [Pa], above 0.
        delivery_pressure: absolute pressure to which it is brought [Pa], above 0.

    Returns:
        Power [W]; below zero where the air expands.

    Raises:
        ValueError: if a pressure is not above zero.

    Source: `ideal-gas` (closed form).
    """
    low = positive("pressure", pressure, "Pa")
    high = positive("delivery pressure", delivery_pressure, "Pa")
    return np.asarray(flow * low * np.log(high / low))[()]
