"""Fresh and sea water at atmospheric pressure: density, viscosity, vapour pressure.

Salinity is the practical salinity that a probe shows, written in g/kg. The absolute salinity of
standard sea water is 0.48 % higher, which is 0.13 kg/m3 of density at 35 g/kg.

Range of every function of temperature: -2 to 40 degC (ITS-90) and 0 to 42 g/kg.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, within

_COLD, _WARM, _SALTY = -2.0, 40.0, 42.0


def _state(temperature: Numbers, salinity: Numbers) -> tuple[Array, Array]:
    return (
        within("temperature", temperature, _COLD, _WARM, "degC"),
        within("salinity", salinity, 0.0, _SALTY, "g/kg"),
    )


def density(temperature: Numbers, salinity: Numbers = 0.0) -> Array:
    """Density of fresh or sea water at one atmosphere.

    Args:
        temperature: temperature, ITS-90 [degC], -2 to 40.
        salinity: salinity [g/kg], 0 to 42.

    Returns:
        Density [kg/m3]. Standard error of the equation 0.004 kg/m3.

    Raises:
        ValueError: outside the range.

    Source: `eos-80` (the equation is written in IPTS-68, t68 = 1.00024 t90).
    """
    t90, s = _state(temperature, salinity)
    t = 1.00024 * t90
    fresh = 999.842594 + t * (
        6.793952e-2 + t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9)))
    )
    a = 8.24493e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)))
    b = -5.72466e-3 + t * (1.0227e-4 - t * 1.6546e-6)
    return np.asarray(fresh + s * (a + b * np.sqrt(s) + 4.8314e-4 * s))[()]


def viscosity(temperature: Numbers, salinity: Numbers = 0.0) -> Array:
    """Dynamic viscosity of fresh or sea water at one atmosphere.

    The salt factor of Sharqawy is put on the fresh-water formula of IAPWS in place of his own
    (they differ by less than 0.05 %), so that there is no step at zero salinity.

    Args:
        temperature: temperature, ITS-90 [degC], -2 to 40 (fresh water below 0: supercooled).
        salinity: salinity [g/kg], 0 to 42.

    Returns:
        Dynamic viscosity [Pa s]; within 1 % fresh, 1.5 % salt.

    Raises:
        ValueError: outside the range.

    Source: `iapws-sr6` for fresh water, `sharqawy-2010` eq. 22 for the salt factor.
    """
    t, s = _state(temperature, salinity)
    r = (t + 273.15) / 300.0
    fresh = 1e-6 * (280.68 * r**-1.9 + 511.45 * r**-7.7 + 61.131 * r**-19.6 + 0.45903 * r**-40.0)
    a = 1.541 + t * (1.998e-2 - t * 9.52e-5)
    b = 7.974 + t * (-7.561e-2 + t * 4.724e-4)
    share = s / 1000.0
    return np.asarray(fresh * (1.0 + share * (a + share * b)))[()]


def kinematic_viscosity(temperature: Numbers, salinity: Numbers = 0.0) -> Array:
    """Kinematic viscosity of fresh or sea water at one atmosphere.

    Args:
        temperature: temperature, ITS-90 [degC], -2 to 40.
        salinity: salinity [g/kg], 0 to 42.

    Returns:
        Kinematic viscosity [m2/s].

    Raises:
        ValueError: outside the range.

    Source: `iapws-sr6`, `sharqawy-2010`, `eos-80`.
    """
    return np.asarray(viscosity(temperature, salinity) / density(temperature, salinity))[()]


def vapour_pressure(temperature: Numbers, salinity: Numbers = 0.0) -> Array:
    """Vapour pressure of fresh or sea water.

    Args:
        temperature: temperature, ITS-90 [degC], -2 to 40.
        salinity: salinity [g/kg], 0 to 42.

    Returns:
        Absolute vapour pressure [Pa]; within 0.1 %.

    Raises:
        ValueError: outside the range.

    Source: `iapws-sr1` for fresh water, `sharqawy-2010` for the salt factor.
    """
    t, s = _state(temperature, salinity)
    kelvin = t + 273.15
    x = 1.0 - kelvin / 647.096
    power = (
        -7.85951783 * x
        + 1.84408259 * x**1.5
        - 11.7866497 * x**3
        + 22.6807411 * x**3.5
        - 15.9618719 * x**4
        + 1.80122502 * x**7.5
    )
    fresh = 22.064e6 * np.exp(647.096 / kelvin * power)
    return np.asarray(fresh / (1.0 + 0.57357 * s / (1000.0 - s)))[()]


def atmospheric_pressure(altitude: Numbers) -> Array:
    """Mean pressure of the standard atmosphere.

    Args:
        altitude: height above the sea [m], -500 to 5000.

    Returns:
        Absolute pressure [Pa]. Weather moves it by some 3 %.

    Raises:
        ValueError: outside the range.

    Source: `iso-2533` (troposphere, 6.5 K per km).
    """
    z = within("altitude", altitude, -500.0, 5000.0, "m")
    return np.asarray(101325.0 * (1.0 - 0.0065 * z / 288.15) ** 5.25588)[()]
