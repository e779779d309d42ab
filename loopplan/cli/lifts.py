"""`loopplan lifts`: the three devices at each lift, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loopplan.cli.budget import FailOn, exit_code, output_console
from loopplan.cli.ending import finish, logged, progress, reader_may_stop, say
from loopplan.cli.files import FileArgument, read_scenario


def lifts_command(
    file: FileArgument,
    json: Annotated[bool, typer.Option("--json", help="Write JSON (SI units), no text.")] = False,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="DIR", help="Also write CSV files into DIR.")
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write into DIR even if it is not empty.")
    ] = False,
    assumed: Annotated[
        bool, typer.Option("--assumed", help="List assumed values and sources.")
    ] = False,
    fail_on: Annotated[
        FailOn,
        typer.Option("--fail-on", help="Exit with 1 if a finding is as bad as this, or worse."),
    ] = FailOn.never,
    verbose: Annotated[
        bool, typer.Option("-v", "--verbose", help="Show how the solver went.")
    ] = False,
    debug: Annotated[bool, typer.Option("--debug", help="Show tracebacks of errors.")] = False,
) -> None:
    """Work out airlift, propeller pump and centrifugal pump at each lift of a loop.

    Example: loopplan lifts trout-channel
    """

    def work() -> int:
        with logged(verbose), progress(f"working on {file}"):
            scenario = read_scenario(file)
            from loopplan.studies.lift_sheets import lift_study

            study = lift_study(scenario)
        if csv is not None:
            from loopplan.output import write_folder
            from loopplan.report.lifts_json import lifts_csv

            files = lifts_csv(study)
            write_folder(csv, dict(files), force)
            say(f"wrote {len(files)} files into {csv}")
        with reader_may_stop():
            if json:
                from loopplan.report.lifts_json import lifts_json

                # As bytes: JSON is UTF-8, whatever the terminal's encoding.
                typer.echo(lifts_json(study).encode("utf-8"), nl=False)
            else:
                from loopplan.report.terminal_lifts import lifts_text, show_lifts

                console = output_console()
                if console.is_terminal:
                    show_lifts(study, console, assumed=assumed)
                else:
                    typer.echo(lifts_text(study, console.width, assumed=assumed), nl=False)
        return exit_code(study.findings, fail_on)

    finish(work, debug=debug)
