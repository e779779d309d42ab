"""Water against air of a shaft as text, and the shaft at the flow that is asked for."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loopplan.report.charts import Axis
from loopplan.report.numbers import digits, flow_m3_h
from loopplan.report.shaft_parts import low_value_high, narrow_table, near, print_lines, title
from loopplan.report.shaft_words import ends, in_words
from loopplan.report.text_chart import Range, range_chart
from loopplan.report.words import NOT_VALIDATED
from loopplan.studies.shaft_results import AtWork, OperatingPoint, Operation, ShaftStudy

_ROW_STEP = 3
_PAST_PEAK = 1.5
"""Air over that of the peak [-] up to which the operating curve is shown."""
_HOUR = 3600.0


def show_operation(study: ShaftStudy, console: Console) -> None:
    """Write water against air, and the shaft at the flow that is asked for."""
    run = study.operation
    title(
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
        if point.air <= last and not near(point.air, marked)
    ]
    rows.sort(key=lambda row: row[0].air)
    console.print(Text(f"{', '.join(marks)}. {_peak(run, study.gas_in_data)}"))
    most = max(ends(point.water)[1] or 0.0 for point, _ in rows)
    axis = Axis("water", "m3/h", 0.0, _HOUR * max(most, 1e-6))
    console.print(Text("Across: water [m3/h]. Down: free air [m3/h]."))
    ranges = [
        Range(
            digits(_HOUR * point.air, 3),
            *low_value_high(point.water, _HOUR),
            f" {in_words(point.water, _HOUR, 3)}",
            mark,
        )
        for point, mark in rows
    ]
    print_lines(console, range_chart(ranges, axis, "air", console.width))
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
    table = narrow_table("air\nm3/h", *titles)
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
    low, high = study.practice
    flow = study.case.flow
    say(
        "practice",
        f"{flow_m3_h(low * flow)} to {flow_m3_h(high * flow)} m3/h of free air are installed for "
        f"this flow ({low:g} to {high:g} by volume). The need above is a model's, and unproven at "
        "this size: do not size a blower below practice by it alone. If it asks for more than "
        "practice, install more",
    )
    say(
        "",
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
