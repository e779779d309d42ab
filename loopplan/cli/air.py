"""`loopplan air`: headers, blowers and users of air, solved with the water loop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from loopplan.cli.budget import exit_code, output_console
from loopplan.cli.ending import finish, logged, progress, reader_may_stop, usage
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
    from loopplan.studies.air_results import AirResult


def air_command(
    file: FileArgument,
    json: Json = False,
    csv: CsvFolder = None,
    force: Force = False,
    state: Annotated[
        list[str] | None,
        typer.Option(
            "--state",
            metavar="NAME",
            help="State whose users are shown, or `all`; may be given again. [default: the first]",
        ),
    ] = None,
    assumed: Assumed = False,
    fail_on: FailOnOption = FailOn.never,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Work out pressures, flows and power of the air supply, with the water that it moves.

    Example: loopplan air trout-channel --state all
    """

    def work() -> int:
        with logged(verbose), progress(f"working on {file}"):
            scenario = read_scenario(file)
            from loopplan.studies.air import air_supply

            result = air_supply(scenario)
        shown = _states(state or [], result)
        if csv is not None:
            from loopplan.report.air_json import air_csv

            write_csv(air_csv(result), csv, force)
        with reader_may_stop():
            if json:
                from loopplan.report.air_json import air_json

                echo_json(air_json(result))
            else:
                from loopplan.report.terminal_air import air_text, show_air

                console = output_console()
                if console.is_terminal:
                    show_air(result, console, shown, assumed=assumed)
                else:
                    typer.echo(air_text(result, shown, console.width, assumed=assumed), nl=False)
        return exit_code(result.findings, fail_on)

    finish(work, debug=debug)


def _states(asked: list[str], result: AirResult) -> tuple[str, ...]:
    if "all" in asked and "all" not in result.cases:
        return result.cases
    for name in asked:
        if name not in result.cases:
            raise usage(f"there is no state '{name}'; {near(name, result.cases)}")
    return tuple(dict.fromkeys(asked))
