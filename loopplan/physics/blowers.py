"""Blowers: power of compression, temperature, flow, and the pressures of practice.

A flow here is that of the air drawn in, at the state of the inlet. Pressures are absolute unless
they are called a rise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.air import KELVIN, isothermal_power
from loopplan.physics.blower_classes import CYCLES
from loopplan.physics.constants import GRAVITY

ADIABATIC = 0.4 / 1.4
"""(k - 1)/k of dry air [-], k = 1.4; some handbooks take 0.283 (k = 1.395)."""

NEAR, FAR = 0.5, 1.0
"""Margin on the water column [m] for a blower that stands near, and far. Common practice."""


def ideal_power(
    cycle: str,
    flow: Numbers,
    inlet_pressure: Numbers,
    delivery_pressure: Numbers,
    exponent: float = ADIABATIC,
) -> Array:
    """Power of lossless compression.

    Args:
        cycle: `isochoric` (pushed in against the full back-pressure), `adiabatic` (no heat leaves)
            or `isothermal` (all heat leaves).
        flow: flow at the inlet [m3/s].
        inlet_pressure: absolute pressure at the inlet [Pa], above 0.
        delivery_pressure: absolute pressure at the outlet [Pa], the inlet pressure and up.
        exponent: (k - 1)/k of an adiabatic cycle [-], 0.2 to 0.3.

    Returns:
        Power [W].

    Raises:
        ValueError: outside the range, or a cycle that is not known.

    Source: `metcalf-eddy-5-77`, `ideal-gas`; closed forms.
    """
    if cycle == "isothermal":
        return isothermal_power(flow, inlet_pressure, delivery_pressure)
    ratio = _ratio(inlet_pressure, delivery_pressure)
    work = np.asarray(flow, dtype=np.float64) * inlet_pressure
    if cycle == "isochoric":
        return np.asarray(work * (ratio - 1.0))[()]
    if cycle != "adiabatic":
        raise ValueError(f"'{cycle}' is not a cycle; allowed: {', '.join(CYCLES)}")
    n = float(within("exponent", exponent, 0.2, 0.3))
    return np.asarray(work * (ratio**n - 1.0) / n)[()]


def _ratio(inlet_pressure: Numbers, delivery_pressure: Numbers) -> Array:
    low = positive("inlet pressure", inlet_pressure, "Pa")
    ratio = positive("delivery pressure", delivery_pressure, "Pa") / low
    return within("delivery over inlet pressure", ratio, 1.0, 10.0)


def blower_power(
    flow: Numbers,
    inlet_pressure: Numbers,
    delivery_pressure: Numbers,
    efficiency: Numbers,
    exponent: float = ADIABATIC,
) -> Array:
    """Power that a blower takes.

    Args:
        flow: flow at the inlet [m3/s].
        inlet_pressure: absolute pressure at the inlet, filter loss taken off [Pa], above 0.
        delivery_pressure: absolute pressure at the outlet [Pa], the inlet pressure and up.
        efficiency: lossless adiabatic power over power taken [-], above 0 to 1.
        exponent: (k - 1)/k [-], 0.2 to 0.3.

    Returns:
        Power [W], at the shaft or from the mains as the efficiency is told.

    Raises:
        ValueError: outside the range.

    Source: `metcalf-eddy-5-77`.
    """
    eta = within("efficiency", positive("efficiency", efficiency), 0.0, 1.0)
    ideal = ideal_power("adiabatic", flow, inlet_pressure, delivery_pressure, exponent)
    return np.asarray(ideal / eta)[()]


def delivery_temperature(
    temperature: Numbers,
    inlet_pressure: Numbers,
    delivery_pressure: Numbers,
    efficiency: Numbers,
) -> Array:
    """Temperature of the air as it leaves the blower, no heat lost on the way.

    Args:
        temperature: temperature at the inlet [degC], -40 to 60.
        inlet_pressure: absolute pressure at the inlet [Pa], above 0.
        delivery_pressure: absolute pressure at the outlet [Pa], the inlet pressure and up.
        efficiency: lossless adiabatic power over shaft power [-], above 0 to 1; told from the
            mains it gives too high a temperature.

    Returns:
        Temperature [degC].

    Raises:
        ValueError: outside the range.

    Source: `ideal-gas`; closed form.
    """
    kelvin = within("air temperature", temperature, -40.0, 60.0, "degC") + KELVIN
    eta = within("efficiency", positive("efficiency", efficiency), 0.0, 1.0)
    rise = (_ratio(inlet_pressure, delivery_pressure) ** ADIABATIC - 1.0) / eta
    return np.asarray(kelvin * (1.0 + rise) - KELVIN)[()]


@dataclass(frozen=True)
class DisplacementBlower:
    """A blower that delivers a volume per turn less what slips back through its gaps.

    Attributes:
        rated_flow: flow at the inlet, at full speed and rated rise [m3/s].
        rated_rise: pressure rise at which that is told [Pa].
        slip: share of the swept volume that slips back there [-], 0 to 0.5. Where the maker gives
            none, 0.1 to 0.2 for rotary lobes: common practice, no source.
    """

    rated_flow: Numbers
    rated_rise: Numbers
    slip: Numbers


def displacement_flow(
    blower: DisplacementBlower, rise: Numbers, speed_ratio: Numbers = 1.0
) -> Array:
    """Flow of a displacement blower: nearly the same whatever the back-pressure.

    Args:
        blower: the blower.
        rise: pressure rise [Pa], 0 and up.
        speed_ratio: speed over full speed [-], 0 to 1.5.

    Returns:
        Flow at the inlet [m3/s]: swept volume less a slip that goes with the root of the rise
        and not with speed; not below 0.

    Raises:
        ValueError: outside the range.

    Source: closed form (slip as through an orifice).
    """
    swept, slipped = _swept_and_slip(blower, rise)
    r = within("speed ratio", speed_ratio, 0.0, 1.5)
    return np.asarray(np.maximum(swept * r - slipped, 0.0))[()]


def displacement_speed(blower: DisplacementBlower, flow: Numbers, rise: Numbers) -> Array:
    """Speed at which a displacement blower delivers a flow.

    Args:
        blower: the blower.
        flow: flow at the inlet [m3/s], 0 and up.
        rise: pressure rise [Pa], 0 and up.

    Returns:
        Speed over full speed [-]; to be held against the least speed of its class.

    Raises:
        ValueError: outside the range.

    Source: closed form, the inverse of `displacement_flow`.
    """
    swept, slipped = _swept_and_slip(blower, rise)
    return np.asarray((within("flow", flow, 0.0, np.inf, "m3/s") + slipped) / swept)[()]


def _swept_and_slip(blower: DisplacementBlower, rise: Numbers) -> tuple[Array, Array]:
    slip = within("slip", blower.slip, 0.0, 0.5)
    swept = positive("rated flow", blower.rated_flow, "m3/s") / (1.0 - slip)
    share = within("pressure rise", rise, 0.0, 5e5, "Pa") / positive(
        "rated rise", blower.rated_rise, "Pa"
    )
    return np.asarray(swept), np.asarray(swept * slip * np.sqrt(share))


def practice_head(depth: Numbers, *, far: bool = False) -> Array:
    """Blower pressure by the rule of practice, as metres of water.

    Args:
        depth: water above the diffusers [m].
        far: whether the blower stands far from the shaft.

    Returns:
        The depth with `NEAR` or `FAR` added [m of water].

    Source: `trade-practice`.
    """
    return np.asarray(depth + (FAR if far else NEAR))[()]


def column_pressure(depth: Numbers, density: Numbers) -> Array:
    """Pressure of a column of water.

    Args:
        depth: its height [m].
        density: density [kg/m3].

    Returns:
        Pressure rise [Pa].

    Source: closed form.
    """
    return np.asarray(GRAVITY * density * depth)[()]


def starting_pressure(
    standing_level: Numbers, diffuser_level: Numbers, density: Numbers, loss: Numbers = 0.0
) -> Array:
    """Pressure that a blower must reach before the first air comes out.

    Before the start, water stands in the shaft at its highest level, without gas in it and up
    the drop pipe too: that is more than the column of running.

    Args:
        standing_level: highest level at which the water can stand [m above datum].
        diffuser_level: level of the deepest outlet of air [m above datum].
        density: density [kg/m3].
        loss: loss of a wet diffuser and pipe at the starting flow [Pa].

    Returns:
        Pressure rise [Pa]; 0 where no water stands above the diffusers.

    Source: closed form.
    """
    depth = np.maximum(np.asarray(standing_level) - np.asarray(diffuser_level), 0.0)
    return np.asarray(column_pressure(depth, density) + loss)[()]
