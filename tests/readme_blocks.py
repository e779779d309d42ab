"""Read the marked blocks of README.md and of pages like it, and write the outputs into them.

A line `<!-- command: NAME -->` marks the code block after it as a command of the README;
`<!-- output: WORDS -->` marks it as what `loopplan WORDS` writes to standard output.

    python tests/readme_blocks.py      # writes fresh outputs and charts
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
SHAFT_PAGE = ROOT / "docs" / "airlift-shaft.md"
SHAFT_CHART = ROOT / "docs" / "airlift-shaft.svg"
FIRST_SCENARIO = ROOT / "scenarios" / "trout-channel.yaml"

_BLOCK = re.compile(
    r"^<!-- (?P<kind>command|output): (?P<name>.+?) -->\n```\w*\n(?P<text>.*?)^```$",
    re.MULTILINE | re.DOTALL,
)


class Block(NamedTuple):
    """One marked block: the line of its marker (from 1), its name and its text."""

    line: int
    name: str
    text: str


def blocks(kind: str, readme: str) -> list[Block]:
    """Return the marked blocks of one kind, in their order."""
    return [
        Block(readme.count("\n", 0, found.start()) + 1, found["name"], found["text"])
        for found in _BLOCK.finditer(readme)
        if found["kind"] == kind
    ]


def loopplan(*words: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """Run the command line as a person would, in a process of its own."""
    entry = "import sys; sys.argv[0] = 'loopplan'; from loopplan.cli import main; sys.exit(main())"
    path = os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH"))))
    plain = {"COLUMNS": "100", "NO_COLOR": "1", "PYTHONPATH": path, "PYTHONUTF8": "1"}
    return subprocess.run(
        [sys.executable, "-c", entry, *words],
        capture_output=True,
        check=False,
        cwd=cwd,
        encoding="utf-8",
        env={**os.environ, **plain},
        stdin=subprocess.DEVNULL,
        timeout=120,
    )


def write_outputs() -> None:
    """Put the real output of each command into its block, and draw the charts anew."""

    def fresh(found: re.Match[str]) -> str:
        if found["kind"] != "output":
            return found[0]
        run = loopplan(*found["name"].split())
        run.check_returncode()
        before = found[0][: found.start("text") - found.start()]
        return f"{before}{shown(run.stdout)}```"

    for page in (README, SHAFT_PAGE):
        page.write_text(_BLOCK.sub(fresh, page.read_text(encoding="utf-8")), encoding="utf-8")
    loopplan("shaft", "--svg", str(SHAFT_CHART), "--force").check_returncode()


def shown(output: str) -> str:
    """Return an output as the README shows it: no blank ends."""
    lines = [line.rstrip() for line in output.splitlines()]
    return "\n".join(lines).strip("\n") + "\n"


if __name__ == "__main__":
    write_outputs()
