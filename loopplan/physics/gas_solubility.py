"""How much oxygen, nitrogen and carbon dioxide water holds, and total gas pressure.

Range of every function of temperature: 0 to 40 degC and 0 to 42 g/kg.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.air import OXYGEN_SHARE
from loopplan.physics.water import density, vapour_pressure

ATMOSPHERE = 101325.0
"""Standard atmosphere [Pa]."""

INERT_SHARE = 1.0 - OXYGEN_SHARE
"""Nitrogen in dry air by volume, argon and the rest counted with it [-]."""

CARBON_DIOXIDE_SHARE = 420e-6
"""Carbon dioxide in outdoor air by volume [-]; common practice. Halls hold more."""

CARBON_DIOXIDE_MOLAR_MASS = 0.0440095
"""Molar mass of carbon dioxide [kg/mol]."""

_NITROGEN_MOLAR_MASS = 0.0280134


def _state(temperature: Numbers, salinity: Numbers) -> tuple[Array, Array]:
    return (
        within("temperature", temperature, 0.0, 40.0, "degC"),
        within("salinity", salinity, 0.0, 42.0, "g/kg"),
    )


def oxygen_solubility(
    temperature: Numbers, salinity: Numbers = 0.0, pressure: Numbers = ATMOSPHERE
) -> Array:
    """Oxygen in water that stands with moist air.

    Args:
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.
        pressure: absolute pressure of the air [Pa], 5e4 to 3e5 (formula made for near 1
            atmosphere).

    Returns:
        Dissolved oxygen [kg/m3]; within 0.2 % near one atmosphere.

    Raises:
        ValueError: outside a range.

    Source: `benson-krause-1984`.
    """
    t, s = _state(temperature, salinity)
    p = within("pressure", pressure, 5e4, 3e5, "Pa") / ATMOSPHERE
    k = t + 273.15
    fresh = -139.34411 + 1.575701e5 / k - 6.642308e7 / k**2 + 1.243800e10 / k**3
    salt = s * (0.017674 - 10.754 / k + 2140.7 / k**2)
    one = np.exp(fresh - 8.621949e11 / k**4 - salt)
    u = np.exp(11.8571 - 3840.70 / k - 216961.0 / k**2)
    theta = 0.000975 - 1.426e-5 * t + 6.436e-8 * t**2
    return np.asarray(1e-3 * one * (p - u) * (1.0 - theta * p) / ((1.0 - u) * (1.0 - theta)))[()]


def nitrogen_solubility(
    temperature: Numbers, salinity: Numbers = 0.0, pressure: Numbers = ATMOSPHERE
) -> Array:
    """Nitrogen in water that stands with moist air.

    Args:
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.
        pressure: absolute pressure of the air [Pa], 5e4 to 3e5.

    Returns:
        Dissolved nitrogen, argon not in it [kg/m3]; within 0.3 %.

    Raises:
        ValueError: outside a range.

    Source: `hamme-emerson-2004`.
    """
    t, s = _state(temperature, salinity)
    p = within("pressure", pressure, 5e4, 3e5, "Pa")
    x = np.log((298.15 - t) / (273.15 + t))
    per_kg = np.exp(
        6.42931 + x * (2.92704 + x * (4.32531 + x * 4.69149))
        - s * (7.44129e-3 + x * (8.02566e-3 + x * 1.46775e-2))
    )  # fmt: skip
    wet = vapour_pressure(t, s)
    share = (p - wet) / (ATMOSPHERE - wet)
    return np.asarray(1e-6 * per_kg * _NITROGEN_MOLAR_MASS * density(t, s) * share)[()]


def carbon_dioxide_k0(temperature: Numbers, salinity: Numbers = 0.0) -> Array:
    """Solubility of carbon dioxide by its partial pressure.

    Args:
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.

    Returns:
        K0 [mol/(kg atm)]; within 0.3 %.

    Raises:
        ValueError: outside a range.

    Source: `weiss-1974`.
    """
    t, s = _state(temperature, salinity)
    h = (t + 273.15) / 100.0
    fresh = -60.2409 + 93.4517 / h + 23.3585 * np.log(h)
    salt = s * (0.023517 + h * (-0.023656 + h * 0.0047036))
    return np.asarray(np.exp(fresh + salt))[()]


def carbon_dioxide_saturation(
    temperature: Numbers,
    salinity: Numbers = 0.0,
    pressure: Numbers = ATMOSPHERE,
    share: Numbers = CARBON_DIOXIDE_SHARE,
) -> Array:
    """Dissolved carbon dioxide of water that stands with air.

    Args:
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.
        pressure: absolute pressure of the air [Pa], above 0.
        share: carbon dioxide in the air by volume [-].

    Returns:
        Dissolved carbon dioxide [kg/m3], bicarbonate not in it.

    Raises:
        ValueError: outside a range.

    Source: `weiss-1974`; vapour in the air and its departure from ideal are not counted (under
    0.5 % each below 15 degC, 4 % of vapour at 30 degC).
    """
    atmospheres = positive("pressure", pressure, "Pa") / ATMOSPHERE * share
    per_kg = carbon_dioxide_k0(temperature, salinity) * atmospheres
    return np.asarray(per_kg * CARBON_DIOXIDE_MOLAR_MASS * density(temperature, salinity))[()]


def total_gas_pressure(
    oxygen: Numbers,
    nitrogen: Numbers,
    temperature: Numbers,
    salinity: Numbers = 0.0,
    atmosphere: Numbers = ATMOSPHERE,
) -> Array:
    """Pressure of all dissolved gases over that of the air.

    Args:
        oxygen: dissolved oxygen [kg/m3].
        nitrogen: dissolved nitrogen [kg/m3]; argon is taken to go with it.
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.
        atmosphere: absolute pressure of the air over the water [Pa].

    Returns:
        Share [-]: 1 is in balance with the air. Carbon dioxide is left out (0.1 % for 2 mg/L).

    Raises:
        ValueError: outside a range.

    Source: `colt-2012`, from the solubilities here.
    """
    wet = vapour_pressure(temperature, salinity)
    dry = ATMOSPHERE - wet
    of_oxygen = oxygen / oxygen_solubility(temperature, salinity) * OXYGEN_SHARE * dry
    of_rest = nitrogen / nitrogen_solubility(temperature, salinity) * INERT_SHARE * dry
    return np.asarray((of_oxygen + of_rest + wet) / atmosphere)[()]
