"""The air study for a person at a terminal."""

from __future__ import annotations

import io
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loopplan.report.numbers import banded, digits, flow_m3_h, thousands
from loopplan.report.terminal import USUAL, plain_console
from loopplan.report.terminal_budget import WIDE, plain_table
from loopplan.report.terminal_parts import assumed_part, findings_part, sources_part
from loopplan.report.words import AIR_CAUTIONS, CAUTIONS, NOT_VALIDATED, one_line
from loopplan.studies.air_results import AirResult, BlowerOut, HeaderCase, HeaderResult, LiftWater

_KWH = 3.6e6


def air_text(
    result: AirResult, states: Sequence[str] = (), width: int = USUAL, *, assumed: bool = False
) -> str:
    """Return the study as plain text of `width` columns."""
    file = io.StringIO()
    show_air(result, plain_console(file, width), states, assumed=assumed)
    return "\n".join(line.rstrip() for line in file.getvalue().splitlines()) + "\n"


def show_air(
    result: AirResult, console: Console, states: Sequence[str] = (), *, assumed: bool = False
) -> None:
    """Write the study to a console; users are told in `states`, the first one if none is named."""
    console.print(Text(f"Air supply of {one_line(result.farm)}", "bold"))
    if result.note:
        console.print(Text(one_line(result.note)))
    console.print(
        Text(
            f"File {one_line(result.file)}. Air is free air (20 degC, 101.325 kPa, dry) where no "
            f"other state is named; the farm lies {result.altitude:g} m above the sea. Ranges in "
            "brackets run from the best to the worst efficiency of the class."
        )
    )
    shown = tuple(states) or result.cases[:1]
    for header in result.headers:
        _header(header, shown, console)
    if result.lifts:
        _title(console, f"Water that the lifts move, in m3/h (airlifts: {NOT_VALIDATED})")
        console.print(_lift_table(result))
        if result.left_out:
            names = ", ".join(one_line(name) for name in result.left_out)
            console.print(
                Text(
                    f"Left out: {names}. They are shares of a given flow, and here the flow "
                    "follows from the air."
                )
            )
    _title(console, "One running blower out, none started in its place")
    for out in result.outs:
        console.print(Text(_out_words(out)))
    _title(console, f"Ways to blow the air of {one_line(result.cases[0])}")
    console.print(_way_table(result))
    _title(console, "Findings, worst first")
    console.print(findings_part(result.findings))
    console.print()
    rounds = len(result.history)
    console.print(
        Text(
            f"Headers and water loop agree to {result.history[-1]:.0e} of the air after {rounds} "
            f"{'round' if rounds == 1 else 'rounds'}."
        )
    )
    _title(console, "Assumed values and sources")
    console.print(assumed_part(result.assumed, assumed))
    console.print(sources_part(result.sources, assumed))
    _title(console, "Cautions")
    console.print(Text(AIR_CAUTIONS))
    console.print(Text(CAUTIONS))


def _title(console: Console, text: str) -> None:
    console.print()
    console.print(Text(text, "bold"))


def _header(header: HeaderResult, states: Sequence[str], console: Console) -> None:
    _title(
        console,
        f"{one_line(header.header)}: {header.blower_class}, {header.running} running, "
        f"{header.standby} standing by; each {flow_m3_h(header.rated_air)} m3/h at "
        f"{digits(header.rated_pressure / 1e3, 3)} kPa, motor {header.motor / 1e3:g} kW",
    )
    console.print(_case_table(header, console.width))
    for case in header.cases:
        if case.case in states:
            console.print()
            console.print(_user_table(case))
    console.print()
    console.print(_words(header))


def _case_table(header: HeaderResult, width: int) -> Table:
    wide = width >= WIDE
    titles = ["air\nm3/h", "normal\nm3/h", "at inlet\nm3/h", "rise\nkPa", "margin\nkPa"]
    if not wide:
        # Other states of air are told in JSON and CSV.
        del titles[1:3]
    titles += ["leaves at\ndegC", "shaft\nkW", "electric\nkW"]
    table = plain_table("state", *titles)
    for case in header.cases:
        states = (case.free, case.normal, case.inlet) if wide else (case.free,)
        table.add_row(
            Text(one_line(case.case)),
            *(flow_m3_h(flow) for flow in states),
            digits(case.rise / 1e3, 3),
            digits(case.margin / 1e3, 3),
            banded(case.temperature, 1.0, 2),
            banded(case.shaft, 1e-3, 3) if wide else digits(case.shaft.value / 1e3, 3),
            banded(case.electric, 1e-3, 3),
        )
    return table


def _user_table(case: HeaderCase) -> Table:
    titles = (
        "air\nm3/h", "stated\nm3/h", "water\nm", "column\nkPa", "diffuser\nkPa", "branch\nkPa",
        "valve\nkPa", "speed\nm/s",
    )  # fmt: skip
    table = plain_table(f"user, {one_line(case.case)}", *titles)
    for user in case.users:
        if not user.on:
            table.add_row(Text(f"{one_line(user.user)} (off)"), *[""] * len(titles))
            continue
        table.add_row(
            Text(one_line(user.user)),
            flow_m3_h(user.free),
            flow_m3_h(user.stated),
            f"{user.depth:.2f}",
            *(f"{loss / 1e3:.2f}" for loss in (user.column, user.diffuser, user.pipe, user.valve)),
            "-" if user.velocity is None else digits(user.velocity, 2),
        )
    return table


def _words(header: HeaderResult) -> Table:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column()
    first = header.cases[0]
    away = first.rise - header.rule_pressure
    grid.add_row(
        Text("practice"),
        Text(
            f"{header.deepest:.2f} m of water + {header.rule_head - header.deepest:.1f} m "
            f"({'far' if header.far else 'near'}) = {header.rule_head:.2f} m, "
            f"{header.rule_pressure / 1e3:.1f} kPa; here {first.rise / 1e3:.1f} kPa, "
            f"{abs(away) / 1e3:.1f} {'above' if away > 0.0 else 'below'}"
        ),
    )
    grid.add_row(
        Text("to start"),
        Text(
            f"{header.starting / 1e3:.1f} kPa against the highest water that can stand over "
            f"{one_line(header.standing)}; rated {header.rated_pressure / 1e3:.1f} kPa"
        ),
    )
    how = "as stated" if header.speed_stated else "set for the stated air"
    grid.add_row(
        Text("turndown"),
        Text(
            f"speed {100 * header.speed:.0f} % of full, {how}; down to "
            f"{100 * header.least_speed:.0f} %: {flow_m3_h(header.least_air)} m3/h"
        ),
    )
    if header.velocity_range is not None and header.bore is not None:
        low, high = header.velocity_range
        fast = max(case.velocity or 0.0 for case in header.cases)
        grid.add_row(
            Text("main pipe"),
            Text(
                f"{1000 * header.bore:.0f} mm, up to {fast:.0f} m/s (usual {low:g} to {high:g}), "
                f"loses {first.main_loss / 1e3:.2f} kPa"
            ),
        )
    grid.add_row(Text("class"), Text(header.class_words))
    return grid


def _lift_table(result: AirResult) -> Table:
    table = plain_table("state", *(one_line(lift.lift) for lift in result.lifts))
    cases = dict.fromkeys(case for lift in result.lifts for case, _ in lift.flows)
    for case in cases:
        table.add_row(Text(one_line(case)), *(_water(lift, case) for lift in result.lifts))
    return table


def _water(lift: LiftWater, case: str) -> str:
    flows = dict(lift.flows)
    if case not in flows:
        return "-"
    text = "none moves" if flows[case] <= 0.0 else flow_m3_h(flows[case])
    return text if lift.driven else f"{text} given"


def _out_words(out: BlowerOut) -> str:
    lifts = []
    for lift, before, after in out.lifts:
        now = "its flow is given, and is not followed" if after is None else "no water moves"
        if after:
            now = f"{flow_m3_h(after)} m3/h"
        lifts.append(f"{one_line(lift)} {flow_m3_h(before)} m3/h before, then {now}")
    left = f"{out.left} left running" if out.left else "no air is left"
    standby = (
        f"; {out.standby} standing by can take over: start it by itself, with an alarm"
        if out.standby
        else "; none stands by"
    )
    return f"{one_line(out.header)}: {left}; {'; '.join(lifts) or 'it drives no lift'}{standby}."


def _way_table(result: AirResult) -> Table:
    money = any(way.cost is not None for way in result.ways)
    titles = ["blowers", "electric\nkW", f"kWh in\n{result.hours / 3600.0:g} h"]
    if money:
        titles.append(f"{one_line(result.currency) or 'cost'}\na year")
    table = plain_table("way", *titles)
    for way in result.ways:
        cells = [str(way.blowers), digits(way.electric / 1e3, 3), thousands(way.energy / _KWH)]
        if money:
            cells.append("-" if way.cost is None else thousands(way.cost))
        table.add_row(Text(way.name), *cells)
    return table
