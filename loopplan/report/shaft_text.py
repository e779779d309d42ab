"""The study of a shaft as text: air by lift and outlet half, its least, water against air."""

from __future__ import annotations

import io

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loopplan.findings import FINDING_KINDS
from loopplan.report.numbers import digits, flow_m3_h
from loopplan.report.shaft_parts import low_value_high, narrow_table, near, print_lines, title
from loopplan.report.shaft_run_text import show_operation
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
from loopplan.report.text_chart import Range, range_chart
from loopplan.report.words import AIR_CAUTIONS, CAUTIONS, NOT_VALIDATED
from loopplan.studies.shaft_results import (
    AirCell,
    Band,
    NeedCurve,
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
    title(console, f"Air to water by volume, beside {low:g} to {high:g} of practice")
    console.print(_cells(study))
    console.print(_legend(study))
    title(console, f"Air to water against the outlet half ({NOT_VALIDATED})")
    console.print(
        Text(
            "Left of its least the losses of turn and outlet take the air, right of it air slips "
            "past slow water. o expected, --- least to most by the closures (> no end), : practice "
            f"{low:g} and {high:g}, * least. The scale is logarithmic."
        )
    )
    for curve in study.curves:
        _curve(curve, study, console)
    show_operation(study, console)
    title(console, "What it rests on")
    for words in study.assumed:
        console.print(Text(words))
    console.print(Text(f"sources: {', '.join(key for key, _ in study.sources)}"))
    title(console, "Cautions")
    console.print(Text(AIR_CAUTIONS))
    console.print(Text(CAUTIONS))


def _cells(study: ShaftStudy) -> Table:
    low, high = study.practice
    table = narrow_table("lift\nm", "outlet\nhalf m2", "air to water\n(least-most)")
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
        points = [point for point in points if not near(point[0], [area])]
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
        Range(digits(a, 2), *low_value_high(band), f" {in_words(band)}", mark)
        for a, band, mark in points
    ]
    print_lines(console, range_chart(rows, ratio_axis(study), "m2", console.width, study.practice))
