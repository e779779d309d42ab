"""The study of a shaft as text: air by lift and outlet half, its least, water against air."""

from __future__ import annotations

import io
from collections.abc import Sequence
from math import log

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loopplan.findings import FINDING_KINDS
from loopplan.report.charts import Axis
from loopplan.report.numbers import digits, flow_m3_h
from loopplan.report.shaft_words import (
    FREE_AIR,
    UNTUNED,
    ends,
    in_words,
    listed,
    ratio_axis,
    shaft_in_words,
)
from loopplan.report.terminal import USUAL, plain_console
from loopplan.report.terminal_budget import plain_table
from loopplan.report.text_chart import Range, range_chart
from loopplan.report.words import CAUTIONS, NOT_VALIDATED
from loopplan.studies.shaft_results import (
    AirCell,
    AtWork,
    Band,
    NeedCurve,
    OperatingPoint,
    Operation,
    ShaftStudy,
)

_LIFT, _ABOVE = "l", "L"
"""Letters of a lift above what is workable, and above all that practice has."""
_LETTERS = {
    "airlift-lift-limit": _LIFT,
    "airlift-bulks-over": "w",
    "bubbles-carried-under": "d",
    "airlift-beyond-data": "g",
    "diffusers-below-partition": "p",
}
"""Letter of each remark in the table."""

_CHART_STEP = 5
_ROW_STEP = 3
_PAST_PEAK = 1.5
"""Air over that of the peak [-] up to which the operating curve is shown."""
_SAME = 0.15
"""Difference in the logarithm up to which rows are all but the same."""
_HOUR = 3600.0


def shaft_text(study: ShaftStudy, width: int = USUAL) -> str:
    """Return the study as plain text of `width` columns."""
    file = io.StringIO()
    show_shaft(study, plain_console(file, width))
    return "\n".join(line.rstrip() for line in file.getvalue().splitlines()) + "\n"


def show_shaft(study: ShaftStudy, console: Console) -> None:
    """Write the study to a console."""
    case = study.case
    lifts = listed(case.lifts, "m")
    console.print(Text(f"Channel airlift: {flow_m3_h(case.flow)} m3/h lifted {lifts}", "bold"))
    console.print(Text(f"{shaft_in_words(case)} Air is {FREE_AIR}."))
    console.print(Text(UNTUNED))
    low, high = study.practice
    _title(console, f"Air to water by volume, beside {low:g} to {high:g} of practice")
    console.print(_cells(study))
    console.print(_legend(study))
    _title(console, f"Air to water against the outlet half ({NOT_VALIDATED})")
    console.print(
        Text(
            "Left of its least the losses of turn and outlet take the air, right of it air slips "
            "past slow water. o expected, --- least to most by the closures (> no end), : practice "
            f"{low:g} and {high:g}, * least. The scale is logarithmic."
        )
    )
    for curve in study.curves:
        _curve(curve, study, console)
    _operation(study, console)
    _title(console, "What it rests on")
    for words in study.assumed:
        console.print(Text(words))
    console.print(Text(f"sources: {', '.join(key for key, _ in study.sources)}"))
    _title(console, "Cautions")
    console.print(Text(CAUTIONS))


def _title(console: Console, text: str) -> None:
    console.print()
    console.print(Text(text, "bold"))


def _lines(console: Console, lines: Sequence[str]) -> None:
    for line in lines:
        console.print(Text(line), no_wrap=True, crop=False, overflow="ignore")


def _cells(study: ShaftStudy) -> Table:
    low, high = study.practice
    table = _table("lift\nm", "outlet\nhalf m2", "air to water\n(least-most)")
    table.add_column("practice", justify="right", no_wrap=True)
    table.add_column("off practice\n(0: within)", justify="right", no_wrap=True)
    table.add_column("remarks", overflow="fold")
    last = None
    for cell in study.cells:
        table.add_row(
            "" if cell.lift == last else f"{cell.lift:.2f}",
            f"{cell.outlet_half:g}",
            in_words(cell.air_to_water),
            f"{low:g}-{high:g}",
            _deviation(cell.deviation),
            Text(_remarks(cell, study.lift_limits[1])),
        )
        last = cell.lift
    return table


def _table(first: str, *numbers: str) -> Table:
    """Return a table whose first column holds short numbers too."""
    table = plain_table(first, *numbers)
    table.columns[0].min_width = None
    return table


def _deviation(band: Band) -> str:
    if band.expected is None and band.least_air is None:
        return "-"
    expected, low, high = ("-" if x is None else _signed(x) for x in (band.expected, *ends(band)))
    return expected if expected == low == high else f"{expected} ({low} to {high})"


def _signed(value: float) -> str:
    text = digits(value, 2)
    return f"+{text}" if value > 0.0 else text


def _remarks(cell: AirCell, most: float) -> str:
    words = "".join(_LETTERS[code] for code in cell.remarks)
    if cell.lift > most:
        words = words.replace(_LIFT, _ABOVE)
    if cell.air_to_water.expected is None:
        return f"{words} {_short(cell.short.expected)} short".strip()
    if cell.air_to_water.most_air is None:
        return f"{words} most: {_short(cell.short.most_air)} short".strip()
    return words


def _short(height: float | None) -> str:
    # Rounded up: 0 would say that nothing is short.
    return f"{max(height or 0.0, 0.01):.2f} m"


def _legend(study: ShaftStudy) -> Table:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column()
    cells = study.cells
    held = {code for cell in cells for code in cell.remarks}
    workable, most = study.lift_limits
    for code, letter in _LETTERS.items():
        if code in held:
            words = f"{FINDING_KINDS[code].title} [{code}]"
            if letter == _LIFT:
                words += f"; workable up to {workable:g} m (common practice, no source)"
            grid.add_row(Text(letter), Text(words))
    if any(cell.lift > most for cell in cells):
        grid.add_row(
            Text(_ABOVE),
            Text(
                f"above {most:g} m airlifts are not used (common practice, no source); worked out "
                "here only to show why"
            ),
        )
    if any(cell.air_to_water.most_air is None for cell in cells):
        grid.add_row(
            Text("-"),
            Text("no air flow lifts this water; `short` tells how far the column stays below"),
        )
    return grid


def _curve(curve: NeedCurve, study: ShaftStudy, console: Console) -> None:
    least = curve.least
    area, ratio = least.outlet_half.expected, least.air_to_water.expected
    points = [(a, band, " ") for a, band in curve.points[::_CHART_STEP]]
    console.print()
    if least.found and area is not None and ratio is not None:
        # Its row takes the place of one that is all but the same.
        points = [point for point in points if not _near(point[0], [area])]
        points = sorted([*points, (area, least.band, "*")], key=lambda point: point[0])
        console.print(
            Text(
                f"Lift {curve.lift:g} m: least air at an outlet half of {digits(area, 2)} m2, "
                f"{digits(ratio, 2)} to 1 (each closure by itself: "
                f"{in_words(least.outlet_half)} m2, {in_words(least.air_to_water)})"
            )
        )
    else:
        low, high = (digits(end, 2) for end in least.searched)
        console.print(
            Text(f"Lift {curve.lift:g} m: no least between {low} and {high} m2 of outlet half")
        )
    rows = [
        Range(digits(a, 2), *_low_value_high(band), f" {in_words(band)}", mark)
        for a, band, mark in points
    ]
    _lines(console, range_chart(rows, ratio_axis(study), "m2", console.width, study.practice))


def _near(value: float, marked: Sequence[float]) -> bool:
    """Tell whether a row is all but the same as one that is marked."""
    return value > 0.0 and any(abs(log(value / other)) < _SAME for other in marked)


def _low_value_high(
    band: Band, factor: float = 1.0
) -> tuple[float | None, float | None, float | None]:
    low, high = (None if end is None else factor * end for end in ends(band))
    return low, None if band.expected is None else factor * band.expected, high


def _operation(study: ShaftStudy, console: Console) -> None:
    run = study.operation
    _title(
        console,
        f"Water against air: lift {run.lift:g} m, outlet half {run.outlet_half:g} m2 "
        f"({NOT_VALIDATED})",
    )
    last = _PAST_PEAK * run.peak.point.air
    rows: list[tuple[OperatingPoint, str]] = []
    marks = ["o expected, --- from most air to least air by the closures"]
    if run.at_work is not None:
        rows.append((run.at_work.point, "*"))
        marks.append("* the flow that is asked for")
    if run.peak.found:
        rows.append((run.peak.point, "^"))
        marks.append("^ peak")
    marked = [point.air for point, _ in rows]
    rows += [
        (point, " ")
        for point in run.points[::_ROW_STEP]
        if point.air <= last and not _near(point.air, marked)
    ]
    rows.sort(key=lambda row: row[0].air)
    console.print(Text(f"{', '.join(marks)}. {_peak(run, study.gas_in_data)}"))
    most = max(ends(point.water)[1] or 0.0 for point, _ in rows)
    axis = Axis("water", "m3/h", 0.0, _HOUR * max(most, 1e-6))
    console.print(Text("Across: water [m3/h]. Down: free air [m3/h]."))
    ranges = [
        Range(
            digits(_HOUR * point.air, 3),
            *_low_value_high(point.water, _HOUR),
            f" {in_words(point.water, _HOUR, 3)}",
            mark,
        )
        for point, mark in rows
    ]
    _lines(console, range_chart(ranges, axis, "air", console.width))
    console.print(_points(rows, study.gas_in_data))
    console.print()
    if run.at_work is not None:
        console.print(Text("At the flow that is asked for, marked *:"))
    console.print(_at_work(study))


def _peak(run: Operation, gas_in_data: float) -> str:
    if not run.peak.found:
        return (
            f"No peak up to {run.peak.most_gas:g} m/s of gas (superficial), where the search ends: "
            "water still rises with air."
        )
    gas = run.peak.point.gas_velocity
    words = (
        f"The model has its peak at {in_words(run.peak.water, _HOUR, 3)} m3/h of water and "
        f"{in_words(run.peak.air, _HOUR, 3)} m3/h of air, {digits(gas, 2)} m/s of gas (superficial)"
    )
    if gas <= gas_in_data:
        return f"{words}."
    return (
        f"{words}: {digits(gas / gas_in_data, 2)} times as fast as gas in the data of the "
        "closures, so that it shows how the model bends and not what a shaft would do."
    )


def _points(rows: Sequence[tuple[OperatingPoint, str]], gas_in_data: float) -> Table:
    titles = (
        "air to\nwater", "water, m3/h\n(least-most)", "gas\n%", "stalls\nat m",
        "lost\nper cm\nm3/h", "efficiency\nstatic/total\n/wire, %", "Wh\nper m3",
    )  # fmt: skip
    table = _table("air\nm3/h", *titles)
    beyond = False
    for point, mark in rows:
        far = point.gas_velocity > gas_in_data
        beyond |= far
        ratio, energy = point.air_to_water, point.wire_energy
        shares = (point.static_efficiency, point.total_efficiency, point.wire_efficiency)
        table.add_row(
            f"{digits(_HOUR * point.air, 3)} {mark}{'g' if far else ''}".replace("  ", " "),
            "-" if ratio is None else digits(ratio, 2),
            in_words(point.water, _HOUR, 3),
            f"{100.0 * point.gas_fraction:.0f}",
            f"{round(point.stall.expected or 0.0, 2) + 0.0:.2f}",
            digits(round(_HOUR * point.lost_per_cm, 2), 2),
            "-" if ratio is None else "/".join(f"{100.0 * x:.0f}" for x in shares),
            "-" if energy is None else digits(energy / _HOUR, 2),
        )
    if beyond:
        table.caption = (
            f"g: gas faster than the {gas_in_data:g} m/s at which the closures were measured"
        )
        table.caption_justify = "left"
        table.caption_style = ""
    return table


def _at_work(study: ShaftStudy) -> Table:
    run, column = study.operation, study.case.water_column
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column()

    def say(name: str, text: str) -> None:
        grid.add_row(Text(name), Text(text))

    if run.at_work is None:
        say("at the flow", "no air flow lifts the water that is asked for up this lift")
    else:
        for name, text in _work_words(run.at_work, run.lift, study.bubble_rise):
            say(name, text)
    say(
        "practice",
        f"blower for the water column of {column:.2f} m and {run.rule_near - column:.1f} m more "
        f"if it stands near, {run.rule_far - column:.1f} m if far: {run.rule_near:.2f} or "
        f"{run.rule_far:.2f} m of water (common practice, no source)",
    )
    return grid


def _work_words(work: AtWork, lift: float, bubble_rise: float) -> list[tuple[str, str]]:
    point = work.point
    normal, free, drawn = (flow_m3_h(x) for x in (work.air_normal, point.air, work.air_inlet))
    stall = point.stall.expected or 0.0
    losses = ", ".join(f"{name} {1000.0 * loss:.0f}" for name, loss in work.losses)
    over = "; the mixture is over the wall before that" if stall - lift > work.reserve else ""
    share = 100.0 * point.lost_per_cm / (point.water.expected or 1.0)
    return [
        (
            "air",
            f"{normal} Nm3/h (0 degC), {free} m3/h free air (20 degC), {drawn} m3/h as drawn in",
        ),
        (
            "column",
            f"{100.0 * point.gas_fraction:.0f} % gas; superficial velocities: gas "
            f"{point.gas_velocity:.2f} m/s at the surface, water {point.water_velocity:.2f} m/s; "
            f"submergence ratio {work.submergence_ratio:.2f}",
        ),
        ("head", f"{work.driving_head:.3f} m saved by gas; lift {lift:g} m; losses, mm: {losses}"),
        (
            "efficiency",
            f"{100.0 * point.static_efficiency:.0f} % lift over isothermal, "
            f"{100.0 * point.total_efficiency:.0f} % all head over isothermal, "
            f"{100.0 * point.wire_efficiency:.0f} % wire to water; "
            f"{digits((point.wire_energy or 0.0) / _HOUR, 2)} Wh/m3, "
            f"{digits(point.wire_power / 1e3, 2)} kW",
        ),
        (
            "stall",
            f"this air moves no water at {stall:.2f} m of lift, {stall - lift:.2f} m above the "
            f"lift; each centimetre costs {share:.1f} % of the flow{over}",
        ),
        (
            "levels",
            f"wall top {work.reserve:.2f} m above the mixture; water goes down the inlet half at "
            f"{work.down:.2f} m/s (bubbles rise at {bubble_rise:g} m/s)",
        ),
        (
            "pressure",
            f"{work.injection_head:.2f} m of water ({work.injection_pressure / 1e3:.1f} kPa) at "
            "the diffusers, losses of diffusers and pipes not counted",
        ),
    ]
