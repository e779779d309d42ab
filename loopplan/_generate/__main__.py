"""``python -m loopplan._generate [--check]``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from loopplan._generate.catalogue import catalogue_text
from loopplan._generate.pages import pages
from loopplan._generate.schema import schema_text
from loopplan._generate_units import unit_factors_source
from loopplan.output import write_text

ROOT = Path(__file__).resolve().parent.parent.parent


def generated() -> dict[str, str]:
    """Return path (below the checkout) and text of every generated file."""
    files = {
        "loopplan/_unit_factors.py": unit_factors_source(),
        "loopplan/catalogue.json": catalogue_text(),
        "loopplan/schema.json": schema_text(),
    }
    files |= {f"docs/reference/{name}": text for name, text in pages().items()}
    return files


def stale(root: Path = ROOT) -> list[str]:
    """Return the generated files that are missing or differ from what they should be."""
    return [
        name
        for name, text in generated().items()
        if not (root / name).is_file() or (root / name).read_text(encoding="utf-8") != text
    ]


def write(root: Path = ROOT) -> list[str]:
    """Write the generated files that are stale; return their names."""
    names = stale(root)
    files = generated()
    for name in names:
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        write_text(root / name, files[name])
    return names


def main(words: Sequence[str], root: Path = ROOT) -> int:
    """Write or check the generated files; return the exit code."""
    if list(words) not in ([], ["--check"]):
        sys.stderr.write("usage: python -m loopplan._generate [--check]\n")
        return 2
    checking = bool(words)
    names = stale(root) if checking else write(root)
    for name in names:
        sys.stderr.write(f"{'stale' if checking else 'wrote'}: {name}\n")
    if checking and names:
        sys.stderr.write("run `python -m loopplan._generate`\n")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
