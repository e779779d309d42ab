"""The study of lifts: every device at every lift, on the same solved loop, in all duty states."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from loopplan.findings import Finding, worst_first
from loopplan.lifts.airlift import SHAFT_SOURCES, TUBE_SOURCES, Shaft, Tube
from loopplan.lifts.assign import AIRLIFT, CENTRIFUGAL, PROPELLER
from loopplan.limits import Limits
from loopplan.loop.solution import Solved, solve_scenario
from loopplan.physics.airlift_practice import PRACTICE_AIR
from loopplan.scenario.models import Prices, Scenario
from loopplan.sources import SOURCES
from loopplan.studies.budget import budget_of
from loopplan.studies.device_airlift import AirliftStudy
from loopplan.studies.device_choice import (
    JOULE_PER_KWH,
    crossover,
    net_energy,
    recommend,
    rounded,
    yearly,
)
from loopplan.studies.device_curve import air_curve
from loopplan.studies.device_drawn import Drawn, drawn_airlift
from loopplan.studies.device_gas import gas_credit
from loopplan.studies.device_judge import judge_devices
from loopplan.studies.device_pumps import Pump, PumpStudy
from loopplan.studies.lift_duty import LiftPoint, lift_points
from loopplan.studies.lift_sheet_results import (
    AirPoint,
    Band,
    DeviceResult,
    DeviceState,
    LiftSheet,
    LiftStudy,
    PracticeRow,
)
from loopplan.studies.pump_slower import slower

_PRACTICE = "common practice, no source"
_PUMP_SOURCES = ("gulich-3-9", "gulich-classes", "iec-60034-30-1", "cfr-431-y")


def lift_study(scenario: Scenario) -> LiftStudy:
    """Solve a scenario and evaluate three devices at each of its lifts.

    Raises :class:`loopplan.errors.Refused` and :class:`loopplan.errors.NoSolution`.
    """
    return lift_study_of(solve_scenario(scenario))


def lift_study_of(solved: Solved) -> LiftStudy:
    """Evaluate three devices at each lift of a solved loop, in the order of the loop."""
    scenario = solved.compiled.scenario
    result = budget_of(solved)
    limits = scenario.limits
    assert isinstance(limits, Limits)
    sheets: list[LiftSheet] = []
    findings: list[Finding] = []
    assumed = list(scenario.assumed)
    used: set[str] = set()
    for point in _in_loop_order(scenario, lift_points(solved, result.lifts)):
        sheet, drawn = _sheet(point, limits, scenario.prices, solved)
        sheets.append(sheet)
        assumed += [(point.name, f"airlift.{f}", v, s) for f, v, s in drawn.assumed]
        findings += judge_devices(point, sheet, limits)
        used |= set(TUBE_SOURCES if isinstance(drawn.shape, Tube) else SHAFT_SOURCES)
    return LiftStudy(
        scenario.farm.name,
        scenario.document.name,
        tuple(sheets),
        tuple(worst_first(findings)),
        tuple(assumed),
        tuple((key, SOURCES[key].text) for key in sorted(used | set(_PUMP_SOURCES))),
        scenario.prices.currency,
    )


def _in_loop_order(scenario: Scenario, points: list[LiftPoint]) -> list[LiftPoint]:
    """Lifts as water meets them along the flow paths, as these stand in the file."""
    order: list[str] = []
    for path in scenario.paths.values():
        order += [name for name in path if name not in order]
    return sorted(points, key=lambda p: order.index(p.name) if p.name in order else len(order))


def evaluated(
    point: LiftPoint, airlift: AirliftStudy, limits: Limits, prices: Prices, solved: Solved
) -> tuple[DeviceResult, ...]:
    """Return the three devices at a lift point, limits of practice counted."""
    lift = point.lift
    pumps = (
        PumpStudy(point, PROPELLER, lift.propeller_pump, limits),
        PumpStudy(point, CENTRIFUGAL, lift.centrifugal_pump, limits),
    )
    gas = gas_credit(airlift, point.number)
    shape = airlift.drawn.shape
    made = [
        _device(AIRLIFT, airlift.states(), prices, point.number),
        *(_device(pump.device, pump.states(), prices, point.number) for pump in pumps),
    ]
    made[0] = replace(
        made[0], gas=gas, curve=air_curve(airlift), standby=_air_standby(shape.blower)
    )
    owning = [shape.yearly_cost, *(p.stated.yearly_cost if p.stated else None for p in pumps)]
    for i, pump in enumerate(pumps, 1):
        rows = slower(pump, solved) if made[i].feasible else None
        made[i] = replace(made[i], standby=_pump_standby(pump), slower=rows)
    return tuple(
        replace(device, cost=yearly(device, own, prices))
        for device, own in zip(made, owning, strict=True)
    )


def _device(
    name: str, states: tuple[DeviceState, ...], prices: Prices, number: int = 0
) -> DeviceResult:
    feasible = all(state.feasible for state in states)
    bad = next((state for state in states if not state.feasible), None)
    reason = "serves in every duty state"
    if bad is not None:
        reason = f"{bad.against[0]} ({bad.state})"
    power = states[number].power
    energy = None if power is None else _of_a_year(power, prices)
    return DeviceResult(name, states, feasible, reason, energy, None, "", None)


def _air_standby(place: str) -> str:
    return (
        "a second blower of the same size on the header (N+1): one blower that fails stops every "
        f"airlift that it feeds; the blower is taken to stand {place}"
    )


def _pump_standby(pump: PumpStudy) -> str:
    units = round(pump.point.first.units)
    spare = pump.stated.standby if pump.stated is not None else 1
    lost = "all of the flow" if units == 1 else f"1 of {units} of the flow"
    run, stand = ("runs" if units == 1 else "run"), ("stands" if spare == 1 else "stand")
    missing = f"{units} {run} and {spare:.0f} {stand} by; without one, {lost} is missing"
    return f"{missing} until the spare starts" if spare else f"{missing} until it is mended"


def _sheet(
    point: LiftPoint, limits: Limits, prices: Prices, solved: Solved
) -> tuple[LiftSheet, Drawn]:
    drawn = drawn_airlift(point)
    airlift = AirliftStudy(point, drawn, limits)
    devices = evaluated(point, airlift, limits, prices, solved)
    best, words = recommend(devices, prices)
    if point.idle:
        best, words = "", _idle(point)
    at, at_words = (None, "") if point.idle else _crossover(point, drawn, limits, prices)
    asked = point.lift.device
    return (
        LiftSheet(
            point.name,
            point.first.state,
            point.first.flow * point.first.units,
            point.first.head,
            devices,
            best,
            words,
            None if asked == "open" else asked,
            _fixed(devices, asked, best, prices),
            at,
            at_words,
            tuple(_practice(point, devices[0], limits)),
        ),
        drawn,
    )


def _idle(point: LiftPoint) -> str:
    if all(duty.stands for duty in point.duties):
        return "It stands still in every duty state: nothing can be said of its devices."
    return (
        f"No device is needed: the water runs by itself, its level falls by "
        f"{abs(point.first.head):.2f} m from before to behind this lift. Leave the lift out, or "
        "check the levels that are given."
    )


def _crossover(
    point: LiftPoint, drawn: Drawn, limits: Limits, prices: Prices
) -> tuple[float | None, str]:
    """Where airlift and propeller pump change places at the flow of the first duty state.

    Its outlet level is moved and both are worked anew, the limits of practice left aside; the
    sill of the shaft moves with the outlet level.
    """
    if point.pressure >= limits.pressure_from:
        return None, "No crossover: pressure is needed, and an airlift makes none."
    free = Limits.model_validate({"airlift most": "100 m", "propeller most": "100 m"})
    # With a flow of its own no device acts: all trials carry the flow of the duty.
    lift = point.lift.model_copy(update={"flow": point.first.flow, "curve": []})

    def lead(lifts: Sequence[float]) -> list[float | None]:
        first = point.first
        duties = tuple(replace(first, down=first.up + height) for height in lifts)
        raised = tuple(height - first.head for height in lifts)
        trials = LiftPoint(point.name, lift, duties, point.floor)
        airlift = AirliftStudy(trials, drawn, free, raised)
        powers = airlift.powers
        found: list[float | None] = []
        for k, duty in enumerate(duties):
            plain = LiftPoint(point.name, lift, (duty,), point.floor)
            pump = PumpStudy(plain, PROPELLER, lift.propeller_pump, free)
            other = _burden(_device(PROPELLER, pump.states(), prices), pump.stated, prices)
            if not airlift.works[k]:
                found.append(None if other is None else float("inf"))
                continue
            air = DeviceResult(
                AIRLIFT, (), True, "", _of_a_year(powers[k], prices), None, "",
                gas_credit(airlift, k),
            )  # fmt: skip
            one = _burden(air, drawn.shape, prices)
            found.append(None if one is None or other is None else one - other)
        return found

    return crossover(lead, "cost" if prices.electricity is not None else "energy")


def _burden(
    device: DeviceResult, shape: Shaft | Tube | Pump | None, prices: Prices
) -> float | None:
    """Cost of a year, or its energy where no price is given."""
    owning = shape.yearly_cost if shape is not None else None
    cost = yearly(device, owning, prices)
    return cost if cost is not None else net_energy(device, prices)


def _of_a_year(power: Band, prices: Prices) -> Band:
    return Band(*(x * prices.hours for x in (power.value, power.least, power.most)))


def _fixed(devices: tuple[DeviceResult, ...], asked: str, best: str, prices: Prices) -> str:
    """What it costs to keep the device that the file asks for."""
    if asked in ("open", best) or not best:
        return ""
    found = {device.device: device for device in devices}
    mine, other = found[asked], found[best]
    if not mine.feasible:
        return f"The {asked} that is asked for does not serve: {mine.reason}."
    assert mine.energy is not None and other.energy is not None
    more = (mine.energy.value - other.energy.value) / JOULE_PER_KWH
    words = (
        f"The {asked} that is asked for takes about {rounded(abs(more))} kWh a year "
        f"{'more' if more >= 0.0 else 'less'} than the {best}"
    )
    if mine.cost is not None and other.cost is not None:
        currency = prices.currency or "units of money"
        dearer = rounded(mine.cost - other.cost)
        words += f"; all told it comes {dearer} {currency} a year dearer"
    return words + "."


def _practice(point: LiftPoint, air: DeviceResult, limits: Limits) -> list[PracticeRow]:
    """Rules of practice beside what is modelled."""
    rows = [
        PracticeRow(
            "lift",
            f"best up to {limits.airlift_ideal:.2f} m, workable up to "
            f"{limits.airlift_workable:.2f} m, not above {limits.airlift_most:.2f} m",
            f"{point.most_head:.2f} m at most",
            _PRACTICE,
        )
    ]
    detail = air.states[point.number].detail
    if isinstance(detail, AirPoint):
        low, high = PRACTICE_AIR
        rows.append(
            PracticeRow(
                "air to water, installed",
                f"{low:g} to {high:g} by volume, margin included",
                f"{detail.ratio.value:.2f} ({detail.ratio.least:.2f} to {detail.ratio.most:.2f}) "
                "needed, no margin",
                _PRACTICE,
            )
        )
    return rows
