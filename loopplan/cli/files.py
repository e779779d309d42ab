"""Which scenario a word on the command line means."""

from __future__ import annotations

import difflib
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from loopplan.scenario.models import Scenario

FileArgument = Annotated[
    str,
    typer.Argument(
        metavar="FILE",
        help="Scenario file; `-` reads standard input; the name of a shipped scenario if there "
        "is no such file.",
    ),
]


def read_scenario(word: str) -> Scenario:
    """Read the scenario that `word` means.

    Raises BadFile if it cannot be used, or if there is none.
    """
    from loopplan.scenario.document import LARGEST_FILE
    from loopplan.scenario.reader import read

    if word == "-":
        # One byte more than is allowed is enough for the reader to refuse it.
        return read(sys.stdin.buffer.read(LARGEST_FILE + 1), "<standard input>")
    path = Path(word)
    if path.exists():
        return read(path, word)
    shipped = _shipped(word)
    if shipped is not None:
        return read(shipped, shipped.name)
    raise _no_such_file(word)


def shipped_names() -> tuple[str, ...]:
    """Return the names of the shipped scenarios; none if the installation holds none."""
    from loopplan.shipped import names

    try:
        return names()
    except FileNotFoundError:
        return ()


def near(word: str, known: tuple[str, ...]) -> str:
    """Return a hint with the nearest of the known words, else all of them."""
    close = difflib.get_close_matches(word.lower(), [k.lower() for k in known], 1, 0.6)
    if close:
        return f"did you mean '{next(k for k in known if k.lower() == close[0])}'?"
    return f"there are: {', '.join(known)}" if known else "there are none"


def _shipped(word: str) -> Path | None:
    if word not in shipped_names():
        return None
    from loopplan.shipped import scenario_path

    return scenario_path(word)


def _no_such_file(word: str) -> Exception:
    from loopplan.errors import BadFile, Problem

    hint = near(Path(word).stem, shipped_names())
    cure = f"check the name and the folder; of the shipped scenarios {hint}"
    return BadFile([Problem(word, 0, "", "", "there is no such file", cure)])
