"""Channel airlift: a shaft between two channels, split by a partition above the floor.

Water goes down the inlet half, turns under the partition, and is lifted by air in the outlet
half, whose surface is open; it leaves over a sill into the outlet channel.

The outlet: above the sill the mixture in the shaft stands against clear water in the channel.
Equal thrust on both sides (rho (1 - alpha) h^2 = rho y^2) puts the mixture h = y / sqrt(1 - alpha)
over the sill, and the pressure on the sill at y sqrt(1 - alpha): gas above the sill counts
for about half. The outlet velocity head is lost. Where the channel stands lower than critical
depth over the sill, the sill governs, and what is lost behind it is a loss of the airlift.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers, positive
from loopplan.physics.airlift_column import Balance, Mouth, Site
from loopplan.physics.constants import GRAVITY
from loopplan.physics.friction import friction_factor

SLOT_K = 1.0 / 0.61**2
"""Loss of the turn under the partition on the velocity head in the gap [-].

The gap is a sharp-edged submerged slot whose jet is lost whole, contraction 0.61 (`orifice`).
Chisti, Halard and Moo-Young 1988 (from memory) have 11.4 (A1/gap)^0.79 on the velocity in the
inlet half, fitted to whole loops of laboratory columns: four times as much at A1 = gap, twice
at the end of its range (1.8 gap), as much where it is carried on to 3.3 gap.
"""

BUBBLE_RISE = 0.25
"""Rise of a bubble of 2 mm and more in still water [m/s] (`harmathy-1960`)."""

GAS_IN_DATA = 0.4
"""Superficial gas velocity [m/s] up to which wide columns were measured (`akita-yoshida-1973`,
`heijnen-vant-riet-1984`, `zehner-1986`)."""

CONCRETE_ROUGHNESS = 1e-3
"""Sand roughness of a concrete shaft [m]. Common practice, no source."""


@dataclass(frozen=True)
class Shaft:
    """A channel airlift with its levels. Heights are over the shaft's floor.

    Attributes:
        depth: floor to wall top [m].
        inlet_level: running level in the inlet half [m].
        inlet_area: plan area of the inlet half [m2].
        outlet_area: plan area of the outlet half, which is aerated [m2].
        partition_width: length of the partition in plan [m], which is the width of both halves.
        partition_gap: floor to lower edge of the partition [m].
        diffuser_height: floor to diffusers [m].
        sill_height: floor to outlet sill [m].
        sill_width: width of the outlet opening [m].
        turn_k: loss of the turn on the velocity head in the gap [-].
        entry_k: loss of the entry on the velocity head in the inlet half [-].
        roughness: sand roughness of the walls [m].
        most_gas: superficial gas velocity up to which air flows are searched [m/s].
    """

    depth: Numbers
    inlet_level: Numbers
    inlet_area: Numbers
    outlet_area: Numbers
    partition_width: Numbers
    partition_gap: Numbers
    diffuser_height: Numbers
    sill_height: Numbers
    sill_width: Numbers
    turn_k: Numbers = SLOT_K
    entry_k: Numbers = 0.5
    roughness: Numbers = CONCRETE_ROUGHNESS
    most_gas: float = 2.0

    @property
    def units(self) -> Numbers:
        """One shaft [-]."""
        return 1.0

    @property
    def area(self) -> Numbers:
        """Plan area of the outlet half [m2]."""
        return self.outlet_area

    @property
    def bore(self) -> Array:
        """Hydraulic diameter of the outlet half [m]."""
        return _hydraulic_diameter(self.outlet_area, self.partition_width)

    @property
    def size(self) -> Array:
        """Size of a circulation cell [m]: the smaller of width and depth of the outlet half."""
        other = np.asarray(self.outlet_area) / self.partition_width
        narrow = np.minimum(other, self.partition_width)
        # A long strip circulates across its short side; a square one across its width.
        return np.asarray(np.minimum(narrow, self.submergence))

    @property
    def submergence(self) -> Array:
        """Depth of the diffusers under the running level [m]."""
        return np.asarray(self.inlet_level) - self.diffuser_height

    def losses_below(self, flow: Array, site: Site) -> dict[str, Array]:
        """Losses of the inlet half and of the turn under the partition.

        Args:
            flow: water flow [m3/s].
            site: water and atmosphere.

        Returns:
            Losses by name [m].

        Source: `orifice` (turn), `borda-carnot` (entry), `colebrook`.
        """
        down = flow / np.asarray(self.inlet_area)
        bore = _hydraulic_diameter(self.inlet_area, self.partition_width)
        reynolds = np.maximum(down * bore / site.viscosity, 1e-3)
        length = np.asarray(self.inlet_level) - self.partition_gap
        wall = friction_factor(reynolds, self.roughness / bore) * length / bore
        gap = flow / (np.asarray(self.partition_width) * self.partition_gap)
        return {
            "entry": self.entry_k * down**2 / (2.0 * GRAVITY),
            "inlet friction": wall * down**2 / (2.0 * GRAVITY),
            "turn under the partition": self.turn_k * gap**2 / (2.0 * GRAVITY),
        }

    def mouth(self, flow: Array, lift: Array, fraction: Array) -> Mouth:
        """Outlet over the sill.

        Args:
            flow: water flow [m3/s].
            lift: outlet level less inlet level [m].
            fraction: gas fraction at the surface [-].

        Returns:
            The mouth; its lip is the sill.

        Source: `equal-thrust` (closed form), `borda-carnot`, `chow-1959` (critical depth).
        """
        per_width = flow / np.asarray(self.sill_width)
        critical = np.cbrt(per_width**2 / GRAVITY)
        over = np.asarray(self.inlet_level) + lift - self.sill_height
        water = np.maximum(over, critical)
        left = np.sqrt(1.0 - fraction)
        velocity = np.where(
            water > 0.0, per_width**2 / (2.0 * GRAVITY * np.maximum(water, 1e-9) ** 2), 0.0
        )
        return Mouth(
            height=np.asarray(self.sill_height) - self.diffuser_height + 0.0 * water,
            head=water * left + velocity,
            saved=water * (1.0 - left),
            losses={"outlet velocity": velocity, "fall behind the sill": water - over},
        )


def _hydraulic_diameter(area: Numbers, width: Numbers) -> Array:
    other = np.asarray(area) / width
    return np.asarray(2.0 * other * width / (other + width))


def check_shaft(shaft: Shaft) -> None:
    """Refuse a shaft that cannot be built or cannot work.

    Args:
        shaft: the shaft.

    Raises:
        ValueError: if a size is not above zero, diffusers or sill do not stand between floor and
            wall top in their order, or the partition stands on the floor or above the water.
    """
    for name, value in (
        ("inlet area", shaft.inlet_area),
        ("outlet area", shaft.outlet_area),
        ("partition width", shaft.partition_width),
        ("partition gap", shaft.partition_gap),
        ("sill width", shaft.sill_width),
    ):
        positive(name, value)
    for low, lower, high, upper in (
        ("the floor", 0.0, "the diffusers", shaft.diffuser_height),
        ("the diffusers", shaft.diffuser_height, "the running level", shaft.inlet_level),
        ("the diffusers", shaft.diffuser_height, "the outlet sill", shaft.sill_height),
        ("the outlet sill", shaft.sill_height, "the wall top", shaft.depth),
        ("the running level", shaft.inlet_level, "the wall top", shaft.depth),
        ("the partition's edge", shaft.partition_gap, "the running level", shaft.inlet_level),
    ):
        order = np.asarray(upper, dtype=np.float64) - lower
        if not (order >= 0.0 if low == "the floor" else order > 0.0).all():
            raise ValueError(f"{high} must stand above {low}")


@dataclass(frozen=True)
class ShaftState:
    """How a shaft stands at work.

    Attributes:
        bulked_level: surface of the mixture in the outlet half, over the floor [m].
        reserve: wall top less bulked level [m].
        down_velocity: speed of the water in the inlet half [m/s].
        carry_under: that speed over the rise of bubbles [-]: above 1 it takes bubbles along.
        diffuser_clearance: diffusers above the edge of the partition [m]; below zero air gets
            under the partition into the inlet half.
        degassing_length: channel behind the outlet, as wide as it, in which carried bubbles
            come up [m].
        gas_reach: superficial gas velocity at the surface over the highest in the data of the
            closures [-]: above 1 they are stretched.
    """

    bulked_level: Array
    reserve: Array
    down_velocity: Array
    carry_under: Array
    diffuser_clearance: Array
    degassing_length: Array
    gas_reach: Array


def shaft_state(shaft: Shaft, site: Site, flow: Numbers, found: Balance) -> ShaftState:
    """Check levels and speeds of a shaft at work.

    Args:
        shaft: the shaft.
        site: water and atmosphere.
        flow: water flow [m3/s].
        found: its balance there.

    Returns:
        What to check.

    Source: `equal-thrust`, `harmathy-1960`.
    """
    lip = (found.lip_pressure - site.atmosphere) / (np.asarray(site.water_density) * GRAVITY)
    top = bulked_level(shaft, lip, found.fraction_top)
    down = np.asarray(flow / np.asarray(shaft.inlet_area))
    return ShaftState(
        bulked_level=top,
        reserve=np.asarray(shaft.depth - top),
        down_velocity=down,
        carry_under=down / BUBBLE_RISE,
        diffuser_clearance=np.asarray(shaft.diffuser_height) - shaft.partition_gap,
        degassing_length=degassing_length(flow, shaft.sill_width),
        gas_reach=found.gas_velocity_top / GAS_IN_DATA,
    )


def bulked_level(shaft: Shaft, lip_head: Numbers, fraction: Numbers) -> Array:
    """Height of the surface of the mixture in the outlet half.

    Args:
        shaft: the shaft.
        lip_head: pressure at the sill over that of the atmosphere [m of water].
        fraction: gas fraction at the surface [-].

    Returns:
        Height over the shaft's floor [m].

    Source: `equal-thrust` (closed form).
    """
    return np.asarray(shaft.sill_height + lip_head / (1.0 - np.asarray(fraction)))[()]


def degassing_length(flow: Numbers, width: Numbers, rise: Numbers = BUBBLE_RISE) -> Array:
    """Length of channel behind the outlet in which carried bubbles come up.

    Args:
        flow: water flow [m3/s].
        width: width of the channel [m].
        rise: rise of the bubbles [m/s].

    Returns:
        Length [m]: surface load of the channel equal to the rise of the bubbles. Small bubbles
        (1 mm: 0.1 m/s or so) and sea water take longer.

    Source: `hazen-1904` (closed form), `harmathy-1960`.
    """
    return np.asarray(flow / (np.asarray(width) * rise))[()]
