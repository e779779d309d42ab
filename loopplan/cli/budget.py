"""`loopplan budget`: the head budget of a loop."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from loopplan.cli.ending import (
    FINDINGS,
    FINE,
    finish,
    logged,
    progress,
    reader_may_stop,
    usage,
)
from loopplan.cli.files import FileArgument, near, read_scenario
from loopplan.cli.options import (
    Assumed,
    CsvFolder,
    Debug,
    FailOn,
    FailOnOption,
    Force,
    Json,
    Verbose,
    echo_json,
    write_csv,
)

if TYPE_CHECKING:
    from rich.console import Console

    from loopplan.findings import Finding
    from loopplan.studies.results import BudgetResult


def budget_command(
    file: FileArgument,
    json: Json = False,
    csv: CsvFolder = None,
    force: Force = False,
    detail: Annotated[
        bool, typer.Option("--detail", help="Add the calculation sheet of each head item.")
    ] = False,
    state: Annotated[
        list[str] | None,
        typer.Option(
            "--state",
            metavar="NAME",
            help="Duty state shown in full, or `all`; may be given again. [default: the first]",
        ),
    ] = None,
    assumed: Assumed = False,
    fail_on: FailOnOption = FailOn.never,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Work out levels, flows and head budget of a loop, in all its duty states.

    Example: loopplan budget trout-channel --state fouled --fail-on severe
    """

    def work() -> int:
        with logged(verbose), progress(f"working on {file}"):
            result = _solve(file)
        shown = _states(state or [], result)
        if csv is not None:
            from loopplan.report.as_csv import budget_csv

            write_csv(budget_csv(result), csv, force)
        with reader_may_stop():
            if json:
                from loopplan.report.as_json import budget_json

                echo_json(budget_json(result))
            else:
                _show(result, shown, assumed, detail)
        return exit_code(result.findings, fail_on)

    finish(work, debug=debug)


def _solve(file: str) -> BudgetResult:
    scenario = read_scenario(file)
    from loopplan.studies.budget import budget

    return budget(scenario)


def _states(asked: list[str], result: BudgetResult) -> tuple[str, ...]:
    names = tuple(state.name for state in result.states)
    if "all" in asked and "all" not in names:
        return names
    for name in asked:
        if name not in names:
            raise usage(f"there is no duty state '{name}'; {near(name, names)}")
    return tuple(dict.fromkeys(asked))


def _show(result: BudgetResult, states: tuple[str, ...], assumed: bool, detail: bool) -> None:
    from loopplan.report.terminal import View, show, terminal_text

    utf = (sys.stdout.encoding or "").lower().startswith("utf")
    view = View(states, assumed, detail, "\u2588" if utf else "#")
    console = output_console()
    if console.is_terminal:
        show(result, console, view)
    else:
        typer.echo(terminal_text(result, view, console.width), nl=False)


def output_console() -> Console:
    """Return the console of standard output, of a bounded width."""
    from rich.console import Console

    from loopplan.report.terminal import NARROWEST, USUAL, WIDEST

    class Plain(Console):
        def on_broken_pipe(self) -> None:
            # Rich would end the program, with the exit code of findings.
            raise BrokenPipeError

    console = Plain(markup=False, emoji=False, highlight=False, soft_wrap=False)
    if not sys.stdout.isatty() and not os.environ.get("COLUMNS", "").isdigit():
        # Nothing tells the width of a file or a pipe.
        console.width = USUAL
    console.width = min(max(console.width, NARROWEST), WIDEST)
    return console


def exit_code(findings: Sequence[Finding], fail_on: FailOn) -> int:
    """Return the exit code that findings give."""
    if fail_on is FailOn.never:
        return FINE
    from loopplan.findings import Severity, worst

    severity = worst(findings)
    bad = severity is not None and severity.at_least(Severity(fail_on.value))
    return FINDINGS if bad else FINE
