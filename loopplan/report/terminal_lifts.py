"""The study of lifts as text: one sheet for each lift, in the order of the loop."""

from __future__ import annotations

import io
from math import floor, log10

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loopplan.report.numbers import banded, digits, flow_m3_h, level
from loopplan.report.terminal import USUAL, plain_console
from loopplan.report.terminal_budget import plain_table
from loopplan.report.terminal_parts import assumed_part, findings_part, sources_part
from loopplan.report.words import CAUTIONS, NOT_VALIDATED, one_line
from loopplan.studies.lift_sheet_results import (
    AirPoint,
    DeviceResult,
    DeviceState,
    LiftSheet,
    LiftStudy,
    PumpPoint,
)

_KWH = 3.6e6


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
    console.print(Text(CAUTIONS))


def _title(console: Console, text: str) -> None:
    console.print()
    console.print(Text(text, "bold"))


def _sheet(sheet: LiftSheet, currency: str, console: Console) -> None:
    state = one_line(sheet.devices[0].states[0].state)
    _title(
        console,
        f"{one_line(sheet.element)}: {flow_m3_h(sheet.flow)} m3/h, {level(sheet.head)} m from "
        f"level to level ({state})",
    )
    console.print(_devices(sheet, currency))
    for device in sheet.devices:
        air = [s for s in device.states if isinstance(s.detail, AirPoint)]
        if air:
            console.print()
            console.print(Text(f"Airlift in each duty state ({NOT_VALIDATED})"))
            console.print(_air_table(air))
        pumps = [s for s in device.states if isinstance(s.detail, PumpPoint)]
        if pumps:
            console.print()
            console.print(Text(f"{device.device.capitalize()} in each duty state, one unit"))
            console.print(_pump_table(pumps))
    console.print()
    console.print(_words(sheet))


def _devices(sheet: LiftSheet, currency: str) -> Table:
    money = any(device.cost is not None for device in sheet.devices)
    titles = ["serves", "power\nkW", "Wh\nper m3", "kWh\na year", "oxygen\nkg/h"]
    table = plain_table("device", *titles, *([f"{currency or 'cost'}\na year"] if money else []))
    for device in sheet.devices:
        first = device.states[0]
        per = first.per_m3
        oxygen = "-" if device.gas is None else banded(device.gas.oxygen, 3600.0, 2)
        cells = [
            "yes" if device.feasible else "no",
            "-" if first.power is None else banded(first.power, 1e-3, 2),
            "-" if per is None else digits(per / 3600.0, 2),
            "-" if device.energy is None else _round(device.energy.value / _KWH),
            oxygen if device.device == "airlift" else "none",
        ]
        if money:
            cells.append("-" if device.cost is None else _round(device.cost))
        table.add_row(Text(device.device), *cells)
    return table


def _air_table(states: list[DeviceState]) -> Table:
    titles = (
        "lift\nm", "air\nm3/h", "air to\nwater", "gas\n%", "pressure\nmbar", "stalls\nat m",
        "flow lost\n% per cm", "reserve\nm", "efficiency, %\nstatic / total",
    )  # fmt: skip
    table = plain_table("state", *titles)
    for state in states:
        air = state.detail
        assert isinstance(air, AirPoint)
        table.add_row(
            Text(one_line(state.state)),
            level(state.static),
            banded(air.air, 3600.0, 3),
            banded(air.ratio, 1.0, 2),
            f"{100.0 * air.gas_fraction:.0f}",
            f"{air.pressure / 100.0:.0f}",
            f"{air.stall.value:.2f}",
            f"{100.0 * air.lost_per_cm:.1f}",
            "-" if air.reserve is None else f"{air.reserve:.2f}",
            f"{100.0 * air.static_efficiency:.0f} / {100.0 * air.total_efficiency:.0f}",
        )
    return table


def _pump_table(states: list[DeviceState]) -> Table:
    titles = (
        "flow\nm3/h", "head\nm", "of it\nsetting", "turns\n1/min", "specific\nspeed",
        "efficiency\n%", "shaft\nkW", "motor\nkW", "power\nkW", "Wh\nper m3",
    )  # fmt: skip
    table = plain_table("state", *titles)
    for state in states:
        pump = state.detail
        assert isinstance(pump, PumpPoint)
        units = state.flow / pump.flow if pump.flow > 0.0 else 1.0
        per = state.per_m3
        table.add_row(
            Text(one_line(state.state)),
            flow_m3_h(pump.flow),
            level(pump.head),
            level(sum(head for _, head in pump.ends)),
            f"{pump.speed:.0f}",
            f"{pump.specific_speed:.0f}",
            f"{100.0 * pump.efficiency:.0f}",
            digits(pump.shaft / 1e3, 3),
            f"{pump.motor / 1e3:g}",
            "-" if state.power is None else digits(state.power.value / units / 1e3, 3),
            "-" if per is None else digits(per / 3600.0, 2),
        )
    return table


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
        for remark in _remarks(device):
            say("note", f"{device.device}: {remark}")
    for row in sheet.practice:
        say("practice", f"{row.name}: {row.practice}; here {row.modelled} ({row.source})")
    return grid


def _remarks(device: DeviceResult) -> list[str]:
    found: list[str] = []
    for state in device.states:
        if isinstance(state.detail, PumpPoint):
            found += [r for r in state.detail.remarks if r not in found]
    first = device.states[0].detail
    if isinstance(first, PumpPoint):
        found.append(f"{first.form}; efficiency: {first.rests_on}")
        if first.submergence is not None and first.submergence[1] is None:
            found.append(f"{first.submergence[0]:.2f} m of water are needed over its bell")
    if device.gas is not None:
        found.append(
            f"its air saves {device.gas.instead / 1e3:.2f} kW of other aeration, and takes "
            f"{banded(device.gas.carbon_dioxide, 3600.0, 2)} kg/h of carbon dioxide"
        )
        found += device.gas.remarks
    return found


def _round(value: float) -> str:
    """Write a yearly sum to three digits."""
    if value == 0.0:
        return "0"
    return f"{round(value, 2 - floor(log10(abs(value)))):,.0f}"
