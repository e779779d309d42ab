"""The budget for a person at a terminal, to be read in a minute at 100 columns."""

from __future__ import annotations

import io
from dataclasses import dataclass

from rich.console import Console
from rich.text import Text

from loopplan.report.terminal_budget import budget_table, state_table
from loopplan.report.terminal_parts import (
    assumed_part,
    findings_part,
    levels_table,
    lift_part,
    residual_part,
    sources_part,
)
from loopplan.report.terminal_power import power_part
from loopplan.report.terminal_shares import shares_part
from loopplan.report.terminal_sheet import sheet_part
from loopplan.report.terminal_swing import swing_part
from loopplan.report.terminal_water import water_part
from loopplan.report.words import CAUTIONS, one_line
from loopplan.studies.results import BudgetResult, StateResult

NARROWEST, WIDEST, USUAL = 80, 120, 100
"""Widths [columns] that the report is laid out for."""


@dataclass(frozen=True)
class View:
    """What of a result is shown.

    `states` are the duty states shown in full (empty: the first); `assumed` lists assumed
    values and sources, `detail` adds the calculation sheet. Share bars are made of `bar`.
    """

    states: tuple[str, ...] = ()
    assumed: bool = False
    detail: bool = False
    bar: str = "\u2588"


def show(result: BudgetResult, console: Console, view: View | None = None) -> None:
    """Write the budget to a rich console.

    Raises KeyError for a duty state in `view` that the result does not have.
    """
    view = view or View()
    by_name = {state.name: state for state in result.states}
    shown = [by_name[name] for name in view.states] or [result.states[0]]
    _heading(result, console)
    _part(console, "Duty states")
    console.print(state_table(result))
    for state in shown:
        _state(result, state, console, view)
    _part(console, "Lifts")
    for lift in result.lifts:
        console.print(lift_part(lift, [state.name for state in shown]))
    if result.lifts:
        console.print(
            Text(
                "Suggested by head and pressure alone: `loopplan lifts` sets the devices side by "
                "side, by power, energy and cost."
            )
        )
    else:
        console.print("none")
    if result.shares:
        _part(console, f"Shares of like elements ({shown[0].name})")
        console.print(shares_part(result.shares, shown[0].name))
    if result.swings:
        _part(console, "The sump, while the water in the loop stays the same")
        console.print(swing_part(result.swings))
    if result.power_off is not None:
        _part(console, "When the power fails")
        console.print(power_part(result.power_off))
    _part(console, "Findings, worst first")
    console.print(findings_part(result.findings))
    _part(console, "How well each state closes: round the loop, row by row, law by law")
    console.print(residual_part(result.states))
    if view.detail:
        _part(console, "Calculation sheet")
        for line in result.sheet:
            if line.state in {state.name for state in shown}:
                console.print(sheet_part(line))
    _part(console, "Assumed values and sources")
    console.print(assumed_part(result.assumed, view.assumed))
    console.print(sources_part(result.sources, view.assumed or view.detail))
    _part(console, "Cautions")
    console.print(Text(CAUTIONS))


def terminal_text(result: BudgetResult, view: View | None = None, width: int = USUAL) -> str:
    """Return the budget as plain text of `width` columns."""
    file = io.StringIO()
    show(result, plain_console(file, width), view)
    return "\n".join(line.rstrip() for line in file.getvalue().splitlines()) + "\n"


def plain_console(file: io.TextIOBase, width: int) -> Console:
    """Return a console that writes plain text of fixed width."""
    return Console(
        file=file,  # type: ignore[arg-type]
        width=width,
        color_system=None,
        force_terminal=False,
        legacy_windows=False,
        markup=False,
        emoji=False,
        highlight=False,
    )


def _part(console: Console, title: str) -> None:
    console.print()
    console.print(Text(title, "bold"))


def _heading(result: BudgetResult, console: Console) -> None:
    console.print(Text(f"Head budget of {one_line(result.farm)}", "bold"))
    if result.note:
        console.print(Text(one_line(result.note)))
    console.print(
        Text(
            f"File {one_line(result.file)}. Levels are in m above the farm datum. Losses are in mm "
            "of head, which is level plus velocity head. Flows are of all like units together."
        )
    )


def _state(result: BudgetResult, state: StateResult, console: Console, view: View) -> None:
    label = f"{state.name}: {state.condition}, {state.temperature:g} degC"
    _part(console, f"Where the head goes ({label})")
    table = budget_table(state, console.width, view.bar)
    # Long numbers: a digit that is cut off is worse than a line that is too long.
    console.print(table, crop=False, no_wrap=True, overflow="ignore")
    if len({row.path for row in state.rows}) > 1:
        console.print(Text("What an earlier path tells is not repeated; sums and totals count it."))
    _part(console, f"Levels ({state.name})")
    console.print(levels_table(result, state, console.width))
    console.print(water_part(state))
