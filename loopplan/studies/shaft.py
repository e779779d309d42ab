"""What a channel airlift takes: air by lift and outlet half, its least, and water against air.

No scenario and no loop: one shaft, drawn or of common practice. Nothing is fitted to enter the
range of practice, which is only set beside what is computed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from loopplan.limits import Limits
from loopplan.physics._check import Array, Numbers
from loopplan.physics.air import STANDARD, dry_mass_flow, inlet_state, isothermal_power, volume_flow
from loopplan.physics.airlift_band import air_band, edge_closure, single_edge_closure, water_band
from loopplan.physics.airlift_column import Balance, Site, balance, site
from loopplan.physics.airlift_practice import (
    PRACTICE_AIR,
    SILL_WATER,
    best_outlet_area,
    practice_shaft,
    practice_table,
)
from loopplan.physics.airlift_results import Performance, performance, stall
from loopplan.physics.airlift_shaft import BUBBLE_RISE, GAS_IN_DATA, Shaft, shaft_state
from loopplan.physics.airlift_solve import peak_water
from loopplan.physics.blower_classes import BLOWERS
from loopplan.physics.blowers import FAR, NEAR, blower_power
from loopplan.physics.constants import GRAVITY
from loopplan.physics.motors import motor_efficiency
from loopplan.physics.two_phase import Closure
from loopplan.sources import SOURCES
from loopplan.studies.shaft_check import check_case
from loopplan.studies.shaft_results import (
    AirCell,
    AtWork,
    Band,
    LeastAir,
    NeedCurve,
    OperatingPoint,
    Operation,
    Peak,
    ShaftCase,
    ShaftStudy,
)

_EXPECTED = 1
_FASTEST, _SLOWEST = 3.0, 0.01
"""Superficial velocity of the water [m/s] at the least and the largest area that is searched."""
_AREAS = 41
_LEAST_GAS, _MOST_GAS = 0.02, 100.0
"""Superficial gas velocity [m/s] at the first point of the operating curve, and up to which its
peak is searched: far beyond the data of the closures, so that the model's own peak is seen."""
_POINTS = 60
_MOTOR = (120.0, 1e6)
"""Motors that a table of efficiencies holds [W]."""
_SOURCES = (
    "zuber-findlay-1965", "hibiki-ishii-2003", "heijnen-vant-riet-1984", "zehner-1986",
    "equal-thrust", "orifice", "borda-carnot", "harmathy-1960", "ideal-gas", "iso-2533",
    "epa-832-r-10-005", "iec-60034-30-1", "trade-practice",
)  # fmt: skip


def shaft_study(case: ShaftCase) -> ShaftStudy:
    """Work out a shaft.

    Args:
        case: the shaft.

    Raises:
        Refused: a shaft that cannot be built or cannot work; holds every problem found.
    """
    check_case(case)
    work = _Work(case)
    return ShaftStudy(
        case,
        PRACTICE_AIR,
        GAS_IN_DATA,
        (Limits().airlift_workable, Limits().airlift_most),
        BUBBLE_RISE,
        work.cells(),
        work.curves(),
        work.operation(),
        work.assumed(),
        tuple((key, SOURCES[key].text) for key in _SOURCES),
    )


@dataclass(frozen=True)
class _Work:
    case: ShaftCase

    @cached_property
    def place(self) -> Site:
        case = self.case
        return site(case.temperature, case.salinity, case.altitude)

    @cached_property
    def lifts(self) -> Array:
        return np.array(self.case.lifts)

    @property
    def expected(self) -> Closure:
        """The middle one of `edge_closure`."""
        return single_edge_closure(_EXPECTED, self.case.coverage)

    def shaft(self, outlet_half: Numbers, lift: Numbers) -> Shaft:
        case = self.case
        return practice_shaft(
            outlet_half,
            lift,
            inlet_area=case.inlet_half,
            depth=case.depth,
            dry_reserve=case.dry_reserve,
            diffuser_height=case.diffusers,
            partition_gap=case.gap,
        )

    def cells(self) -> tuple[AirCell, ...]:
        case = self.case
        rows = practice_table(
            self.place, case.flow, case.coverage, case.outlet_halves, case.lifts, self.shaft
        )
        area = np.array([row.outlet_area for row in rows])
        lift = np.array([row.lift for row in rows])
        expected = [row.air_to_water[_EXPECTED] for row in rows]
        shaft = self.shaft(area, lift)
        air = dry_mass_flow(case.flow * np.array([x or 0.0 for x in expected]), STANDARD)
        found = balance(shaft, self.place, case.flow, air, lift, self.expected)
        state = shaft_state(shaft, self.place, case.flow, found)
        cells = []
        for i, row in enumerate(rows):
            there = expected[i] is not None
            reserve = float(state.reserve[i]) if there else None
            gas = float(found.gas_velocity_top[i]) if there else None
            down = float(np.broadcast_to(state.down_velocity, area.shape)[i])
            cells.append(
                AirCell(
                    row.lift,
                    row.outlet_area,
                    Band(*_middle_first(row.air_to_water)),
                    Band(*_middle_first(row.deviation)),
                    Band(*_middle_first(row.short)),
                    reserve,
                    down,
                    gas,
                    tuple(self._remarks(row.lift, reserve, down, gas)),
                )
            )
        return tuple(cells)

    def _remarks(
        self, lift: float, reserve: float | None, down: float, gas: float | None
    ) -> list[str]:
        """Codes of the findings that hold, in the order of their letters in the report."""
        case = self.case
        told = {
            "airlift-lift-limit": lift > Limits().airlift_workable,
            "airlift-bulks-over": reserve is not None and reserve < 0.0,
            "bubbles-carried-under": down > BUBBLE_RISE,
            "airlift-beyond-data": gas is not None and gas > GAS_IN_DATA,
            "diffusers-below-partition": case.diffusers < case.gap,
        }
        return [code for code, holds in told.items() if holds]

    def curves(self) -> tuple[NeedCurve, ...]:
        case, lifts = self.case, self.lifts
        least, largest = case.flow / _FASTEST, case.flow / _SLOWEST
        best = best_outlet_area(
            lambda area: self.shaft(area, lifts),
            self.place,
            np.full((3, 1), case.flow),
            lifts,
            edge_closure(case.coverage, 1),
            least,
            largest,
        )
        # Wide enough to show both branches of each minimum, and what was asked for.
        shown = best.area[best.inside]
        low = min([*case.outlet_halves, *(0.45 * shown)])
        high = max([*case.outlet_halves, *(4.0 * shown)])
        areas = np.geomspace(max(low, least), max(high, 2.0 * low), _AREAS)
        need = air_band(
            self.shaft(areas[:, None], lifts), self.place, case.flow, lifts, case.coverage
        )
        ratio = volume_flow(need.dry_air, STANDARD) / case.flow
        at_best = air_band(
            self.shaft(best.area[_EXPECTED], lifts), self.place, case.flow, lifts, case.coverage
        )
        best_ratio = volume_flow(best.dry_air, STANDARD) / case.flow
        curves = []
        for k, lift in enumerate(case.lifts):
            points = tuple(
                (float(area), _band(ratio[:, i, k], need.possible[:, i, k]))
                for i, area in enumerate(areas)
            )
            curves.append(
                NeedCurve(
                    lift,
                    points,
                    LeastAir(
                        _band(best.area[:, k], best.possible[:, k]),
                        _band(best_ratio[:, k], best.possible[:, k]),
                        _band(
                            volume_flow(at_best.dry_air[:, k], STANDARD) / case.flow,
                            at_best.possible[:, k],
                        ),
                        bool(best.inside[_EXPECTED, k]),
                        (least, largest),
                    ),
                )
            )
        return tuple(curves)

    def operation(self) -> Operation:
        case = self.case
        lift, area = case.lifts[0], case.outlet_halves[0]
        shaft = replace(self.shaft(area, lift), most_gas=_MOST_GAS)
        peak = peak_water(shaft, self.place, lift, edge_closure(case.coverage))
        top = peak.dry_air[_EXPECTED : _EXPECTED + 1]
        least = area * _LEAST_GAS / self.place.gas_flow(1.0, np.asarray(self.place.atmosphere))
        # Close where the curve bends, and on until water falls.
        air = np.geomspace(least, 2.0 * top[0], _POINTS)
        need = air_band(shaft, self.place, case.flow, lift, case.coverage)
        at_work = None
        if need.possible[_EXPECTED]:
            at_work = self._at_work(shaft, lift, float(need.dry_air[_EXPECTED]))
        return Operation(
            lift,
            area,
            self._points(shaft, lift, np.append(0.0, air)),
            Peak(
                self._points(shaft, lift, top)[0],
                _band(volume_flow(peak.dry_air, STANDARD)),
                _band(peak.flow),
                bool(peak.inside[_EXPECTED]),
                shaft.most_gas,
            ),
            at_work,
            case.water_column + NEAR,
            case.water_column + FAR,
        )

    def _points(self, shaft: Shaft, lift: float, air: Array) -> tuple[OperatingPoint, ...]:
        """The shaft at air flows [kg/s], one after the other."""
        case = self.case
        moved = water_band(shaft, self.place, air, lift, case.coverage).flow
        flow = moved[_EXPECTED]
        found = balance(shaft, self.place, flow, air, lift, self.expected)
        told = self._performance(shaft, flow, air, lift, found)
        stalls = stall(shaft, self.place, air, lift, edge_closure(case.coverage, 1))
        free = volume_flow(air, STANDARD)
        return tuple(
            OperatingPoint(
                float(free[i]),
                float(told.air_to_water[i]) if flow[i] > 0.0 else None,
                _band(moved[:, i]),
                float(found.fraction_mean[i]),
                float(found.gas_velocity_top[i]),
                float(found.water_velocity[i]),
                _band(stalls.lift[:, i]),
                float(stalls.flow_lost[_EXPECTED, i]),
                float(told.static_efficiency[i]),
                float(told.total_efficiency[i]),
                float(told.wire_efficiency[i]),
                float(told.wire_power[i]),
                3600.0 * float(told.wire_energy[i]) if flow[i] > 0.0 else None,
            )
            for i in range(air.size)
        )

    def _at_work(self, shaft: Shaft, lift: float, air: float) -> AtWork:
        case = self.case
        found = balance(shaft, self.place, case.flow, air, lift, self.expected)
        told = self._performance(shaft, case.flow, air, lift, found)
        state = shaft_state(shaft, self.place, case.flow, found)
        pressure = float(told.injection_pressure)
        return AtWork(
            self._points(shaft, lift, np.array([air]))[0],
            float(told.air_normal),
            float(told.air_inlet),
            float(told.submergence_ratio),
            float(told.driving_head),
            tuple((name, float(loss)) for name, loss in found.losses.items()),
            pressure,
            pressure / (float(np.asarray(self.place.water_density)) * GRAVITY),
            float(state.reserve),
            float(state.down_velocity),
        )

    def _performance(
        self, shaft: Shaft, flow: Numbers, air: Numbers, lift: float, found: Balance
    ) -> Performance:
        """What it takes, with the rotary lobe blower and the motor that are assumed."""
        inlet = inlet_state(self.case.altitude)
        margin = NEAR * np.asarray(self.place.water_density) * GRAVITY
        delivery = found.injection_pressure + margin
        lobe = 0.5 * sum(BLOWERS["rotary lobe"].efficiency)
        per_flow = blower_power(1.0, inlet.pressure, delivery, lobe)
        rated = np.clip(volume_flow(air, inlet) * per_flow, *_MOTOR)
        efficiency = (
            isothermal_power(1.0, inlet.pressure, delivery) / per_flow * motor_efficiency(rated)
        )
        return performance(shaft, self.place, flow, air, lift, found, inlet, efficiency, margin)

    def assumed(self) -> tuple[str, ...]:
        """What the results rest on besides what was asked."""
        low, high = BLOWERS["rotary lobe"].efficiency
        inlet = "" if self.case.inlet_half is not None else ", and as large"
        return (
            f"outlet half square, inlet half as wide{inlet}; outlet as wide, its sill "
            f"{SILL_WATER:g} m under the outlet level",
            "band: closures from gas spread evenly to a circulating column, moved towards a plume "
            "by the share that diffusers leave free (our judgement)",
            f"blower: rotary lobe, {50 * (low + high):.0f} % adiabatic (middle of {100 * low:.0f} "
            f"to {100 * high:.0f} %), IE3 motor at full load, {NEAR:g} m of water for diffusers "
            "and pipes, air drawn in at 20 degC",
        )


def _middle_first(edges: tuple[float | None, ...]) -> tuple[float | None, ...]:
    least, expected, most = edges
    return expected, least, most


def _band(edges: Array, possible: npt.NDArray[np.bool_] | None = None) -> Band:
    there = np.ones(3, dtype=bool) if possible is None else possible
    return Band(
        *_middle_first(tuple(float(x) if ok else None for x, ok in zip(edges, there, strict=True)))
    )
