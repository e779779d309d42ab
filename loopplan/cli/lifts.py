"""`loopplan lifts`: the three devices at each lift, side by side."""

from __future__ import annotations

import typer

from loopplan.cli.budget import exit_code, output_console
from loopplan.cli.ending import finish, logged, progress, reader_may_stop
from loopplan.cli.files import FileArgument, read_scenario
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


def lifts_command(
    file: FileArgument,
    json: Json = False,
    csv: CsvFolder = None,
    force: Force = False,
    assumed: Assumed = False,
    fail_on: FailOnOption = FailOn.never,
    verbose: Verbose = False,
    debug: Debug = False,
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
            from loopplan.report.lifts_json import lifts_csv

            write_csv(lifts_csv(study), csv, force)
        with reader_may_stop():
            if json:
                from loopplan.report.lifts_json import lifts_json

                echo_json(lifts_json(study))
            else:
                from loopplan.report.terminal_lifts import lifts_text, show_lifts

                console = output_console()
                if console.is_terminal:
                    show_lifts(study, console, assumed=assumed)
                else:
                    typer.echo(lifts_text(study, console.width, assumed=assumed), nl=False)
        return exit_code(study.findings, fail_on)

    finish(work, debug=debug)
