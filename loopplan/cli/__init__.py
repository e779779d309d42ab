"""The command line. `main` is its entry; each command has a file of its own."""

from __future__ import annotations

from collections.abc import Sequence


def main(words: Sequence[str] | None = None) -> int:
    """Run the command line with `words` (those of the process if left out).

    Returns the exit code: 0 fine, 1 findings at or above `--fail-on`, 2 usage, 3 bad file or
    refused, 4 no solution, 5 missing extra, 70 an error of loopplan itself, 130 interrupted.
    """
    from loopplan.cli.app import run

    return run(words)


__all__ = ["main"]
