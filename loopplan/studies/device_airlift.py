"""An airlift at a lift point: air and power over the duty states, stall, levels, gases."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from loopplan.lifts.airlift import EDGES, TUBE_BAND, Shaft, Tube
from loopplan.limits import Limits
from loopplan.physics._check import Array
from loopplan.physics.air import STANDARD, dry_mass_flow, inlet_state
from loopplan.physics.airlift_band import single_edge_closure
from loopplan.physics.airlift_column import Balance, Riser, Site, balance, site
from loopplan.physics.airlift_results import Performance, performance
from loopplan.physics.airlift_shaft import Shaft as ShaftRiser
from loopplan.physics.airlift_shaft import ShaftState, shaft_state
from loopplan.physics.airlift_solve import greatest_lift, least_air, water_moved
from loopplan.physics.airlift_tube import Tubes
from loopplan.physics.blower_classes import BLOWERS
from loopplan.physics.blowers import FAR, NEAR, blower_power
from loopplan.physics.constants import GRAVITY
from loopplan.physics.motor_choice import mains_power, rated_output
from loopplan.physics.two_phase import Closure
from loopplan.physics.two_phase_tubes import tube
from loopplan.studies.device_drawn import Drawn
from loopplan.studies.device_gas_pressure import gas_pressure
from loopplan.studies.lift_duty import LiftPoint, idle_state
from loopplan.studies.lift_sheet_results import AirPoint, Band, DeviceState

_LOBE = BLOWERS["rotary lobe"]
_CENTIMETRE = 0.01
_HOPELESS = 2.0
"""Lift [m] above which an airlift of a farm is not worked."""
MOTOR_RESERVE = 1.15
"""Rated power of a blower's motor over its greatest shaft power [-]: common practice, no source."""


@dataclass(frozen=True)
class AirliftStudy:
    """An airlift worked over the duty states of a lift point; arrays run over the states."""

    point: LiftPoint
    drawn: Drawn
    limits: Limits
    raised: tuple[float, ...] = ()
    """Where the states are trials of other lifts: how much higher [m] the outlet is built in
    each. Every trial then has a motor of its own."""

    @cached_property
    def higher(self) -> Array:
        """How much higher than drawn the outlet is built in each state [m]."""
        return np.array(self.raised or [0.0] * len(self.point.duties))

    @cached_property
    def flow(self) -> Array:
        """Water flow of one unit [m3/s]."""
        return np.array([max(duty.flow, 0.0) for duty in self.point.duties])

    @cached_property
    def lift(self) -> Array:
        """Outlet level less inlet level [m]."""
        up = np.array([duty.up for duty in self.point.duties])
        down = np.array([duty.down for duty in self.point.duties])
        shape = self.drawn.shape
        if isinstance(shape, Tube) and shape.outlet_level is not None:
            down = np.maximum(down, shape.outlet_level + self.higher)
        return np.asarray(down - up)

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
            size = shape.geometry(self.injection(shape))
            return Tubes(
                up - size["injection_level"], shape.bore, float(shape.tubes), shape.foot,
                shape.entry, shape.discharge, shape.roughness,
            )  # fmt: skip
        size = shape.geometry(self.floor)
        return ShaftRiser(
            size["depth"], up - self.floor, size["inlet_area"], size["outlet_area"],
            size["partition_width"], size["partition_gap"], size["diffuser_height"],
            np.maximum(size["sill_height"] + self.higher, size["diffuser_height"] + _CENTIMETRE),
            size["sill_width"],
        )  # fmt: skip

    def injection(self, shape: Tube) -> float:
        """Level at which air is let into a tube [m], as stated or by its depth."""
        if shape.injection_level is not None:
            return shape.injection_level
        return self.point.first.up - shape.injection_depth

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
        return single_edge_closure(edge, shape.coverage)

    @property
    def edge(self) -> int:
        """Edge of the band at which the loop was solved."""
        return EDGES.index(self.drawn.shape.edge)

    @property
    def acts(self) -> bool:
        """Whether the loop was solved with this airlift's air."""
        lift = self.point.lift
        return lift.self_acting and lift.device == "airlift" and not lift.curve

    @property
    def more(self) -> Array:
        """Air over that with which the closure gives the same, by edge [-].

        The closures of a shaft have edges of their own; a tube has one closure, and a factor.
        """
        return np.array(TUBE_BAND if isinstance(self.drawn.shape, Tube) else (1.0, 1.0, 1.0))

    def _blown(self, k: int) -> float | None:
        """Dry air of one unit that is stated for a state [kg/s]."""
        drawn = self.point.duties[k].lift.airlift or self.drawn.shape
        return None if drawn.air is None else float(dry_mass_flow(drawn.air, STANDARD))

    @cached_property
    def need(self) -> tuple[Array, NDArray[np.bool_], Array]:
        """Dry air [kg/s] by edge and state, whether any air does it, and what is short [m]."""
        found = [
            least_air(self.riser, self.place, self.flow, self.lift, self.closure(edge))
            for edge in range(3)
        ]
        air = np.stack([x.dry_air for x in found]) * self.more[:, None]
        possible = np.stack([x.possible for x in found])
        return air, possible, np.stack([x.short for x in found])

    @cached_property
    def air(self) -> Array:
        """Dry air of each state [kg/s] by edge: as stated, or as needed."""
        if self.acts:
            return np.tile([self._blown(k) or 0.0 for k in range(self.flow.size)], (3, 1))
        return self.need[0]

    @cached_property
    def installed(self) -> Array:
        """Dry air that is there at full speed [kg/s].

        As stated with the airlift, or else by the air supply, or else the greatest need.
        """
        air, possible, _ = self.need
        most = float(np.where(possible[self.edge], air[self.edge], 0.0).max())
        if self.point.supplied is not None and not self.acts:
            most = float(dry_mass_flow(self.point.supplied, STANDARD))
        stated = [self._blown(k) for k in range(self.flow.size)]
        return np.array([most if x is None else x for x in stated])

    @cached_property
    def balance(self) -> Balance:
        """Balance of each state at its air, at the edge at which the loop was solved."""
        return balance(
            self.riser, self.place, self.flow, self.air[self.edge] / self.more[self.edge],
            self.lift, self.closure(self.edge),
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
                greatest_lift(
                    self.riser, self.place, 0.0, self.installed / self.more[edge],
                    self.closure(edge),
                )
                for edge in range(3)
            ]
        )  # fmt: skip

    @cached_property
    def lost_per_centimetre(self) -> Array:
        """Share of the flow [-] that one more centimetre of lift costs at the installed air."""
        closure = self.closure(self.edge)
        now, then = (
            water_moved(
                self.riser, self.place, self.installed / self.more[self.edge], lift, closure
            ).flow
            for lift in (self.lift, self.lift + _CENTIMETRE)
        )
        return np.asarray(np.where(now > 0.0, 1.0 - then / np.maximum(now, 1e-12), 1.0))

    @cached_property
    def moved(self) -> Array:
        """Water [m3/s] that the air of each state moves, by edge and state."""
        return np.stack(
            [
                water_moved(
                    self.riser, self.place, self.air[self.edge] / self.more[edge], self.lift,
                    self.closure(edge),
                ).flow
                for edge in range(3)
            ]
        )  # fmt: skip

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
        rated = np.array([rated_output(float(x), MOTOR_RESERVE) for x in shaft])
        if not self.raised:
            rated = np.full_like(rated, np.where(self.works, rated, 0.0).max(initial=rated.min()))
        return mains_power(shaft, rated)

    @cached_property
    def works(self) -> NDArray[np.bool_]:
        """Whether some air moves the water, by state."""
        return np.asarray(self.need[1][self.edge] | self.acts)

    @property
    def hopeless(self) -> bool:
        """Whether it is ruled out so far that it is not worked at all."""
        point = self.point
        beyond = point.pressure >= self.limits.pressure_from or point.most_head > _HOPELESS
        return beyond or bool(self.misbuilt)

    @cached_property
    def misbuilt(self) -> str:
        """What of the drawn levels does not go together with those of the loop; "" if all does."""
        shape, lowest = self.drawn.shape, min(duty.up for duty in self.point.duties)
        air = self.injection(shape) if isinstance(shape, Tube) else (
            self.floor + shape.diffuser_height
        )  # fmt: skip
        if air >= lowest:
            return (
                f"its air goes in at {air:.2f} m, and the water that it draws from stands at "
                f"{lowest:.2f} m"
            )
        if isinstance(shape, Tube):
            if shape.outlet_level is not None and shape.outlet_level <= air:
                return (
                    f"its tube ends at {shape.outlet_level:.2f} m, not above the place where air "
                    f"is let in ({air:.2f} m)"
                )
            return ""
        sill = shape.geometry(self.floor)["sill_height"]
        if not shape.diffuser_height < sill < shape.depth:
            return (
                f"its outlet sill stands {sill:.2f} m above its floor, not between the diffusers "
                f"({shape.diffuser_height:.2f} m) and the wall top ({shape.depth:.2f} m)"
            )
        return ""

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
        return tuple(self._state(k) for k in range(self.flow.size))

    def _state(self, k: int) -> DeviceState:
        duty = self.point.duties[k]
        if duty.stands or (duty.by_itself and not self.acts):
            return idle_state(duty)
        if self.hopeless:
            return self._ruled_out(k)
        power = self.powers[k]
        against = tuple(self.against(k))
        possible = bool(self.works[k])
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
        against = tuple(self.against(k))
        if not against:
            others = zip(self.point.duties, map(self.against, range(self.flow.size)), strict=True)
            state, why = next((other.state, found[0]) for other, found in others if found)
            against = (f"ruled out in the duty state {state}: {why}",)
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
        if self.misbuilt:
            found.append(self.misbuilt)
        if self.hopeless:
            return found
        if not self.acts:
            found += self._short_of_air(k)
        if self.works[k]:
            found += self._overrun(k)
        return found

    def _short_of_air(self, k: int) -> Iterable[str]:
        needed, installed = float(self.air[self.edge, k]), float(self.installed[k])
        if not self.works[k]:
            short = self.need[2][self.edge, k]
            yield f"no air flow lifts this water: at best {short:.2f} m are short"
        elif needed > installed * (1.0 + 1e-9):
            unit = 3600.0 / float(dry_mass_flow(1.0, STANDARD))
            yield (
                f"{unit * installed:.0f} m3/h of air are installed in a unit, and about "
                f"{unit * needed:.0f} m3/h are needed"
            )

    def _overrun(self, k: int) -> Iterable[str]:
        """Yield what lets the mixture run over the wall, or the flow stop."""
        reserve = self._reserve(k)
        if reserve is not None and reserve < 0.0:
            yield f"water and air rise {-reserve:.2f} m above the wall of its shaft"
        stall, lift = float(self.stall[self.edge, k]), float(self.lift[k])
        if stall < lift:
            yield (
                f"its installed air moves no water above {stall:.2f} m of lift, and {lift:.2f} m "
                "are asked"
            )

    def _reserve(self, k: int) -> float | None:
        """Wall above the mixture [m]; None for tubes."""
        if self.levels is None:
            return None
        return float(np.broadcast_to(self.levels.reserve, self.flow.shape)[k])

    def _air_point(self, k: int) -> AirPoint:
        duty, edge, found = self.point.duties[k], self.edge, self.balance
        units = duty.units
        told = self.told
        free = units * self.air[:, k] / float(dry_mass_flow(1.0, STANDARD))
        flow = max(duty.flow * units, 1e-12)
        stall = [float(x) for x in self.stall[:, k]]
        shaft = self.levels
        return AirPoint(
            band_at(free, edge),
            band_at(units * self.moved[:, k], edge),
            units * float(told.air_normal[k]),
            units * float(told.air_inlet[k]),
            band_at(free / flow, edge),
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
            self._reserve(k),
            None if shaft is None else float(shaft.down_velocity[k]),
            gas_pressure(self, k),
        )


def band_at(values: Array, edge: int) -> Band:
    """Return the value of an edge and the range of all."""
    return Band(float(values[edge]), float(values.min()), float(values.max()))
