"""`loopplan explain`: what a kind, a field, a finding or a source means."""

from __future__ import annotations

import json
import shutil
import textwrap
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Annotated, Any

import typer

from loopplan.cli.ending import FINE, finish, usage
from loopplan.cli.files import near
from loopplan.cli.options import Debug

_CATALOGUE = Path(__file__).resolve().parent.parent / "catalogue.json"


def explain_command(
    name: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="NAME",
            help="Kind of element, section of the file, field (`weir width`), finding or source; "
            "lists all if left out.",
        ),
    ] = None,
    debug: Debug = False,
) -> None:
    """Explain an element kind, a field, a finding or a source.

    Example: loopplan explain weir width
    """

    def work() -> int:
        catalogue = _catalogue()
        text = _list(catalogue) if not name else _explain(" ".join(name), catalogue)
        typer.echo(wrapped(text))
        return FINE

    finish(work, debug=debug)


def wrapped(text: str) -> str:
    """Break long lines at the width of the terminal, and indent what follows."""
    width = min(max(shutil.get_terminal_size((100, 25)).columns, 60), 100)
    lines = []
    for line in text.splitlines():
        indent = " " * (len(line) - len(line.lstrip()) + 2)
        broken = textwrap.wrap(
            line, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
        )
        lines += broken or [""]
    return "\n".join(lines)


@cache
def _catalogue() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(_CATALOGUE.read_text(encoding="utf-8"))
    return found


def _list(catalogue: Mapping[str, Any]) -> str:
    lines = []
    for title, group, about in (
        ("Element kinds", "kinds", "title"),
        ("Details of elements", "details", "title"),
        ("Sections of a scenario file", "sections", "title"),
        ("Findings", "findings", "title"),
        ("Sources", "sources", "text"),
    ):
        lines.append(f"{title}:")
        lines += [f"  {name}: {entry[about]}" for name, entry in catalogue[group].items()]
        lines.append("")
    return "\n".join([*lines, "`loopplan explain NAME` tells more of each."])


def _explain(name: str, catalogue: Mapping[str, Any]) -> str:
    """Return the text about a name, or raise an error of usage with the nearest name."""
    wanted = " ".join(name.replace(".", " ").split())
    parts = []
    for group, write in (
        ("kinds", _declared),
        ("details", _declared),
        ("sections", _declared),
        ("findings", _finding),
        ("sources", _source),
    ):
        entry = catalogue[group].get(wanted)
        if entry is not None:
            parts.append(write(wanted, entry))
    declared = {**catalogue["sections"], **catalogue["details"], **catalogue["kinds"]}
    for owner, entry in declared.items():
        for field in entry["fields"]:
            if wanted == f"{owner} {field['name']}":
                parts.append("\n".join([f"{wanted}:", *_field(field)]))
    if not parts:
        # A field by its name alone, wherever it stands.
        for owner, entry in declared.items():
            for field in entry["fields"]:
                if wanted == field["name"]:
                    parts.append("\n".join([f"{owner} {wanted}:", *_field(field)]))
    if not parts:
        # A word that a field takes, such as a way to close a level.
        for owner, entry in declared.items():
            for field in entry["fields"]:
                if wanted in field["choices"]:
                    parts.append("\n".join([f"{owner} {field['name']}:", *_field(field)]))
    if not parts:
        raise usage(f"nothing is called '{wanted}'; {_nearest(wanted, catalogue, declared)}")
    return "\n\n".join(parts)


def _nearest(wanted: str, catalogue: Mapping[str, Any], declared: Mapping[str, Any]) -> str:
    names = [*declared, *catalogue["findings"], *catalogue["sources"]]
    names += [f"{owner} {f['name']}" for owner, entry in declared.items() for f in entry["fields"]]
    hint = near(wanted, tuple(names))
    return hint if hint.startswith("did") else "`loopplan explain` lists all names"


def _declared(name: str, entry: Mapping[str, Any]) -> str:
    lines = [f"{name}: {entry['title']}", ""]
    for field in entry["fields"]:
        lines.append(f"{field['name']}{'' if field['required'] else ' (optional)'}:")
        lines += _field(field)
    return "\n".join(lines)


def _field(field: Mapping[str, Any]) -> list[str]:
    lines = [f"  {field['meaning']}"]
    if field["choices"]:
        lines.append(f"  one of: {', '.join(field['choices'])}")
    elif field["units"]:
        lines.append(f"  {field['dimension']}, in {', '.join(field['units'])}")
    elif field["dimension"] in ("number", "count"):
        plain = {"number": "a plain number", "count": "a whole number from 1 up"}
        lines.append(f"  {plain[field['dimension']]}")
    if field["limits"]:
        lines.append(f"  must be {field['limits']}")
    if field["default"] is not None:
        source = f" (source: {field['source']})" if field["source"] else ""
        lines.append(f"  default: {field['default']}{source}")
    return lines


def _finding(code: str, entry: Mapping[str, Any]) -> str:
    return "\n".join(
        [
            f"{code} ({entry['severity']}): {entry['title']}",
            f"  cause: {entry['cause']}",
            f"  effect: {entry['effect']}",
            f"  what to do: {entry['cure']}",
            f"  source: {entry['source']}",
        ]
    )


def _source(key: str, entry: Mapping[str, Any]) -> str:
    return f"{key}: {entry['text']}\n  evidence: {entry['evidence']}"
