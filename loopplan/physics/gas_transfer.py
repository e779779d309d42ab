"""What the air of an airlift adds to the water and takes from it.

The bubbles of an airlift are coarse, and rise with the water. What they do in one pass is told
by one number, the transfer number N = kLa V / Q: a gas goes the share 1 - exp(-N) of the way to
its balance with the bubbles. N comes from the published transfer efficiency of coarse bubbles
per metre of depth in clean water, brought to the site.

None of this was measured in an airlift shaft; the efficiency per metre is a band.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.air import GAS_CONSTANT_DRY, OXYGEN_MASS_SHARE
from loopplan.physics.constants import GRAVITY
from loopplan.physics.gas_solubility import (
    ATMOSPHERE,
    CARBON_DIOXIDE_SHARE,
    carbon_dioxide_k0,
    carbon_dioxide_saturation,
    nitrogen_solubility,
    oxygen_solubility,
    total_gas_pressure,
)
from loopplan.physics.water import density, vapour_pressure

TRANSFER_PER_METRE = (0.010, 0.020, 0.029)
"""Share of its oxygen that coarse-bubble air gives up per metre of depth [1/m], in clean water of
20 degC without oxygen: least, expected, most.

Expected and most: `mueller-2002` table 3.13, alpha taken out (2.00 to 2.91 % per metre). Least:
order of magnitude from transfer rates of airlifts of 0.1 to 0.2 m (`hearn-2007`).
"""

TRANSFER_DEPTHS = (3.8, 5.8)
"""Depths [m] within which the table was measured; most farms' shafts are shallower."""

MID_DEPTH = 0.40
"""Share of the depth at whose pressure water and bubbles balance [-] (`metcalf-eddy-5`)."""

THETA = 1.024
"""Rise of the transfer rate per degree [-] (`asce-2-06`)."""

NITROGEN_RATE, CARBON_DIOXIDE_RATE = 0.94, 0.89
"""Transfer rate over that of oxygen [-] (`tsivoglou-1968`)."""


def bubble_pressure(
    depth: Numbers, atmosphere: Numbers = ATMOSPHERE, water_density: Numbers = 998.2
) -> Array:
    """Pressure at which water and bubbles balance.

    Args:
        depth: depth of the diffusers under the surface [m].
        atmosphere: absolute pressure of the air over the water [Pa].
        water_density: density of the water [kg/m3].

    Returns:
        Absolute pressure [Pa].

    Source: `metcalf-eddy-5` (0.40 of the depth).
    """
    return np.asarray(atmosphere + MID_DEPTH * water_density * GRAVITY * np.asarray(depth))[()]


def transfer_number(
    flow: Numbers,
    dry_air: Numbers,
    depth: Numbers,
    per_metre: Numbers,
    temperature: Numbers,
    alpha: Numbers,
    fouling: Numbers = 1.0,
) -> Array:
    """Transfer number of oxygen of one pass.

    Args:
        flow: water flow [m3/s], above 0.
        dry_air: dry air [kg/s].
        depth: depth of the diffusers [m].
        per_metre: standard transfer efficiency per metre [1/m]; see `TRANSFER_PER_METRE`.
        temperature: temperature of the water [degC].
        alpha: transfer rate in this water over that in clean water [-]; 0.7 to 1 in farms.
        fouling: transfer rate of the diffusers over that of new ones [-].

    Returns:
        N = kLa V / Q [-].

    Source: `asce-2-06`.
    """
    standard = OXYGEN_MASS_SHARE * dry_air * per_metre * depth
    saturation = oxygen_solubility(20.0, 0.0, bubble_pressure(depth))
    at_site = alpha * fouling * THETA ** (np.asarray(temperature) - 20.0)
    return np.asarray(at_site * standard / (flow * saturation))[()]


def after_pass(dissolved: Numbers, balance: Numbers, number: Numbers) -> Array:
    """Content of a gas after one pass.

    Args:
        dissolved: content before [kg/m3].
        balance: content in balance with the bubbles [kg/m3].
        number: transfer number [-].

    Returns:
        Content after [kg/m3], between the two.

    Source: `asce-2-06` (first order, closed form).
    """
    return np.asarray(balance + (dissolved - np.asarray(balance)) * np.exp(-np.asarray(number)))[()]


def oxygen_added(
    flow: Numbers,
    number: Numbers,
    dissolved: Numbers,
    depth: Numbers,
    temperature: Numbers,
    salinity: Numbers = 0.0,
    atmosphere: Numbers = ATMOSPHERE,
    beta: Numbers = 1.0,
) -> Array:
    """Oxygen that an airlift's air adds in one pass.

    Args:
        flow: water flow [m3/s].
        number: transfer number of oxygen [-], from `transfer_number`.
        dissolved: oxygen of the water that enters [kg/m3].
        depth: depth of the diffusers [m].
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.
        atmosphere: absolute pressure of the air over the water [Pa].
        beta: saturation in this water over that in clean water of its salinity [-], 0.95 to 1.

    Returns:
        Oxygen [kg/s]. Below zero where the water holds more than its balance with the bubbles:
        the airlift blows oxygen off.

    Raises:
        ValueError: outside the range of the solubility.

    Source: `asce-2-06`, `benson-krause-1984`.
    """
    pressure = bubble_pressure(depth, atmosphere, density(temperature, salinity))
    balance = beta * oxygen_solubility(temperature, salinity, pressure)
    return np.asarray(flow * (after_pass(dissolved, balance, number) - dissolved))[()]


def gas_pressure_after(
    number: Numbers,
    oxygen: Numbers,
    nitrogen: Numbers,
    depth: Numbers,
    temperature: Numbers,
    salinity: Numbers = 0.0,
    atmosphere: Numbers = ATMOSPHERE,
) -> Array:
    """Total gas pressure of the water after one pass through an airlift.

    Bubbles balance at 0.40 of the depth, so that deep injection drives nitrogen in.

    Args:
        number: transfer number of oxygen [-], from `transfer_number`.
        oxygen: oxygen of the water that enters [kg/m3].
        nitrogen: nitrogen of the water that enters [kg/m3].
        depth: depth of the diffusers [m].
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.
        atmosphere: absolute pressure of the air over the water [Pa].

    Returns:
        Pressure of the dissolved gases over that of the air [-].

    Raises:
        ValueError: outside the range of a solubility.

    Source: `tsivoglou-1968`, `colt-2012`, `metcalf-eddy-5`.
    """
    pressure = bubble_pressure(depth, atmosphere, density(temperature, salinity))
    more_oxygen = after_pass(oxygen, oxygen_solubility(temperature, salinity, pressure), number)
    more_nitrogen = after_pass(
        nitrogen,
        nitrogen_solubility(temperature, salinity, pressure),
        NITROGEN_RATE * np.asarray(number),
    )
    return total_gas_pressure(more_oxygen, more_nitrogen, temperature, salinity, atmosphere)


def single_stage_share(
    flow: Numbers,
    dry_air: Numbers,
    temperature: Numbers,
    salinity: Numbers = 0.0,
    atmosphere: Numbers = ATMOSPHERE,
) -> Array:
    """Share of the surplus carbon dioxide that air can take, at most, in one stage.

    Water and air leave in balance: none that flows the same way as the water takes more.

    Args:
        flow: water flow [m3/s], above 0.
        dry_air: dry air [kg/s].
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.
        atmosphere: absolute pressure of the air over the water [Pa].

    Returns:
        Share [-] of what the water holds over its balance with the air that goes in.

    Raises:
        ValueError: outside the range of the solubility.

    Source: `weiss-1974` and the balance of the gas (closed form).
    """
    kelvin = np.asarray(temperature) + 273.15
    wet = vapour_pressure(temperature, salinity)
    gas = dry_air * GAS_CONSTANT_DRY * kelvin / (atmosphere - wet)
    # Content of the water over that of the gas, both by volume.
    k0 = carbon_dioxide_k0(temperature, salinity) * density(temperature, salinity)
    ratio = k0 / ATMOSPHERE * 8.314462618 * kelvin
    return np.asarray(gas / (gas + ratio * flow))[()]


def carbon_dioxide_stripped(
    flow: Numbers,
    dry_air: Numbers,
    number: Numbers,
    dissolved: Numbers,
    temperature: Numbers,
    salinity: Numbers = 0.0,
    atmosphere: Numbers = ATMOSPHERE,
    air_share: Numbers = CARBON_DIOXIDE_SHARE,
) -> Array:
    """Carbon dioxide that an airlift's air takes in one pass.

    Bubbles and water rise together, so that the bubbles fill up on the way: with the share E
    of a single stage, E (1 - exp(-N/E)) is taken, never more than E. Bicarbonate that
    turns into carbon dioxide on the way is not counted.

    Args:
        flow: water flow [m3/s], above 0.
        dry_air: dry air [kg/s], 0 and up.
        number: transfer number of oxygen [-], from `transfer_number`.
        dissolved: carbon dioxide of the water that enters [kg/m3].
        temperature: temperature [degC], 0 to 40.
        salinity: salinity [g/kg], 0 to 42.
        atmosphere: absolute pressure of the air over the water [Pa].
        air_share: carbon dioxide of the air that is blown in, by volume [-].

    Returns:
        Carbon dioxide [kg/s]; below zero where the air brings more than the water holds.

    Raises:
        ValueError: outside the range of the solubility.

    Source: `weiss-1974`, `tsivoglou-1968`, and the balance of the gas (closed form).
    """
    most = single_stage_share(flow, dry_air, temperature, salinity, atmosphere)
    filling = CARBON_DIOXIDE_RATE * np.asarray(number) / np.maximum(most, 1e-300)
    share = -most * np.expm1(-filling)
    floor = carbon_dioxide_saturation(temperature, salinity, atmosphere, air_share)
    return np.asarray(flow * share * (dissolved - floor))[()]
