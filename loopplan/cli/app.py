"""The typer app: what all commands share, and how a run ends."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from loopplan import __version__
from loopplan.cli.air import air_command
from loopplan.cli.budget import budget_command
from loopplan.cli.check import check_command
from loopplan.cli.ending import FINE, INTERRUPTED, USAGE, our_bug, unwritten
from loopplan.cli.explain import explain_command
from loopplan.cli.lifts import lifts_command
from loopplan.cli.new import new_command
from loopplan.cli.shaft import shaft_command

app = typer.Typer(
    name="loopplan",
    help="Plan the water loop of a recirculating fish farm: where every centimetre of head goes, "
    "and what must lift it back.\n\nExample: loopplan budget trout-channel",
    epilog="For screening: a responsible engineer checks every number before anyone builds.",
    rich_markup_mode=None,
    add_completion=False,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command("budget")(budget_command)
app.command("air")(air_command)
app.command("lifts")(lifts_command)
app.command("shaft")(shaft_command)
app.command("check")(check_command)
app.command("new")(new_command)
app.command("explain")(explain_command)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"loopplan {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    pass


def run(words: Sequence[str] | None) -> int:
    """Run the app and return its exit code."""
    # A name that the terminal's encoding lacks must not end a run.
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    code = _code(words)
    try:
        sys.stdout.flush()
    except OSError as error:
        lost = unwritten(error)
        return code if lost == FINE else USAGE
    return code


def _code(words: Sequence[str] | None) -> int:
    command = typer.main.get_command(app)
    try:
        command.main(args=None if words is None else list(words), prog_name="loopplan")
    except SystemExit as end:
        if isinstance(end.__context__, BrokenPipeError):
            # Typer ends with 1, which means findings here.
            return FINE
        return end.code if isinstance(end.code, int) else 0
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:
        code = unwritten(error)
        return our_bug(error) if code < 0 else code
    return 0


def help_texts(width: int = 80) -> dict[str, str]:
    """Return the `--help` text of the program and of each command, by command line."""
    group = typer.main.get_command(app)
    assert isinstance(group, TyperGroup)
    settings: dict[str, Any] = {"terminal_width": width, "resilient_parsing": True}
    with group.make_context("loopplan", [], **settings) as top:
        texts = {"loopplan": group.get_help(top)}
        for name in group.list_commands(top):
            command = group.get_command(top, name)
            assert command is not None
            with command.make_context(name, [], parent=top, **settings) as below:
                texts[f"loopplan {name}"] = command.get_help(below)
    return texts
