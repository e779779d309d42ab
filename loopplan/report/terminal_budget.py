"""Tables of the terminal report: duty states, and the head budget of each flow path."""

from __future__ import annotations

from rich.box import Box
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from loopplan.findings import Severity
from loopplan.report.numbers import digits, flow_m3_h, level, loss_mm
from loopplan.report.words import main_path_loss, one_line, worst_in
from loopplan.studies.results import BudgetResult, LiftState, Row, StateResult

WIDE = 96
"""Width [columns] from which tables are shown with all their columns."""
_NAME = 15
"""Width [columns] that names of elements get at least."""
_LEAVE_OUT = 3
"""Steps in which the head budget is made narrower."""
_BAR = 6
_MOST_LIFTS = 3
_RULE = Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)
STYLES = {Severity.SEVERE: "bold red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}


def plain_table(first: str, *numbers: str) -> Table:
    """Return a table with one column of names and columns of numbers."""
    table = Table(box=_RULE, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0), header_style="")
    table.add_column(first, min_width=10, overflow="fold", vertical="top")
    for title in numbers:
        table.add_column(title, justify="right", no_wrap=True, vertical="top")
    return table


def state_table(result: BudgetResult) -> Table:
    """One line for each duty state: flow, lift heads, passes, head lost, worst finding."""
    names = [one_line(lift.element) for lift in result.lifts]
    heads = "lift head m\n" + (" / ".join(names) if len(" / ".join(names)) <= 24 else "each lift")
    table = plain_table("state")
    for title in (
        "flow\nm3/h",
        heads if names else "lift head m",
        "passes",
        "lost on the\nmain path, mm",
    ):
        table.add_column(title, justify="right", no_wrap=True)
    table.add_column("worst\nfinding", no_wrap=True)
    for state in result.states:
        lifts = [
            s for lift in result.lifts for s in lift.states if s.state == state.name and s.runs
        ]
        passes = state.balance.passes
        severity = worst_in(result, state.name)
        table.add_row(
            Text(one_line(state.name)),
            flow_m3_h(state.balance.circulation),
            _heads(lifts),
            "-" if passes is None else digits(passes, 3),
            loss_mm(main_path_loss(state)),
            severity_word(severity),
        )
    return table


def severity_word(severity: Severity | None) -> Text:
    """Return a severity as a word."""
    return Text(severity.value, STYLES[severity]) if severity else Text("none")


def _heads(lifts: list[LiftState]) -> str:
    if not lifts:
        return "-"
    heads = [level(lift.head) for lift in lifts]
    if len(heads) <= _MOST_LIFTS:
        return " / ".join(heads)
    least, most = min(s.head for s in lifts), max(s.head for s in lifts)
    return f"{len(lifts)} of {level(least)} to {level(most)}"


def budget_table(state: StateResult, width: int, bar: str = "#") -> Table:
    """The head budget of each flow path of one duty state.

    `bar` is the character that share bars are made of. Where `width` columns leave too little
    room for names, first the bars, then the level before each element, then the shares are left
    out; a digit is never cut. An element that stands in an earlier path is not told again; sums
    and totals count it.
    """
    for less in range(_LEAVE_OUT + 1):
        table = _budget_table(state, bar if less == 0 else "", less < 2, less < 3)
        if _beside_names(table) + _NAME <= width:
            break
    return table


def _beside_names(table: Table) -> int:
    """Columns of a terminal that all but the names take, nothing cut."""
    cells = (
        [line for cell in (column.header, *column.cells) for line in str(cell).splitlines()]
        for column in table.columns[1:]
    )
    return sum(2 + max(map(len, lines), default=0) for lines in cells)


def _budget_table(state: StateResult, bar: str, wide: bool, shares: bool) -> Table:
    titles = ["flow\nm3/h", "level m\nbefore", "level m\nafter", "loss\nmm"]
    titles += ["friction\nmm", "local\nmm", "fall\nmm", "speed\nm/s"]
    if not wide:
        titles.remove("level m\nbefore")
    table = plain_table("element", *titles)
    if shares:
        # Bars start at one place, so that their lengths can be compared.
        table.add_column("share", justify="left" if bar else "right", no_wrap=True)
    table.add_column("sum\nmm", justify="right", no_wrap=True)
    paths = list(dict.fromkeys(row.path for row in state.rows))
    told: set[str] = set()
    for path in paths:
        rows = [row for row in state.rows if row.path == path]
        new = [row for row in rows if row.name not in told]
        if path != paths[0]:
            table.add_row()
        table.add_row(Text(one_line(path), "bold"))
        for row in new:
            _add_row(table, row, wide, bar if shares else None)
        _add_totals(table, rows, wide)
        told |= {row.name for row in rows}
    return table


def _add_row(table: Table, row: Row, wide: bool, bar: str | None) -> None:
    """Add one row; without a `bar` its share is left out, with an empty one it is a number."""
    name = one_line(row.name)
    if row.units > 1.0:
        name += f" x {row.units:g}"
    if row.shut:
        table.add_row(_indented(name), "shut")
        return
    gains = row.loss < 0.0 and row.device != 0.0
    split = [
        "" if gains or row.dry or abs(part) < 5e-5 else loss_mm(part)
        for part in (row.friction, row.local, row.fall)
    ]
    levels = [level(row.level_before), level(row.level_after)]
    cells = [
        "0" if row.dry else flow_m3_h(row.flow),
        *(levels if wide else levels[1:]),
        f"gain {loss_mm(-row.loss)}" if gains else "" if row.dry else loss_mm(row.loss),
        *split,
        "" if row.velocity is None else f"{row.velocity:.2f}",
        *([] if bar is None else [_share(row.share, bar)]),
        loss_mm(row.running),
    ]
    table.add_row(_indented(name), *cells)
    if row.useful > 0.0:
        blank = [""] * (3 if wide else 2)
        table.add_row(_indented("useful", 4), *blank, loss_mm(row.useful))


def _indented(text: str, depth: int = 2) -> Padding:
    # As padding and not as blanks, so that a name that is broken stays indented.
    return Padding(Text(text), (0, 0, 0, depth))


def _share(share: float, bar: str) -> str:
    if share <= 0.0:
        return ""
    percent = f"{100.0 * share:3.0f} %"
    length = max(round(_BAR * share), 1 if share >= 0.005 else 0)
    return f"{percent} {bar * length}" if bar else percent


def _add_totals(table: Table, rows: list[Row], wide: bool) -> None:
    rows = [row for row in rows if not row.shut]
    lost = [row for row in rows if row.loss > 0.0 and not row.bypass]
    if not lost:
        return
    useful = sum(row.useful for row in rows)
    gained = -sum(row.loss for row in rows if row.loss < 0.0)
    blank = [""] * (3 if wide else 2)
    sums = [sum(getattr(r, part) for r in lost) for part in ("friction", "local", "fall")]
    table.add_row(
        _indented("all lost"),
        *blank,
        loss_mm(sum(row.loss for row in lost)),
        *("" if abs(part) < 5e-5 else loss_mm(part) for part in sums),
    )
    if useful > 0.0:
        table.add_row(_indented("all useful"), *blank, loss_mm(useful))
    if gained > 0.0:
        table.add_row(_indented("all gained"), *blank, f"gain {loss_mm(gained)}")
