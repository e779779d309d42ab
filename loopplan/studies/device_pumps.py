"""Pumps at a lift point: speed, efficiency, motor and power over the duty states."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from loopplan.lifts.pumps import CentrifugalPump, PropellerPump, running
from loopplan.limits import Limits
from loopplan.physics.curve_fit import Curve, curve_by_points, curve_value
from loopplan.physics.motor_choice import mains_power, rated_output
from loopplan.physics.pump_curves import at_speed
from loopplan.physics.pump_efficiency import (
    DERATING,
    SpeedChoice,
    best_efficiency,
    efficiency_at_speed,
    hydraulic_power,
    pump_class,
    specific_speed,
    speed_choices,
)
from loopplan.physics.pump_generic import generic_curve, off_point_efficiency, shut_off_power
from loopplan.physics.pump_setting import Setting, setting_loss
from loopplan.physics.submergence import inlet_submergence
from loopplan.physics.suction import (
    bell_diameter,
    npsh_available,
    npsh_needed,
)
from loopplan.physics.water import atmospheric_pressure, vapour_pressure
from loopplan.studies.lift_duty import Duty, LiftPoint, idle_state
from loopplan.studies.lift_sheet_results import Band, DeviceState, PumpPoint
from loopplan.studies.pump_limits import pump_limits
from loopplan.studies.pump_slower import stop_share

ASSUMED_SPEED = 1.5
"""Velocity in an assumed column [m/s]: common practice, no source."""

_LEAST_SHARE, _MOST_SHARE = 0.2, 1.5
_RADIAL_LEAST, _RADIAL_MOST = 12.0, 100.0
"""Specific speeds n_q [1/min] of centrifugal pumps that are worth their power (Guelich, from
memory: radial 10 to 40, up to 100 possible)."""
_MOST_STAGES = 12
_SLOWEST = 0.4
"""Least share of its speed to which a gear or a converter slows a motor here [-]."""
_AXIAL = (45.0, 400.0)
"""Specific speeds of mixed-flow and propeller pumps (Guelich, from memory)."""
_LOWEST = 1e-6
_FASTEST_BELL = 10.0

Pump = PropellerPump | CentrifugalPump


@dataclass(frozen=True)
class PumpStudy:
    """One pump class worked over the duty states of a lift point."""

    point: LiftPoint
    device: str
    stated: Pump | None
    limits: Limits

    @property
    def propeller(self) -> bool:
        """Whether it is a propeller or mixed-flow pump at low head."""
        return self.device == "propeller pump"

    @property
    def fixed(self) -> bool:
        """Whether the loop was solved with this pump's curve."""
        lift = self.point.lift
        return lift.device == self.device and lift.flow is None and bool(self.curve_points)

    @property
    def by_lift(self) -> bool:
        """Whether the curve stands with the lift itself, and so holds from level to level."""
        return bool(self.point.lift.curve) and self.point.lift.device == self.device

    @property
    def curve_points(self) -> list[list[float]]:
        """Points of the stated curve, none without one."""
        if self.by_lift:
            return self.point.lift.curve
        return self.stated.curve if self.stated is not None else []

    @cached_property
    def setting(self) -> tuple[str, Setting]:
        """Where heads are measured, and how the pump stands; an assumed column if none is told."""
        pump = self.stated
        where = "level to level" if self.known else "flange"
        if isinstance(pump, PropellerPump):
            bore = pump.column or self.column
            if self.known and pump.column is not None and not self.by_lift:
                where = pump.measured_at
            return where, Setting(
                bore, bore, pump.column_length, pump.roughness, pump.entry, pump.bend,
                pump.flap_loss,
            )  # fmt: skip
        # What is assumed of either pump: a short column or pipe and one flap or check valve.
        return where, Setting(self.column, self.column, 2.0, 1e-4, 0.05, 0.0, 0.5)

    @property
    def column(self) -> float:
        """Bore of an assumed column [m]: `ASSUMED_SPEED` at the first duty state."""
        flow = max(self.point.first.flow, _LOWEST)
        return math.sqrt(flow / ASSUMED_SPEED / (math.pi / 4.0))

    def ends(self, duty: Duty) -> tuple[tuple[str, float], ...]:
        """What the setting takes besides the levels: (name, head [m])."""
        where, setting = self.setting
        found = setting_loss(where, duty.flow, setting, duty.conditions.viscosity)
        parts = {name: float(getattr(found, name)) for name in ("entry", "column", "bend", "flap")}
        parts["outlet velocity"] = float(found.exit)
        return tuple((name, head) for name, head in parts.items() if head > 0.0)

    def head(self, duty: Duty) -> float:
        """Head that the impeller makes [m]."""
        return duty.head + sum(head for _, head in self.ends(duty))

    @cached_property
    def design(self) -> Duty:
        """The duty state of the largest flow, by which pump and motor are chosen."""
        lifted = [d for d in self.point.duties if d.head > 0.0] or self.point.duties
        return max(lifted, key=lambda d: (round(d.flow, 9), d.head))

    @cached_property
    def stages(self) -> int:
        """Stages in series: as stated, or as few as bring a centrifugal pump into its range."""
        if isinstance(self.stated, CentrifugalPump):
            return self.stated.stages
        flow, head = max(self.design.flow, _LOWEST), self.head(self.design)
        if self.propeller or head <= 0.0:
            return 1
        for stages in range(1, _MOST_STAGES):
            fastest = max(c.specific_speed for c in speed_choices(flow, head / stages))
            if fastest >= _RADIAL_LEAST:
                return stages
        return _MOST_STAGES

    @cached_property
    def choice(self) -> SpeedChoice | None:
        """Motor speed at which the class of pump is at its best; None if there is none."""
        flow, head = max(self.design.flow, _LOWEST), self.head(self.design)
        if head <= 0.0:
            return None
        low, high = self.range
        good = [
            c for c in speed_choices(flow, head / self.stages) if low <= c.specific_speed <= high
        ]
        flow = min(max(flow, 0.001), 20.0)
        if not good and self.propeller:
            return self._slowed(speed_choices(flow, head)[-1])
        return max(good, key=lambda c: float(best_efficiency(flow, c.specific_speed)), default=None)

    @property
    def range(self) -> tuple[float, float]:
        """Least and most specific speed n_q of this class of pump [1/min]."""
        return _AXIAL if self.propeller else (_RADIAL_LEAST, _RADIAL_MOST)

    @property
    def known(self) -> bool:
        """Whether a pump that exists is stated: by its curve, or by what it takes."""
        stated = self.stated
        return bool(self.curve_points) or (stated is not None and stated.wire_to_water is not None)

    def _slowed(self, slowest: SpeedChoice) -> SpeedChoice | None:
        """A motor that a gear or a converter slows down as far as a propeller pump asks."""
        share = _AXIAL[1] / slowest.specific_speed
        if not _SLOWEST <= share <= 1.0:
            return None
        found = pump_class(_AXIAL[1])
        return SpeedChoice(slowest.poles, share * slowest.speed, _AXIAL[1], found)

    @cached_property
    def full_speed(self) -> float | None:
        """Full speed of the shaft [1/min]."""
        if self.stated is not None and self.stated.speed is not None:
            return self.stated.speed * 60.0
        return self.choice.speed if self.choice is not None else None

    @cached_property
    def number(self) -> float | None:
        """Specific speed n_q of the design duty at full speed [1/min]."""
        if self.full_speed is None or self.head(self.design) <= 0.0:
            return None
        flow = max(self.design.flow, _LOWEST)
        return float(specific_speed(self.full_speed, flow, self.head(self.design), self.stages))

    @cached_property
    def curve(self) -> Curve | None:
        """Head [m] over flow [m3/s] of one unit at full speed; a generic one if none is stated."""
        if self.curve_points:
            return curve_by_points(*zip(*running(self.curve_points), strict=True))
        if self.number is None:
            return None
        number = min(max(self.number, 5.0), 500.0)
        return generic_curve(max(self.design.flow, _LOWEST), self.head(self.design), number)

    def share(self, duty: Duty) -> float:
        """Speed at which the curve passes through the duty, as a share of the full one [-]."""
        if self.curve is None:
            return 1.0
        if self.fixed:
            return duty.lift.speed
        low, high = _LEAST_SHARE, _MOST_SHARE
        head, flow = self.head(duty), duty.flow
        for _ in range(60):
            middle = 0.5 * (low + high)
            made = float(curve_value(at_speed(self.curve, middle), flow)[0])
            low, high = (middle, high) if made < head else (low, middle)
        return high

    def efficiency(self, duty: Duty, share: float) -> tuple[float, float, str]:
        """Efficiency of the pump [-], the upper limit for it [-], and what it rests on."""
        flow = duty.flow / share
        limit = 1.0
        if self.number is not None:
            best_flow = min(max(self.design.flow, 0.001), 20.0)
            number = min(max(self.number, 5.0), 400.0)
            best = float(best_efficiency(best_flow, number))
            ratio = min(flow / max(self.design.flow, _LOWEST), 1.99)
            limit = float(off_point_efficiency(best, ratio))
        if self.stated is not None and self.stated.efficiency:
            curve = curve_by_points(*zip(*self.stated.efficiency, strict=True))
            there = float(np.clip(curve_value(curve, flow)[0], 0.01, 0.95))
            return float(efficiency_at_speed(there, share)), limit, "stated efficiency curve"
        words = (
            f"{DERATING:.2f} of what good practice reaches (Guelich, an upper limit); "
            "the factor is an assumption"
        )
        return max(DERATING * limit, 0.01), limit, words

    @cached_property
    def motor(self) -> float:
        """Rated power of the motor of one unit [W]."""
        stated = self.stated.motor.power if self.stated is not None else None
        if stated is not None:
            return stated
        reserve = self.stated.motor.reserve if self.stated is not None else 0.15
        return rated_output(max(self.shaft(d) for d in self.working), 1.0 + reserve)

    @cached_property
    def working(self) -> list[Duty]:
        """Duty states in which the pump has something to lift."""
        return [d for d in self.point.duties if not d.stands and self.head(d) > 0.0]

    def shaft(self, duty: Duty) -> float:
        """Shaft power of one unit [W]."""
        return self.shaft_at(duty, self.share(duty))

    def shaft_at(self, duty: Duty, share: float) -> float:
        """Shaft power of one unit [W] at a share of full speed."""
        eta, _, _ = self.efficiency(duty, share)
        made = hydraulic_power(duty.flow, self.head(duty), duty.conditions.density)
        return max(float(made) / max(eta, 0.01), 1.0)

    def electric(self, duty: Duty, shaft: float) -> float:
        """Electric power of one unit [W] for a shaft power [W]."""
        name = self.stated.motor.efficiency_class if self.stated is not None else "IE3"
        drive = "converter" if self.converter else "none"
        return float(mains_power(shaft, self.motor, name, drive))

    @property
    def converter(self) -> bool:
        """Whether a frequency converter trims it."""
        return self.stated is not None and self.stated.motor.drive != "none"

    def states(self) -> tuple[DeviceState, ...]:
        """Return what is handed over of each duty state."""
        return tuple(self._state(duty) for duty in self.point.duties)

    def _state(self, duty: Duty) -> DeviceState:
        if duty.stands or (duty.by_itself and not self.fixed):
            return idle_state(duty)
        head = self.head(duty)
        against, remarks = pump_limits(self, duty)
        if self.number is None or head <= 0.0:
            return DeviceState(
                duty.state, duty.flow * duty.units, duty.head, head, tuple(against), None, None
            )
        share = self.share(duty)
        eta, limit, rests = self.efficiency(duty, share)
        made = float(hydraulic_power(duty.flow, head, duty.conditions.density))
        shaft = self.shaft(duty)
        wire = self.stated.wire_to_water if self.stated is not None else None
        if wire is not None:
            used = float(hydraulic_power(duty.flow, duty.head, duty.conditions.density)) / wire
            power, rests = Band(used, used, used), "stated wire to water"
        else:
            value = self.electric(duty, shaft)
            least = self.electric(duty, made / max(limit, eta)) if limit < 1.0 else value
            power = Band(value, least, value)
        power = Band(*(duty.units * p for p in (power.value, power.least, power.most)))
        point = PumpPoint(
            duty.flow,
            head,
            self.ends(duty),
            share * (self.full_speed or 0.0),
            share,
            self.number,
            self.form,
            eta,
            rests,
            shaft,
            self.motor,
            shaft * duty.units / max(power.value, 1e-9) if wire is None else 0.0,
            float(shut_off_power(shaft, min(max(self.number, 5.0), 500.0))),
            self.curve_points[-1][0] * share if self.curve_points else None,
            self.submergence(duty),
            self.bell_velocity(duty),
            self.npsh(duty),
            tuple(remarks),
            stop_share(self, duty),
        )
        return DeviceState(
            duty.state, duty.flow * duty.units, duty.head, head, tuple(against), power, point
        )

    @property
    def form(self) -> str:
        """Class of pump that the specific speed asks for."""
        found = pump_class(self.number) if self.number is not None else None
        return found.name if found is not None else "beyond the classes of pumps"

    def _bell(self, duty: Duty) -> float | None:
        if not self.propeller or duty.flow <= 0.0:
            return None
        if isinstance(self.stated, PropellerPump) and self.stated.bell is not None:
            return self.stated.bell
        return float(bell_diameter(max(self.design.flow, _LOWEST)))

    def submergence(self, duty: Duty) -> tuple[float, float | None] | None:
        """Water over the bell [m]: needed, and there if the bell's level is stated."""
        bell = self._bell(duty)
        if bell is None:
            return None
        # Beyond the range of the formula the velocity itself is what is told.
        speed = min(self.bell_velocity(duty) or 0.0, _FASTEST_BELL)
        needed = float(inlet_submergence(speed, bell))
        level = self.stated.bell_level if isinstance(self.stated, PropellerPump) else None
        return needed, None if level is None else duty.up - level

    def bell_velocity(self, duty: Duty) -> float | None:
        """Velocity in the mouth of the bell [m/s]."""
        bell = self._bell(duty)
        return None if bell is None else duty.flow / (math.pi / 4.0 * bell**2)

    def npsh(self, duty: Duty) -> tuple[float, float] | None:
        """Net positive suction head [m]: needed with its margin, and there."""
        pump = self.stated
        if not isinstance(pump, CentrifugalPump) or pump.npsh is None:
            return None
        at = duty.conditions
        height = 0.0 if pump.suction_level is None else duty.up - pump.suction_level
        there = npsh_available(
            atmospheric_pressure(at.altitude), vapour_pressure(at.temperature, at.salinity),
            height, pump.suction_loss, at.density,
        )  # fmt: skip
        return float(npsh_needed(pump.npsh)), float(there)
