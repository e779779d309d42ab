"""What an airlift at work is worth: air at three states, efficiency three ways, stall."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.air import NORMAL, STANDARD, AirState, isothermal_power, volume_flow
from loopplan.physics.airlift_column import Balance, Riser, Site
from loopplan.physics.airlift_solve import greatest_lift, water_moved
from loopplan.physics.constants import GRAVITY
from loopplan.physics.two_phase import Closure

NOT_VALIDATED = "not validated at farm size"
"""Stands beside every airlift result: no published table at the size of a farm was reachable."""


@dataclass(frozen=True)
class Performance:
    """An airlift at work.

    Where no water moves, amounts per cubic metre are infinite; without air, efficiencies are 0.

    Attributes:
        air_normal: air at 0 degC, 101.325 kPa, dry [m3/s].
        air_standard: air at 20 degC, 101.325 kPa, dry: free air [m3/s].
        air_inlet: air at the state that the blower draws in [m3/s].
        air_to_water: free air over water by volume [-].
        submergence_ratio: depth of the injector under the inlet level over its depth under the
            outlet level [-].
        driving_head: head saved by gas: lift and all losses [m].
        injection_pressure: pressure at the injector over that of the atmosphere [Pa].
        isothermal_power: least power that presses the air to the injector [W].
        wire_power: power at the blower's terminals, with the loss of the air line [W].
        static_efficiency: lift over isothermal power [-].
        total_efficiency: lift and all losses over isothermal power [-].
        wire_efficiency: lift over power at the terminals, wire to water [-].
        isothermal_energy: isothermal power per water [Wh/m3].
        wire_energy: power at the terminals per water [Wh/m3].
    """

    air_normal: Array
    air_standard: Array
    air_inlet: Array
    air_to_water: Array
    submergence_ratio: Array
    driving_head: Array
    injection_pressure: Array
    isothermal_power: Array
    wire_power: Array
    static_efficiency: Array
    total_efficiency: Array
    wire_efficiency: Array
    isothermal_energy: Array
    wire_energy: Array


def _per(amount: Numbers, base: Numbers, otherwise: float) -> Array:
    above, below = np.broadcast_arrays(np.asarray(amount, float), np.asarray(base, float))
    there = below > 0.0
    return np.asarray(np.where(there, above / np.where(there, below, 1.0), otherwise))[()]


def performance(
    riser: Riser,
    site: Site,
    flow: Numbers,
    dry_air: Numbers,
    lift: Numbers,
    found: Balance,
    inlet: AirState,
    blower_efficiency: Numbers,
    air_loss: Numbers = 0.0,
) -> Performance:
    """Tell what an airlift does and takes.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        flow: water flow [m3/s].
        dry_air: dry air [kg/s].
        lift: outlet level less inlet level [m].
        found: balance at that flow, air and lift.
        inlet: state of the air that the blower draws in; its pressure is that from which
            power is counted.
        blower_efficiency: isothermal power over power at the terminals [-], above 0.
        air_loss: loss of diffusers, pipe and valves between blower and water [Pa].

    Returns:
        The performance.

    Raises:
        ValueError: if the state of the inlet air is outside its range.

    Source: `ideal-gas` (closed form).
    """
    drawn = volume_flow(dry_air, inlet)
    least = isothermal_power(drawn, inlet.pressure, found.injection_pressure)
    wire = (
        isothermal_power(drawn, inlet.pressure, found.injection_pressure + air_loss)
        / blower_efficiency
    )
    weight = np.asarray(site.water_density) * GRAVITY * flow
    free = volume_flow(dry_air, STANDARD)
    depth = np.asarray(riser.submergence)
    return Performance(
        air_normal=volume_flow(dry_air, NORMAL),
        air_standard=free,
        air_inlet=drawn,
        air_to_water=_per(free, flow, np.inf),
        submergence_ratio=_per(depth, depth + lift, 0.0),
        driving_head=found.saved,
        injection_pressure=found.injection_pressure - np.asarray(site.atmosphere),
        isothermal_power=least,
        wire_power=wire,
        static_efficiency=_per(weight * lift, least, 0.0),
        total_efficiency=_per(weight * found.saved, least, 0.0),
        wire_efficiency=_per(weight * lift, wire, 0.0),
        isothermal_energy=_per(least / 3600.0, flow, np.inf),
        wire_energy=_per(wire / 3600.0, flow, np.inf),
    )


@dataclass(frozen=True)
class Stall:
    """How near an airlift is to moving no water.

    Attributes:
        flow: water flow at the lift [m3/s].
        flow_lost: water flow lost by one more centimetre of lift [m3/s].
        lift: lift at which the air moves no water [m].
        margin: that lift less the present one [m]; below zero it has stalled.
    """

    flow: Array
    flow_lost: Array
    lift: Array
    margin: Array


def stall(riser: Riser, site: Site, dry_air: Numbers, lift: Numbers, closure: Closure) -> Stall:
    """Tell how an installed air flow takes a rise of the outlet level.

    The inlet level stays.

    Args:
        riser: the airlift.
        site: water and atmosphere.
        dry_air: installed dry air [kg/s].
        lift: outlet level less inlet level [m].
        closure: drift flux of the gas.

    Returns:
        Flow lost, lift at stall, margin.

    Source: `zuber-findlay-1965`.
    """
    now = water_moved(riser, site, dry_air, lift, closure).flow
    then = water_moved(riser, site, dry_air, np.asarray(lift) + 0.01, closure).flow
    most = greatest_lift(riser, site, 0.0, dry_air, closure)
    return Stall(now, now - then, most, most - lift)
