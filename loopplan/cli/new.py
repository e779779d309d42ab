"""`loopplan new`: begin a scenario from a shipped one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loopplan.cli.ending import BAD_FILE, FINE, finish, say, usage
from loopplan.cli.files import near, shipped_names
from loopplan.cli.options import Debug


def new_command(
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="Shipped scenario; lists them if left out."),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", metavar="FILE", help="File to write. [default: NAME.yaml]"),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over an existing file.")] = False,
    debug: Debug = False,
) -> None:
    """Write a scenario to start from: a copy of a shipped one. `-o -` writes to standard output.

    Example: loopplan new trout-channel -o my-farm.yaml
    """

    def work() -> int:
        known = shipped_names()
        if not known:
            say("this installation holds no scenarios")
            return BAD_FILE
        if name is None:
            typer.echo("\n".join(f"{each}: {_about(each)}" for each in known))
            return FINE
        if name not in known:
            raise usage(f"there is no shipped scenario '{name}'; {near(name, known)}")
        _write(name, output or Path(f"{name}.yaml"), force)
        return FINE

    finish(work, debug=debug)


def _write(name: str, target: Path, force: bool) -> None:
    from loopplan.output import CannotWrite, write_bytes
    from loopplan.shipped import scenario_path

    text = scenario_path(name).read_bytes()
    if str(target) == "-":
        typer.echo(text, nl=False)
        return
    if target.exists() and not force:
        cure = "give another name with -o, or add --force"
        raise CannotWrite(target, "there is such a file already", cure)
    write_bytes(target, text)
    say(f"wrote {target}; next: loopplan budget {target}")


def _about(name: str) -> str:
    """Return the note of a shipped scenario, else the name of its farm."""
    from loopplan.scenario.document import load
    from loopplan.shipped import scenario_path

    farm = load(scenario_path(name)).tree.get("farm")
    about = farm.get("note") or farm.get("name") if isinstance(farm, dict) else ""
    return " ".join(str(about or "").split())
