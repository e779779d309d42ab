"""The study of lifts as text: one sheet for each lift, in the order of the loop."""

from __future__ import annotations

import io

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loopplan.lifts.assign import AIRLIFT
from loopplan.report.numbers import banded, digits, flow_m3_h, level, thousands
from loopplan.report.terminal import USUAL, plain_console
from loopplan.report.terminal_budget import plain_table
from loopplan.report.terminal_parts import assumed_part, findings_part, sources_part
from loopplan.report.words import AIR_CAUTIONS, CAUTIONS, NOT_VALIDATED, one_line
from loopplan.studies.lift_sheet_results import (
    AirCurve,
    AirPoint,
    DeviceResult,
    DeviceState,
    LiftSheet,
    LiftStudy,
    PumpPoint,
    Slower,
)

_KWH = 3.6e6
_NAME = 12
"""Width [columns] that names of states and devices get."""
_EFFICIENCY = "efficiency, %\nstatic / total"
_SPARE_AIR = ("gas\n%", _EFFICIENCY, "reserve\nm", "pressure\nmbar")
_SPARE_PUMP = ("specific\nspeed", "of it\nsetting", "turns\n1/min", "motor\nkW")

Cells = dict[str, str]
"""Cells of a row by the titles of their columns."""


def lifts_text(study: LiftStudy, width: int = USUAL, *, assumed: bool = False) -> str:
    """Return the study as plain text of `width` columns."""
    file = io.StringIO()
    show_lifts(study, plain_console(file, width), assumed=assumed)
    return "\n".join(line.rstrip() for line in file.getvalue().splitlines()) + "\n"


def show_lifts(study: LiftStudy, console: Console, *, assumed: bool = False) -> None:
    """Write the study to a console."""
    console.print(Text(f"Lifts of {one_line(study.farm)}", "bold"))
    console.print(
        Text(
            f"File {one_line(study.file)}. Every device is worked on the same solved loop. Air is "
            "free air (20 degC, 101.325 kPa). A range in brackets runs from the least to the most "
            "that the published closures, and the range of blowers, leave."
        )
    )
    if not study.sheets:
        console.print("\nThe loop has no lift.")
    for sheet in study.sheets:
        _sheet(sheet, study.currency, console)
    _title(console, "Findings, worst first")
    console.print(findings_part(study.findings))
    _title(console, "Assumed values and sources")
    console.print(assumed_part(study.assumed, assumed))
    console.print(sources_part(study.sources, assumed))
    _title(console, "Cautions")
    if any(d.device == AIRLIFT and _is_told(s, d) for s in study.sheets for d in s.devices):
        console.print(Text(AIR_CAUTIONS))
    console.print(Text(CAUTIONS))


def _title(console: Console, text: str) -> None:
    console.print()
    console.print(Text(text, "bold"))


def _sheet(sheet: LiftSheet, currency: str, console: Console) -> None:
    _title(
        console,
        f"{one_line(sheet.element)}: {flow_m3_h(sheet.flow)} m3/h, {level(sheet.head)} m from "
        f"level to level ({one_line(sheet.state)})",
    )
    console.print(_devices(sheet, currency, console.width))
    for device in sheet.devices:
        if not _is_told(sheet, device):
            continue
        air = [s for s in device.states if isinstance(s.detail, AirPoint)]
        if air:
            console.print()
            console.print(Text(f"Airlift in each duty state ({NOT_VALIDATED})"))
            console.print(_air_table(air, console.width))
        pumps = [s for s in device.states if isinstance(s.detail, PumpPoint)]
        if pumps:
            console.print()
            console.print(Text(f"{device.device.capitalize()} in each duty state, one unit"))
            console.print(_pump_table(pumps, console.width))
    console.print()
    console.print(_words(sheet))


def _is_told(sheet: LiftSheet, device: DeviceResult) -> bool:
    """Whether a device is told in full: it serves, or is asked for.

    What cannot serve is told in one line; JSON and CSV hold its states.
    """
    return device.feasible or device.device == sheet.fixed


def _devices(sheet: LiftSheet, currency: str, width: int) -> Table:
    money = any(device.cost is not None for device in sheet.devices)
    rows = []
    for device in sheet.devices:
        first = _counted(sheet, device)
        per = first.per_m3
        oxygen = "-" if device.gas is None else banded(device.gas.oxygen, 3600.0, 2)
        cells = {
            "serves": "yes" if device.feasible else "no",
            "power\nkW": "-" if first.power is None else banded(first.power, 1e-3, 2),
            "Wh\nper m3": "-" if per is None else digits(per / 3600.0, 2),
            "kWh\na year": "-" if device.energy is None else thousands(device.energy.value / _KWH),
            "oxygen\nkg/h": oxygen if device.device == AIRLIFT else "none",
        }
        if money:
            cost = "-" if device.cost is None else thousands(device.cost)
            cells[f"{one_line(currency) or 'cost'}\na year"] = cost
        rows.append(cells)
    return _fitted("device", [device.device for device in sheet.devices], rows, width)


def _counted(sheet: LiftSheet, device: DeviceResult) -> DeviceState:
    """The duty state in which a year's energy is counted."""
    return next(state for state in device.states if state.state == sheet.state)


def _fitted(
    first: str, names: list[str], rows: list[Cells], width: int, spare: tuple[str, ...] = ()
) -> Table:
    """Return a table that fits into `width` columns, so that no digit is cut.

    Where it is too wide, what stands beside a value goes below it; then columns are left out in
    the order of `spare`: JSON and CSV hold them.
    """
    if _needed(rows) > width:
        rows = [{title: _below(cell) for title, cell in row.items()} for row in rows]
    for title in spare:
        if _needed(rows) <= width:
            break
        rows = [{key: cell for key, cell in row.items() if key != title} for row in rows]
    table = plain_table(first, *rows[0])
    for name, row in zip(names, rows, strict=True):
        table.add_row(Text(one_line(name)), *row.values())
    return table


def _needed(rows: list[Cells]) -> int:
    """Width [columns] of a table whose column of names is as narrow as it gets."""
    longest = [
        max(len(line) for row in rows for line in f"{title}\n{row[title]}".splitlines())
        for title in rows[0]
    ]
    return _NAME + sum(2 + length for length in longest)


def _below(cell: str) -> str:
    return cell.replace(" (", "\n").removesuffix(")").replace(" / ", "\n")


def _air_table(states: list[DeviceState], width: int) -> Table:
    rows = [_air_cells(state) for state in states]
    return _fitted("state", [s.state for s in states], rows, width, _SPARE_AIR)


def _air_cells(state: DeviceState) -> Cells:
    """Cells of one duty state by the titles of their columns."""
    air = state.detail
    assert isinstance(air, AirPoint)
    return {
        "lift\nm": level(state.static),
        "air\nm3/h": banded(air.air, 3600.0, 3),
        "air to\nwater": banded(air.ratio, 1.0, 2),
        "gas\n%": f"{100.0 * air.gas_fraction:.0f}",
        "pressure\nmbar": f"{air.pressure / 100.0:.0f}",
        "stalls\nat m": f"{air.stall.value:.2f}",
        "lost by\n1 cm, %": f"{100.0 * air.lost_per_cm:.1f}",
        "reserve\nm": "-" if air.reserve is None else f"{air.reserve:.2f}",
        _EFFICIENCY: f"{100.0 * air.static_efficiency:.0f} / {100.0 * air.total_efficiency:.0f}",
    }


def _pump_table(states: list[DeviceState], width: int) -> Table:
    rows = [_pump_cells(state) for state in states]
    return _fitted("state", [s.state for s in states], rows, width, _SPARE_PUMP)


def _pump_cells(state: DeviceState) -> Cells:
    pump = state.detail
    assert isinstance(pump, PumpPoint)
    units = state.flow / pump.flow if pump.flow > 0.0 else 1.0
    per = state.per_m3
    return {
        "flow\nm3/h": flow_m3_h(pump.flow),
        "head\nm": level(pump.head),
        "of it\nsetting": level(sum(head for _, head in pump.ends)),
        "turns\n1/min": f"{pump.speed:.0f}",
        "specific\nspeed": f"{pump.specific_speed:.0f}",
        "efficiency\n%": f"{100.0 * pump.efficiency:.0f}",
        "shaft\nkW": digits(pump.shaft / 1e3, 3),
        "motor\nkW": digits(pump.motor / 1e3, 3),
        "power\nkW": "-" if state.power is None else digits(state.power.value / units / 1e3, 3),
        "Wh\nper m3": "-" if per is None else digits(per / 3600.0, 2),
    }


def _words(sheet: LiftSheet) -> Table:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column()

    def say(name: str, text: str) -> None:
        if text:
            grid.add_row(Text(name), Text(text))

    say("in words", sheet.words)
    say("asked for", sheet.fixed_costs)
    say("crossover", sheet.crossover_words)
    for device in sheet.devices:
        if not device.feasible:
            say("against", f"{device.device}: {device.reason}")
        else:
            say("standby", f"{device.device}: {device.standby}")
        for remark in _remarks(device, _counted(sheet, device)) if _is_told(sheet, device) else ():
            say("note", f"{device.device}: {remark}")
    told = [d for d in sheet.devices if d.device == AIRLIFT and _is_told(sheet, d)]
    for row in sheet.practice if told else ():
        say("practice", f"{row.name}: {row.practice}; here {row.modelled} ({row.source})")
    return grid


def _remarks(device: DeviceResult, counted: DeviceState) -> list[str]:
    found: list[str] = []
    for state in device.states:
        if isinstance(state.detail, PumpPoint):
            found += [r.words for r in state.detail.remarks if r.words not in found]
    first = counted.detail
    if isinstance(first, PumpPoint):
        found.append(f"{first.form}; efficiency: {first.rests_on}")
        if first.submergence is not None and first.submergence[1] is None:
            found.append(f"{first.submergence[0]:.2f} m of water are needed over its bell")
    if device.slower is not None:
        found.append(_slower(device.slower))
        if isinstance(first, PumpPoint) and first.stop_share:
            found.append(
                f"flow stops below {100.0 * first.stop_share:.0f} % of full speed, where it no "
                "longer lifts over the difference of levels"
            )
    if device.curve is not None:
        found.append(_peak(device.curve))
        if isinstance(first, AirPoint) and first.air.value > device.curve.peak_air.value:
            found.append("its air is past that peak: less air moves as much water")
    if device.gas is not None:
        found.append(
            f"its air saves {device.gas.instead / 1e3:.2f} kW of other aeration, and takes "
            f"{banded(device.gas.carbon_dioxide, 3600.0, 2)} kg/h of carbon dioxide"
        )
        found += device.gas.remarks
    return found


def _peak(curve: AirCurve) -> str:
    taken = "where two air flows move one water flow, the smaller is told"
    if not curve.peaks:
        return (
            f"no peak of its water up to {curve.most_gas:g} m/s of gas (superficial), where the "
            f"search ends: beyond the data, which end at {curve.gas_in_data:g} m/s; {taken}"
        )
    beyond = (
        f", beyond the data, which end at {curve.gas_in_data:g} m/s"
        if curve.peak_gas > curve.gas_in_data
        else ""
    )
    return (
        f"at {level(curve.lift)} m of lift its water has a peak at "
        f"{banded(curve.peak_water, 3600.0, 3)} m3/h, with {banded(curve.peak_air, 3600.0, 3)} "
        f"m3/h of air and {digits(curve.peak_gas, 2)} m/s of gas (superficial){beyond}; {taken}"
    )


def _slower(rows: tuple[Slower, ...]) -> str:
    if not rows:
        return "what less speed does is not told: the flow follows from other lifts or levels"
    return "slowed by its converter, the loop solved anew: " + "; ".join(
        f"at {100.0 * row.share:.0f} % of full speed {flow_m3_h(row.flow)} m3/h, "
        f"{digits(row.power / 1e3, 2)} kW, {digits(row.power / row.flow / 3600.0, 2)} Wh per m3"
        if row.flow > 0.0
        else f"at {100.0 * row.share:.0f} % no flow"
        for row in rows
    )
