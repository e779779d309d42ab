"""Errors of loopplan, as one small tree.

::

    LoopplanError
    ├── BadFile        the scenario file cannot be used as written (exit code 3)
    ├── Refused        the loop is over- or under-fixed, or has no lift (exit code 3)
    ├── NoSolution     the loop was tried and would not close (exit code 4)
    ├── MissingExtra   an optional package is not installed (exit code 5)
    └── UnitError      a text is not a quantity of the kind that is due

Findings about the *design* are not errors: see :mod:`loopplan.findings`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


class LoopplanError(Exception):
    """Base of all errors that loopplan raises on purpose."""

    exit_code = 70


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in a scenario file.

    `line` counts from 1; 0 where the file as a whole is meant.
    """

    file: str
    line: int
    key: str
    read: str
    message: str
    cure: str

    def as_dict(self) -> dict[str, Any]:
        """Return the problem as plain data."""
        return {
            "file": self.file,
            "line": self.line,
            "key": self.key,
            "read": self.read,
            "message": self.message,
            "cure": self.cure,
        }

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        key = f" {self.key}:" if self.key else ""
        read = f" (read: {self.read})" if self.read else ""
        return f"{place}:{key} {self.message}{read}\n    what would do: {self.cure}"


class BadFile(LoopplanError, ValueError):
    """The scenario file cannot be used as written; holds every problem found."""

    exit_code = 3

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = sorted(problems, key=lambda p: (p.line, p.key))
        super().__init__("\n".join(str(p) for p in self.problems))


class Refused(BadFile):
    """The file reads well but the loop it describes cannot be closed as stated."""


class NoSolution(LoopplanError, ArithmeticError):
    """The loop was tried and would not close.

    `element` and `quantity` name what does not close, `state` the duty state.
    """

    exit_code = 4

    def __init__(self, element: str, quantity: str, reason: str, state: str = "") -> None:
        self.element = element
        self.quantity = quantity
        self.reason = reason
        self.state = state
        where = f" in duty state '{state}'" if state else ""
        super().__init__(f"no solution{where}: {quantity} of '{element}' does not close: {reason}")


class MissingExtra(LoopplanError, ImportError):
    """An optional package is needed and not installed."""

    exit_code = 5


class UnitError(LoopplanError, ValueError):
    """A text is not a quantity of the kind that is due.

    `cure` says what would do.
    """

    exit_code = 3

    def __init__(self, message: str, cure: str) -> None:
        self.cure = cure
        super().__init__(message)
