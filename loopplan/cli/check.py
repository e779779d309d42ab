"""`loopplan check`: read a scenario and look at its loop, without solving it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from loopplan.cli.ending import FINE, finish
from loopplan.cli.explain import wrapped
from loopplan.cli.files import FileArgument, read_scenario
from loopplan.cli.options import Debug

if TYPE_CHECKING:
    from loopplan.api import Checked


def check_command(
    file: FileArgument,
    debug: Debug = False,
) -> None:
    """Read a scenario and see whether its loop is complete, without solving it.

    Example: loopplan check my-farm.yaml
    """

    def work() -> int:
        scenario = read_scenario(file)
        from loopplan.api import check

        typer.echo(wrapped(_words(check(scenario))))
        return FINE

    finish(work, debug=debug)


def _words(found: Checked) -> str:
    kinds = ", ".join(f"{number} {kind}" for kind, number in found.kinds)
    lines = [
        f"{found.file}: {found.farm} reads well and its loop is complete.",
        f"  elements: {found.elements} ({kinds})",
        f"  flow paths: {', '.join(found.paths)}",
        f"  basins: {found.basins}; passages: {found.passages}; joins: {found.joins}",
        f"  lifts: {', '.join(found.lifts) or 'none'}",
        f"  duty states: {', '.join(found.states)}",
        f"  assumed values: {found.assumed}",
        "Nothing was solved; `loopplan budget` does that.",
    ]
    return "\n".join(lines)
