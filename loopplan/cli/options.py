"""Options that several commands share, and what they do with them."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from pathlib import Path
from typing import Annotated

import typer

from loopplan.cli.ending import say


class FailOn(str, Enum):  # noqa: UP042 - older typer reads only this form
    """From which severity on findings give exit code 1."""

    severe = "severe"
    warning = "warning"
    note = "note"
    never = "never"


Json = Annotated[bool, typer.Option("--json", help="Write JSON (SI units), no text.")]
CsvFolder = Annotated[
    Path | None, typer.Option("--csv", metavar="DIR", help="Also write CSV files into DIR.")
]
Force = Annotated[bool, typer.Option("--force", help="Write into DIR even if it is not empty.")]
Assumed = Annotated[bool, typer.Option("--assumed", help="List assumed values and sources.")]
FailOnOption = Annotated[
    FailOn,
    typer.Option("--fail-on", help="Exit with 1 if a finding is as bad as this, or worse."),
]
Verbose = Annotated[bool, typer.Option("-v", "--verbose", help="Show how the solver went.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show tracebacks of errors.")]


def write_csv(files: Mapping[str, str], folder: Path, force: bool) -> None:
    """Write CSV files into a folder, all or none, and say so."""
    from loopplan.output import write_folder

    write_folder(folder, dict(files), force)
    say(f"wrote {len(files)} files into {folder}")


def echo_json(text: str) -> None:
    """Write JSON to standard output."""
    # As bytes: JSON is UTF-8, whatever the terminal's encoding.
    typer.echo(text.encode("utf-8"), nl=False)
