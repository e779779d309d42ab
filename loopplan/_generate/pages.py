"""The reference pages: elements, findings, sources, commands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loopplan._generate.catalogue import catalogue

_MADE = "<!-- Made by `python -m loopplan._generate`; do not edit. -->\n"
_SEE = "`loopplan explain NAME` tells the same at the terminal.\n"


def pages() -> dict[str, str]:
    """Return file name and text of each page."""
    known = catalogue()
    return {
        "elements.md": _elements(known),
        "findings.md": _findings(known["findings"]),
        "sources.md": _sources(known["sources"]),
        "commands.md": _commands(),
    }


def _elements(known: Mapping[str, Any]) -> str:
    lines = [
        _MADE,
        "# Elements and sections",
        "",
        "What may stand in a scenario file. A quantity is one number and one unit; a default is "
        f"printed in the result as assumed. {_SEE}",
        "## Element kinds",
        "",
        "Every element has a `kind`.",
        "",
    ]
    for kind, entry in known["kinds"].items():
        lines += _table(f"### {kind}", entry)
    lines += ["## Details", "", "What stands within an element, indented below its field.", ""]
    for name, entry in known["details"].items():
        lines += _table(f"### {name}", entry)
    lines += ["## Sections", ""]
    for name, entry in known["sections"].items():
        lines += _table(f"### {name}", entry)
    return "\n".join(lines).rstrip("\n") + "\n"


def _table(heading: str, entry: Mapping[str, Any]) -> list[str]:
    title = entry["title"]
    lines = [heading, "", f"{title[0].upper()}{title[1:]}.", ""]
    if not entry["fields"]:
        return lines
    lines += ["| field | what it is | takes | default |", "| --- | --- | --- | --- |"]
    for field in entry["fields"]:
        cells = (f"`{field['name']}`", field["meaning"], _takes(field), _default(field))
        lines.append(f"| {' | '.join(_cell(cell) for cell in cells)} |")
    return [*lines, ""]


def _takes(field: Mapping[str, Any]) -> str:
    if field["choices"]:
        return ", ".join(f"`{word}`" for word in field["choices"])
    words = ", ".join(field["units"]) or {"word": "text", "part": "as described"}.get(
        field["dimension"], field["dimension"]
    )
    return f"{words}; {field['limits']}" if field["limits"] else str(words)


def _default(field: Mapping[str, Any]) -> str:
    if field["required"]:
        return "must be given"
    if field["default"] is None:
        return "none"
    source = f" ({field['source']})" if field["source"] else ""
    return f"`{field['default']}`{source}"


def _cell(text: str) -> str:
    return " ".join(text.replace("|", "\\|").split())


def _findings(findings: Mapping[str, Any]) -> str:
    lines = [_MADE, "# Findings", "", f"What loopplan remarks on. {_SEE}"]
    for code, kind in findings.items():
        lines += [
            f"## {code}",
            "",
            f"{kind['severity'].capitalize()}: {kind['title']}.",
            "",
            f"- Cause: {kind['cause']}",
            f"- Effect: {kind['effect']}",
            f"- What to do: {kind['cure']}",
            f"- Source: {kind['source']}",
            "",
        ]
    return "\n".join(lines).rstrip("\n") + "\n"


def _sources(sources: Mapping[str, Any]) -> str:
    lines = [_MADE, "# Sources", "", f"Where the numbers come from. {_SEE}"]
    lines += ["| key | source | evidence |", "| --- | --- | --- |"]
    for key, source in sources.items():
        cells = (f"`{key}`", source["text"], source["evidence"])
        lines.append(f"| {' | '.join(_cell(cell) for cell in cells)} |")
    return "\n".join(lines) + "\n"


def _commands() -> str:
    from loopplan.cli.app import help_texts

    lines = [_MADE, "# Commands", "", "What `--help` says.", ""]
    for words, text in help_texts().items():
        body = "\n".join(line.rstrip() for line in text.splitlines()).strip("\n")
        lines += [f"## {words}", "", "```text", body, "```", ""]
    return "\n".join(lines).rstrip("\n") + "\n"
