"""An airlift at a lift point: air and power over the duty states, stall, levels, gases."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, partial
from math import ceil

import numpy as np
from numpy.typing import NDArray

from loopplan.lifts.airlift import EDGES, Shaft, Tube
from loopplan.limits import Limits
from loopplan.physics._check import Array
from loopplan.physics.air import STANDARD, dry_mass_flow, inlet_state
from loopplan.physics.airlift_column import Balance, Riser, Site, balance, site
from loopplan.physics.airlift_practice import best_outlet_area
from loopplan.physics.airlift_results import Performance, performance
from loopplan.physics.airlift_shaft import BUBBLE_RISE, ShaftState, shaft_state
from loopplan.physics.airlift_shaft import Shaft as ShaftRiser
from loopplan.physics.airlift_solve import greatest_lift, least_air, water_moved
from loopplan.physics.airlift_tube import Tubes
from loopplan.physics.blower_classes import BLOWERS
from loopplan.physics.blowers import FAR, NEAR, blower_power
from loopplan.physics.constants import GRAVITY
from loopplan.physics.motor_tables import next_output
from loopplan.physics.motors import electric_power, motor_efficiency
from loopplan.physics.two_phase import Closure
from loopplan.physics.two_phase_ladder import graded
from loopplan.physics.two_phase_tubes import tube
from loopplan.studies.lift_duty import LiftPoint
from loopplan.studies.lift_sheet_results import AirPoint, Band, DeviceState

_LOBE = BLOWERS["rotary lobe"]
_TUBE_BAND = np.array([1.0 / 1.3, 1.0, 1.6])
"""Air of a tube: edges of its band over the expected value [-], from what the closure misses in
published measurements (docs/validation.md); our judgement."""
_CENTIMETRE = 0.01
_HOPELESS = 2.0
"""Lift [m] above which an airlift of a farm is not worked."""
_AREA_STEP = 0.1
_CALM = 0.9
"""Speed down an assumed inlet half over the rise of bubbles [-]."""


@dataclass(frozen=True)
class Drawn:
    """The airlift that is evaluated: as drawn in the file, or assumed."""

    shape: Shaft | Tube
    assumed: tuple[tuple[str, str, str], ...]
    """(field, value, source) of what was assumed because no airlift is drawn."""


def drawn_airlift(point: LiftPoint) -> Drawn:
    """Return the airlift of a lift point; the shaft of common practice where none is drawn.

    Its outlet half is as large as takes the least air in the first duty state, its inlet half as
    wide, and so large that the water goes down slower than bubbles rise.
    """
    if point.lift.airlift is not None:
        return Drawn(point.lift.airlift, ())
    duty = point.first
    plain = Shaft.model_validate(
        {"kind": "channel shaft", "inlet half": "1 m2", "outlet half": "1 m2"}
    )
    floor = duty.up - plain.running_depth

    def shaft_of(area: Array) -> ShaftRiser:
        size = plain.geometry(floor)
        width = np.sqrt(area)
        return ShaftRiser(
            size["depth"], plain.running_depth, area, area, width, size["partition_gap"],
            size["diffuser_height"], size["sill_height"], width,
        )  # fmt: skip

    at = duty.conditions
    lift = float(np.clip(duty.head, 0.05, 0.7))
    best = best_outlet_area(
        shaft_of, site(at.temperature, at.salinity, at.altitude), duty.flow, lift,
        partial(graded, 1.0),
    )  # fmt: skip
    most = max(d.flow for d in point.duties)
    outlet = _rounded(float(best.area))
    inlet = max(outlet, _rounded(most / (_CALM * BUBBLE_RISE)))
    fields = {"inlet half": f"{inlet:.1f} m2", "outlet half": f"{outlet:.1f} m2"}
    shape = Shaft.model_validate({"kind": "channel shaft", **fields})
    halves = (
        ("outlet half", fields["outlet half"], "assumed: takes the least air in the first state"),
        ("inlet half", fields["inlet half"], "assumed: slower down than bubbles rise"),
    )
    return Drawn(shape, (*halves, *shape.assumed()))


def _rounded(area: float) -> float:
    return max(ceil(area / _AREA_STEP - 1e-9) * _AREA_STEP, _AREA_STEP)


@dataclass(frozen=True)
class AirliftStudy:
    """An airlift worked over the duty states of a lift point; arrays run over the states."""

    point: LiftPoint
    drawn: Drawn
    limits: Limits

    @cached_property
    def flow(self) -> Array:
        """Water flow of one unit [m3/s]."""
        return np.array([max(duty.flow, 0.0) for duty in self.point.duties])

    @cached_property
    def lift(self) -> Array:
        """Outlet level less inlet level [m]."""
        heads = [duty.head for duty in self.point.duties]
        shape = self.drawn.shape
        if isinstance(shape, Tube) and shape.outlet_level is not None:
            heads = [max(d.down, shape.outlet_level) - d.up for d in self.point.duties]
        return np.array(heads)

    @cached_property
    def place(self) -> Site:
        """Water and atmosphere of each state."""
        at = [duty.conditions for duty in self.point.duties]
        return site(
            np.array([c.temperature for c in at]), np.array([c.salinity for c in at]),
            np.array([c.altitude for c in at]),
        )  # fmt: skip

    @cached_property
    def riser(self) -> Riser:
        """The riser with the inlet level of each state."""
        up = np.array([duty.up for duty in self.point.duties])
        shape = self.drawn.shape
        if isinstance(shape, Tube):
            level = shape.injection_level
            level = self.point.first.up - shape.injection_depth if level is None else level
            size = shape.geometry(level)
            return Tubes(
                up - level, shape.bore, float(shape.tubes), shape.foot, shape.entry,
                shape.discharge, shape.roughness,
            )  # fmt: skip
        size = shape.geometry(self.floor)
        return ShaftRiser(
            size["depth"], up - self.floor, size["inlet_area"], size["outlet_area"],
            size["partition_width"], size["partition_gap"], size["diffuser_height"],
            size["sill_height"], size["sill_width"],
        )  # fmt: skip

    @property
    def floor(self) -> float:
        """Floor of the shaft [m], as stated or as it follows.

        It follows from the basin that the lift draws from, or else from the running depth.
        """
        shape = self.drawn.shape
        assert isinstance(shape, Shaft)
        if shape.floor is not None:
            return shape.floor
        drawn = self.point.lift.airlift is not None
        if drawn and self.point.floor is not None:
            return self.point.floor
        return self.point.first.up - shape.running_depth

    def closure(self, edge: float) -> Closure:
        """Return the closure of an edge of the band: 0 least air, 1 expected, 2 most air."""
        shape = self.drawn.shape
        if isinstance(shape, Tube):
            return tube
        return partial(graded, edge + 1.0 - shape.coverage)

    @property
    def edge(self) -> int:
        """Edge of the band at which the loop was solved."""
        return EDGES.index(self.drawn.shape.edge)

    @cached_property
    def stated(self) -> float | None:
        """Dry air of one unit that is stated and at which the loop was solved [kg/s]."""
        acts = self.point.lift.self_acting and self.point.lift.device == "airlift"
        air = self.drawn.shape.air if acts else None
        return None if air is None else float(dry_mass_flow(air, STANDARD))

    @cached_property
    def need(self) -> tuple[Array, NDArray[np.bool_], Array]:
        """Dry air [kg/s] by edge and state, whether any air does it, and what is short [m]."""
        found = [
            least_air(self.riser, self.place, self.flow, self.lift, self.closure(edge))
            for edge in range(3)
        ]
        air = np.stack([x.dry_air for x in found])
        if isinstance(self.drawn.shape, Tube):
            air = air[1] * _TUBE_BAND[:, None]
        possible = np.stack([x.possible for x in found])
        return air, possible, np.stack([x.short for x in found])

    @cached_property
    def air(self) -> Array:
        """Dry air of each state [kg/s] by edge: as stated, or as needed."""
        if self.stated is not None:
            return np.full((3, self.flow.size), self.stated)
        return self.need[0]

    @cached_property
    def installed(self) -> float:
        """Dry air that is there at full speed [kg/s]: stated, or the greatest expected need."""
        drawn = self.drawn.shape.air
        if drawn is not None:
            return float(dry_mass_flow(drawn, STANDARD))
        air, possible, _ = self.need
        return float(np.where(possible[1], air[1], 0.0).max())

    @cached_property
    def balance(self) -> Balance:
        """Balance of each state at its air, at the edge at which the loop was solved."""
        return balance(
            self.riser, self.place, self.flow, self.air[self.edge], self.lift,
            self.closure(self.edge),
        )  # fmt: skip

    @cached_property
    def told(self) -> Performance:
        """What each state takes and gives."""
        return performance(
            self.riser, self.place, self.flow, self.air[self.edge], self.lift, self.balance,
            inlet_state(self.point.first.conditions.altitude), 1.0,
        )  # fmt: skip

    @cached_property
    def stall(self) -> Array:
        """Lift at which the installed air moves no water [m], by edge and state."""
        return np.stack(
            [
                greatest_lift(self.riser, self.place, 0.0, self.installed, self.closure(edge))
                + 0.0 * self.lift
                for edge in range(3)
            ]
        )

    @cached_property
    def lost_per_centimetre(self) -> Array:
        """Share of the flow [-] that one more centimetre of lift costs at the installed air."""
        closure = self.closure(self.edge)
        now, then = (
            water_moved(self.riser, self.place, self.installed, lift, closure).flow
            for lift in (self.lift, self.lift + _CENTIMETRE)
        )
        return np.asarray(np.where(now > 0.0, 1.0 - then / np.maximum(now, 1e-12), 1.0))

    @cached_property
    def moved(self) -> Array:
        """Water [m3/s] that the air of each state moves, by edge and state."""
        return np.stack(
            [
                water_moved(
                    self.riser, self.place, self.air[self.edge], self.lift, self.closure(edge)
                ).flow
                for edge in range(3)
            ]
        )

    @cached_property
    def levels(self) -> ShaftState | None:
        """Levels and speeds in a shaft; None for tubes."""
        if isinstance(self.riser, ShaftRiser):
            return shaft_state(self.riser, self.place, self.flow, self.balance)
        return None

    @cached_property
    def pressure(self) -> Array:
        """Rise of pressure that the blower makes [Pa].

        That at the injector, with what practice adds for diffusers and pipes.
        """
        margin = FAR if self.drawn.shape.blower == "far" else NEAR
        column = self.balance.injection_pressure - np.asarray(self.place.atmosphere)
        return np.asarray(column + margin * np.asarray(self.place.water_density) * GRAVITY)

    def electric(self, dry_air: Array, efficiency: float) -> Array:
        """Electric power of one unit's blower [W] at an air flow and an adiabatic efficiency."""
        inlet = np.asarray(self.place.atmosphere)
        altitude = float(self.point.first.conditions.altitude)
        drawn = dry_air / dry_mass_flow(1.0, inlet_state(altitude))
        shaft = blower_power(drawn, inlet, inlet + self.pressure, efficiency)
        rated = next_output(float(np.max(shaft)), 1.15)
        return np.asarray(electric_power(shaft, rated, motor_efficiency(rated)))

    @property
    def hopeless(self) -> bool:
        """Whether head or pressure rule an airlift out so far that it is not worked at all."""
        point = self.point
        return point.pressure >= self.limits.pressure_from or point.most_head > _HOPELESS

    @cached_property
    def powers(self) -> tuple[Band, ...]:
        """Electric power of all units [W] in each state: band of air and of blowers together."""
        worst, best = _LOBE.efficiency
        power = self.electric(self.air[self.edge], 0.5 * (worst + best))
        least, most = self.electric(self.air[0], best), self.electric(self.air[2], worst)
        return tuple(
            Band(*(duty.units * float(x[k]) for x in (power, least, most)))
            for k, duty in enumerate(self.point.duties)
        )

    def states(self) -> tuple[DeviceState, ...]:
        """Return what is handed over of each duty state."""
        if self.hopeless:
            return tuple(self._ruled_out(k) for k in range(self.flow.size))
        return tuple(self._state(k, self.powers[k]) for k in range(self.flow.size))

    def _state(self, k: int, power: Band) -> DeviceState:
        duty = self.point.duties[k]
        against = tuple(self.against(k))
        possible = bool(self.need[1][1, k]) or self.stated is not None
        return DeviceState(
            duty.state,
            duty.flow * duty.units,
            duty.head,
            duty.head,
            against,
            power if possible else None,
            self._air_point(k) if possible else None,
        )

    def _ruled_out(self, k: int) -> DeviceState:
        duty = self.point.duties[k]
        against = tuple(self.against(k)) or ("it cannot serve another duty state",)
        flow = duty.flow * duty.units
        return DeviceState(duty.state, flow, duty.head, duty.head, against, None, None)

    def against(self, k: int) -> list[str]:
        """Return what speaks against an airlift in a duty state."""
        duty, limits = self.point.duties[k], self.limits
        found = []
        if duty.pressure >= limits.pressure_from:
            found.append(f"it makes no pressure, and {duty.pressure:.2f} m are needed")
        if duty.head > limits.airlift_most:
            found.append(
                f"{duty.head:.2f} m of lift is above the {limits.airlift_most:.2f} m at which "
                "airlifts end in practice"
            )
        if not self.hopeless and self.stated is None and not self.need[1][1, k]:
            found.append(
                f"no air flow lifts this water: at best {self.need[2][1, k]:.2f} m are short"
            )
        return found

    def _air_point(self, k: int) -> AirPoint:
        duty, edge, found = self.point.duties[k], self.edge, self.balance
        units = duty.units
        told = self.told
        free = units * self.air[:, k] / float(dry_mass_flow(1.0, STANDARD))
        flow = max(duty.flow * units, 1e-12)
        stall = [float(x) for x in self.stall[:, k]]
        shaft = self.levels
        return AirPoint(
            _band(free, edge),
            _band(units * self.moved[:, k], edge),
            units * float(told.air_normal[k]),
            units * float(told.air_inlet[k]),
            _band(free / flow, edge),
            float(found.fraction_mean[k]),
            float(found.gas_velocity_top[k]),
            float(found.water_velocity[k]),
            float(told.submergence_ratio[k]),
            float(told.static_efficiency[k]),
            float(told.total_efficiency[k]),
            float(self.pressure[k]),
            Band(stall[edge], min(stall), max(stall)),
            stall[edge] - float(self.lift[k]),
            float(self.lost_per_centimetre[k]),
            None if shaft is None else float(np.broadcast_to(shaft.reserve, self.flow.shape)[k]),
            None if shaft is None else float(shaft.down_velocity[k]),
        )


def _band(values: Array, edge: int) -> Band:
    return Band(float(values[edge]), float(values.min()), float(values.max()))
