"""`loopplan air`: headers, blowers and users of air, solved with the water loop."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loopplan.cli.budget import FailOn, exit_code, output_console
from loopplan.cli.ending import finish, logged, progress, reader_may_stop, say, usage
from loopplan.cli.files import FileArgument, near, read_scenario

if TYPE_CHECKING:
    from loopplan.studies.air_results import AirResult


def air_command(
    file: FileArgument,
    json: Annotated[bool, typer.Option("--json", help="Write JSON (SI units), no text.")] = False,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="DIR", help="Also write CSV files into DIR.")
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write into DIR even if it is not empty.")
    ] = False,
    state: Annotated[
        list[str] | None,
        typer.Option(
            "--state",
            metavar="NAME",
            help="State whose users are shown, or `all`; may be given again. [default: the first]",
        ),
    ] = None,
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
            from loopplan.output import write_folder
            from loopplan.report.air_json import air_csv

            files = air_csv(result)
            write_folder(csv, dict(files), force)
            say(f"wrote {len(files)} files into {csv}")
        with reader_may_stop():
            if json:
                from loopplan.report.air_json import air_json

                # As bytes: JSON is UTF-8, whatever the terminal's encoding.
                typer.echo(air_json(result).encode("utf-8"), nl=False)
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
