"""Pressure lost in air pipes: isothermal flow of an ideal gas.

Air cools little between blower and shaft, so one temperature is taken for a pipe, that at which
it leaves the blower unless something better is known; hot air loses more. Flows are masses of
dry air; `loopplan.physics.air` tells them as volumes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.air import GAS_CONSTANT_DRY, KELVIN
from loopplan.physics.friction import friction_factor

VELOCITY_LIMITS: tuple[tuple[float, float, float], ...] = (
    (0.0875, 6.0, 9.0), (0.275, 9.0, 15.0), (0.675, 14.0, 20.0), (1.5, 19.0, 33.0),
)  # fmt: skip
"""Bore up to which the row is used [m], least and most velocity [m/s] (`metcalf-eddy-air-pipes`).

Printed for bores of 25-75, 100-250, 300-600 and 750-1500 mm; between them the row changes halfway.
"""

EVEN_SPLIT = 0.10
"""Most loss of pipes after the last split over that of the diffusers [-], for an even split.

Common practice, no source.
"""


@dataclass(frozen=True)
class AirPipe:
    """A round air pipe with its fittings.

    Attributes:
        bore: inside diameter [m], above 0.
        length: length [m], 0 and up.
        roughness: sand roughness [m], 0 and up.
        fittings_k: sum of K on the velocity head [-].
        temperature: temperature of the air in it [degC].
    """

    bore: Numbers
    length: Numbers
    roughness: Numbers = 0.0
    fittings_k: Numbers = 0.0
    temperature: Numbers = 20.0


def air_viscosity(temperature: Numbers) -> Array:
    """Dynamic viscosity of air.

    Args:
        temperature: temperature [degC], -40 to 200.

    Returns:
        Dynamic viscosity [Pa s]; within 1 %.

    Raises:
        ValueError: outside the range.

    Source: `iso-2533` (Sutherland's form).
    """
    kelvin = within("air temperature", temperature, -40.0, 200.0, "degC") + KELVIN
    return np.asarray(1.458e-6 * kelvin**1.5 / (kelvin + 110.4))[()]


def _flux_and_k(mass_flow: Numbers, pipe: AirPipe) -> tuple[Array, Array]:
    """Return mass flow over area [kg/(s m2)], and K of friction and fittings [-]."""
    mass = np.abs(np.asarray(mass_flow, dtype=np.float64))
    bore = np.asarray(pipe.bore, dtype=np.float64)
    reynolds = 4.0 * mass / (np.pi * bore * air_viscosity(pipe.temperature))
    factor = friction_factor(np.maximum(reynolds, 1e-9), np.asarray(pipe.roughness) / bore)
    k = np.where(mass > 0.0, factor * pipe.length / bore, 0.0) + pipe.fittings_k
    return np.asarray(mass / (np.pi / 4.0 * bore**2)), np.asarray(k)


def air_velocity(mass_flow: Numbers, pressure: Numbers, pipe: AirPipe) -> Array:
    """Velocity of air in a pipe.

    Args:
        mass_flow: dry air [kg/s].
        pressure: absolute pressure there [Pa], above 0.
        pipe: the pipe.

    Returns:
        Velocity [m/s].

    Raises:
        ValueError: pressure that is not above zero.

    Source: `ideal-gas`.
    """
    volume = GAS_CONSTANT_DRY * (np.asarray(pipe.temperature) + KELVIN)
    area = np.pi / 4.0 * np.asarray(pipe.bore) ** 2
    return np.asarray(mass_flow / area * volume / positive("pressure", pressure, "Pa"))[()]


def velocity_limits(bore: float) -> tuple[float, float]:
    """Velocities at which air pipes are built.

    Args:
        bore: inside diameter [m], above 0 to 1.5.

    Returns:
        Least and most velocity [m/s].

    Raises:
        ValueError: outside the range.

    Source: `metcalf-eddy-air-pipes`.
    """
    d = float(within("bore", positive("bore", bore, "m"), 0.0, VELOCITY_LIMITS[-1][0], "m"))
    row = next(row for row in VELOCITY_LIMITS if d <= row[0])
    return row[1], row[2]


def pressure_before(mass_flow: Numbers, pressure_after: Numbers, pipe: AirPipe) -> Array:
    """Pressure at the head of an air pipe.

    No checks. Good up to half the speed of sound at the end of the pipe.

    Args:
        mass_flow: dry air [kg/s], 0 and up.
        pressure_after: absolute pressure at the end of the pipe [Pa], above 0.
        pipe: the pipe.

    Returns:
        Absolute pressure [Pa]: p1^2 - p2^2 = G^2 R T (f L/D + K + 2 ln(p1/p2)).

    Source: `isothermal-pipe`, `colebrook`.
    """
    flux, k = _flux_and_k(mass_flow, pipe)
    after = np.asarray(pressure_after, dtype=np.float64)
    c = flux**2 * GAS_CONSTANT_DRY * (np.asarray(pipe.temperature) + KELVIN) / after**2
    x = np.sqrt(1.0 + c * k)
    for _ in range(3):
        x = np.sqrt(1.0 + c * (k + 2.0 * np.log(x)))
    # Newton on what is left, its slope kept off zero where the air nears the speed of sound.
    for _ in range(4):
        miss = x * x - 1.0 - c * (k + 2.0 * np.log(x))
        x = x - miss / np.maximum(2.0 * (x - c / x), 0.5 * x)
    return np.asarray(after * x)[()]


def pressure_loss_short(mass_flow: Numbers, mean_pressure: Numbers, pipe: AirPipe) -> Array:
    """Pressure lost in an air pipe, with one density for all of it.

    Within 1 % of `pressure_before` where the loss is below a tenth of the pressure.

    Args:
        mass_flow: dry air [kg/s].
        mean_pressure: absolute pressure halfway [Pa], above 0.
        pipe: the pipe.

    Returns:
        Pressure lost [Pa].

    Raises:
        ValueError: pressure that is not above zero.

    Source: `darcy-weisbach`, `ideal-gas`.
    """
    flux, k = _flux_and_k(mass_flow, pipe)
    kelvin = np.asarray(pipe.temperature) + KELVIN
    density = positive("mean pressure", mean_pressure, "Pa") / (GAS_CONSTANT_DRY * kelvin)
    return np.asarray(k * flux**2 / (2.0 * density))[()]
