"""What the study of a shaft hands over: frozen, SI, no physics."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ShaftCase:
    """The shaft that is asked about; heights are over its floor.

    Attributes:
        flow: water flow [m3/s].
        lifts: lifts [m], outlet level less inlet level; the first is worked in full.
        outlet_halves: plan areas of the outlet half [m2]; the first is worked in full.
        inlet_half: plan area of the inlet half [m2]; None: as large as the outlet half.
        depth: floor to wall top [m].
        dry_reserve: wall above the running water of the inlet half [m].
        diffusers: floor to diffusers [m].
        gap: floor to lower edge of the partition [m].
        coverage: share of the outlet half's plan that diffusers cover [-].
        temperature: temperature of the water [degC].
        salinity: salinity [g/kg].
        altitude: height above the sea [m].
    """

    flow: float
    lifts: tuple[float, ...]
    outlet_halves: tuple[float, ...]
    inlet_half: float | None
    depth: float
    dry_reserve: float
    diffusers: float
    gap: float
    coverage: float
    temperature: float
    salinity: float
    altitude: float

    @property
    def running_depth(self) -> float:
        """Water in the inlet half [m]."""
        return self.depth - self.dry_reserve

    @property
    def water_column(self) -> float:
        """Still water above the diffusers [m]."""
        return self.running_depth - self.diffusers


@dataclass(frozen=True)
class Band:
    """A value by the published closures: expected, at the edge of least air, of most air.

    None where no air flow lifts the water.
    """

    expected: float | None
    least_air: float | None
    most_air: float | None


@dataclass(frozen=True)
class AirCell:
    """Air for the flow at one lift and one outlet half.

    Attributes:
        lift: lift [m].
        outlet_half: plan area of the outlet half [m2].
        air_to_water: free air over water by volume [-].
        deviation: how far that lies above (+) or below (-) the range of practice [-]; 0 inside.
        short: height that the column stays under the sill at best [m]; 0 where it is lifted.
        reserve: wall top less surface of the mixture in the outlet half [m], expected.
        down: speed of the water in the inlet half [m/s].
        gas_velocity: superficial velocity of the gas at the surface [m/s], expected.
        remarks: codes of the findings that hold for it, as `loopplan explain` tells them.
    """

    lift: float
    outlet_half: float
    air_to_water: Band
    deviation: Band
    short: Band
    reserve: float | None
    down: float
    gas_velocity: float | None
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class LeastAir:
    """The outlet half that takes the least air.

    Attributes:
        outlet_half: its plan area [m2], for each closure by itself.
        air_to_water: free air over water there [-], each at its own area; None where no area
            does it.
        band: free air over water [-] by all closures at the area that is expected to take least.
        found: whether air rises on both sides of the expected one, within what was searched.
        searched: least and largest plan area that was searched [m2].
    """

    outlet_half: Band
    air_to_water: Band
    band: Band
    found: bool
    searched: tuple[float, float]


@dataclass(frozen=True)
class NeedCurve:
    """Air for the flow against the area of the outlet half, at one lift.

    Attributes:
        lift: lift [m].
        points: (plan area of the outlet half [m2], free air over water [-]), areas rising.
        least: where it is least.
    """

    lift: float
    points: tuple[tuple[float, Band], ...]
    least: LeastAir


@dataclass(frozen=True)
class OperatingPoint:
    """The shaft at one air flow.

    Single values are those expected.

    Attributes:
        air: free air [m3/s].
        air_to_water: free air over water by volume [-]; None where no water moves.
        water: water flow [m3/s]; 0 where the air does not lift it to the sill.
        gas_fraction: share of gas in the column [-].
        gas_velocity: superficial velocity of the gas at the surface [m/s].
        water_velocity: superficial velocity of the water [m/s].
        stall: lift at which this air moves no water [m].
        lost_per_cm: water flow lost by one more centimetre of lift [m3/s].
        static_efficiency: lift over isothermal power [-].
        total_efficiency: lift and all losses over isothermal power [-].
        wire_efficiency: lift over power from the mains [-].
        wire_power: power from the mains [W].
        wire_energy: that per water [J/m3]; None where no water moves.
    """

    air: float
    air_to_water: float | None
    water: Band
    gas_fraction: float
    gas_velocity: float
    water_velocity: float
    stall: Band
    lost_per_cm: float
    static_efficiency: float
    total_efficiency: float
    wire_efficiency: float
    wire_power: float
    wire_energy: float | None


@dataclass(frozen=True)
class AtWork:
    """The shaft at the air that it is expected to need for the flow.

    Attributes:
        point: air, water, efficiencies.
        air_normal: that air at 0 degC and 101.325 kPa, dry [m3/s].
        air_inlet: that air as the blower draws it in, 20 degC [m3/s].
        submergence_ratio: depth of the diffusers under the inlet level over that under the
            outlet level [-].
        driving_head: head saved by gas: lift and all losses [m].
        losses: every loss by name [m].
        injection_pressure: pressure at the diffusers over that of the atmosphere [Pa].
        injection_head: that as water column [m].
        reserve: wall top less surface of the mixture in the outlet half [m].
        down: speed of the water in the inlet half [m/s].
    """

    point: OperatingPoint
    air_normal: float
    air_inlet: float
    submergence_ratio: float
    driving_head: float
    losses: tuple[tuple[str, float], ...]
    injection_pressure: float
    injection_head: float
    reserve: float
    down: float


@dataclass(frozen=True)
class Peak:
    """The most water that the shaft moves at its lift.

    Attributes:
        point: the shaft there, by the expected closure.
        air: free air there [m3/s], for each closure by itself.
        water: water flow there [m3/s], for each closure by itself.
        found: whether more air than the expected one brings less water. False: water still rises
            with air at the largest gas velocity that was searched.
        most_gas: that velocity, superficial [m/s].
    """

    point: OperatingPoint
    air: Band
    water: Band
    found: bool
    most_gas: float


@dataclass(frozen=True)
class Operation:
    """Water against air, at one lift and one outlet half.

    Attributes:
        lift: lift [m].
        outlet_half: plan area of the outlet half [m2].
        points: the operating curve, air rising from none.
        peak: the most water.
        at_work: the shaft at the flow that is asked for; None where no air flow lifts it.
        rule_near, rule_far: pressure of the blower by the rule of practice [m of water].
    """

    lift: float
    outlet_half: float
    points: tuple[OperatingPoint, ...]
    peak: Peak
    at_work: AtWork | None
    rule_near: float
    rule_far: float


@dataclass(frozen=True)
class ShaftStudy:
    """What a channel airlift takes.

    Attributes:
        case: the shaft as asked about.
        practice: range of practice of free air over water [-].
        gas_in_data: superficial gas velocity up to which the closures were measured [m/s].
        lift_limits: lift up to which airlifts are workable, and above which practice has none [m].
        bubble_rise: speed at which bubbles rise in still water [m/s].
        cells: air by lift and outlet half, in the order that they were asked for.
        curves: air against outlet half, for each lift.
        operation: water against air, for the first lift and the first outlet half.
        assumed: what the shaft and its blower rest on, in words.
        sources: (key, text) of each source.
    """

    case: ShaftCase
    practice: tuple[float, float]
    gas_in_data: float
    lift_limits: tuple[float, float]
    bubble_rise: float
    cells: tuple[AirCell, ...]
    curves: tuple[NeedCurve, ...]
    operation: Operation
    assumed: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]
