"""Parts of the terminal report below the head budget."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Group
from rich.table import Table
from rich.text import Text

from loopplan.findings import Finding
from loopplan.report.numbers import digits, flow_m3_h, level, small
from loopplan.report.terminal_budget import WIDE, plain_table, severity_word
from loopplan.report.words import device_remarks, lowest_freeboard, one_line
from loopplan.studies.results import BudgetResult, LiftResult, LiftState, StateResult


def lift_part(lift: LiftResult, states: Sequence[str]) -> Group:
    """One lift in words: its duty in `states`, its range, its device and why."""
    shown = [state for state in lift.states if state.state in states]
    grid = _grid()
    for state in shown:
        grid.add_row(Text(one_line(state.state)), Text(_duty(state)))
    grid.add_row(Text("all states"), Text(_range(lift)))
    asked = "" if lift.asked in ("open", lift.device) else f" (asked for: {lift.asked})"
    grid.add_row(Text("suggested"), Text(f"{lift.device}{asked}: {lift.reason}"))
    for device, reason in lift.against:
        grid.add_row(Text("against"), Text(f"{device}: {reason}"))
    for remark in device_remarks(lift):
        grid.add_row(Text("note"), Text(remark))
    return Group(Text(one_line(lift.element), "bold"), grid)


def _duty(state: LiftState) -> str:
    if not state.runs:
        return "stands still, out of service or held shut by its check valve"
    # All in metres, so that the sum can be checked by eye.
    added = f"less {level(-state.added)} m" if state.added < 0.0 else f"+ {level(state.added)} m"
    pressure = ""
    if state.pressure > 0.0:
        part = ", part of the losses" if state.pressure <= state.added else ""
        pressure = f" (pressure need {level(state.pressure)} m{part})"
    return (
        f"{flow_m3_h(state.flow)} m3/h from {level(state.level_before)} m to "
        f"{level(state.level_after)} m: {level(state.static)} m static lift {added} of losses"
        f"{pressure} = {level(state.head)} m total head"
    )


def _range(lift: LiftResult) -> str:
    runs = [state for state in lift.states if state.runs]
    if not runs:
        return "runs in no duty state"
    least = min(runs, key=lambda s: s.head)
    most = max(runs, key=lambda s: s.head)
    return (
        f"total head {level(lift.head_least)} m ({one_line(least.state)}) to "
        f"{level(lift.head_most)} m ({one_line(most.state)})"
    )


def levels_table(result: BudgetResult, state: StateResult, width: int) -> Table:
    """Levels of all basins in one duty state, with the lowest freeboard of all states."""
    wide = width >= WIDE
    titles = ["floor\nm", "level\nm", "wall top\nm", "freeboard\nm", "lowest\nm"]
    # Depth is level less floor, so that the floor can go where room is short.
    table = plain_table("basin", *(titles if wide else titles[1:]))
    table.add_column("in state", no_wrap=True)
    for title in ("depth\nm", "area\nm2", "volume\nm3"):
        table.add_column(title, justify="right", no_wrap=True)
    for row in state.levels:
        lowest = lowest_freeboard(result, row.element)
        name = one_line(row.element) + (f" x {row.units:g}" if row.units > 1.0 else "")
        name += " (cut off)" if row.isolated else ""
        where = one_line(lowest[1]) if lowest else ""
        table.add_row(
            Text(name),
            *([level(row.floor)] if wide else []),
            level(row.level),
            _or_dash(row.wall_top),
            _or_dash(row.freeboard),
            level(lowest[0]) if lowest else "-",
            Text(where if wide else _short(where)),
            _or_dash(row.depth),
            digits(row.area, 3) if row.area else "-",
            digits(row.volume, 3) if row.area else "-",
        )
    return table


def _or_dash(value: float | None) -> str:
    return "-" if value is None else level(value)


def _short(text: str) -> str:
    return text if len(text) <= 9 else f"{text[:8]}~"


def findings_part(findings: Sequence[Finding]) -> Table | Text:
    """All findings, the worst first, each with what to do; like ones are told together."""
    if not findings:
        return Text("none")
    grid = _grid()
    told: dict[str, str] = {}
    for group in _alike(findings):
        first = group[0]
        where = one_line(first.place)
        if first.state:
            where += f", {one_line(first.state)}"
        if first.also:
            where += f" (also {', '.join(one_line(name) for name in first.also)})"
        text = Text(f"{where}: {first.message} [{first.code}]\n")
        if len(group) > 1:
            text.append(f"Likewise: {', '.join(_place(f) for f in group[1:])}\n")
        if first.cure in told:
            text.append(f"What to do: as for {told[first.cure]} above")
        else:
            text.append(f"What to do: {first.cure}")
            told[first.cure] = one_line(first.place)
        if first.source:
            text.append(f" (source: {first.source})")
        grid.add_row(severity_word(first.severity), text)
    return grid


def _place(finding: Finding) -> str:
    """The place of a finding with its value, where that is a length or a speed."""
    value = ""
    if finding.value is not None and finding.unit in ("m", "m/s"):
        value = f" ({finding.value:.3f} {finding.unit})"
    return one_line(finding.place) + value


def _alike(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Gather findings of one code in the same duty states, in order of first sight."""
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        key = (finding.severity, finding.code, finding.state, finding.also)
        groups.setdefault(key, []).append(finding)
    return list(groups.values())


def residual_part(states: Iterable[StateResult]) -> Table:
    """One line for each duty state: how well it closes."""
    grid = _grid()
    for state in states:
        left = state.residuals
        grid.add_row(
            Text(one_line(state.name)),
            Text(
                f"head {small(left.head_budget)} m, rows {small(left.row)} m, laws "
                f"{small(left.law_head)} m / {small(left.law_flow)}, water "
                f"{small(left.water_balance)} of flow, "
                f"{_count(left.iterations, 'step', 'steps')}"
            ),
        )
    return grid


def assumed_part(assumed: Sequence[tuple[str, str, str, str]], full: bool) -> Text | Table:
    """The values that were assumed, or how many there are."""
    if not full:
        return Text(f"{_count(len(assumed), 'value was', 'values were')} assumed (--assumed).")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="")
    for title in ("place", "field", "assumed", "source"):
        table.add_column(title, overflow="fold")
    for place, field, value, source in assumed:
        table.add_row(*(Text(one_line(text)) for text in (place, field, value, source)))
    return table


def sources_part(sources: Sequence[tuple[str, str]], full: bool) -> Text | Table:
    """The sources that this run used, or how many there are."""
    if not full:
        return Text(f"{_count(len(sources), 'source was', 'sources were')} used (--assumed).")
    grid = _grid()
    for key, text in sources:
        grid.add_row(Text(key), Text(text))
    return grid


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _grid() -> Table:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True, vertical="top")
    grid.add_column(overflow="fold")
    return grid
