"""Pieces that the text of a shaft is laid out with."""

from __future__ import annotations

from collections.abc import Sequence
from math import log

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loopplan.report.shaft_words import ends
from loopplan.report.terminal_budget import plain_table
from loopplan.studies.shaft_results import Band

_SAME = 0.15
"""Difference in the logarithm up to which rows are all but the same."""


def title(console: Console, text: str) -> None:
    """Write the title of a part."""
    console.print()
    console.print(Text(text, "bold"))


def print_lines(console: Console, lines: Sequence[str]) -> None:
    """Write lines as they are."""
    for line in lines:
        console.print(Text(line), no_wrap=True, crop=False, overflow="ignore")


def narrow_table(first: str, *numbers: str) -> Table:
    """Return a table whose first column holds short numbers too."""
    table = plain_table(first, *numbers)
    table.columns[0].min_width = None
    return table


def near(value: float, marked: Sequence[float]) -> bool:
    """Tell whether a row is all but the same as one that is marked."""
    return value > 0.0 and any(abs(log(value / other)) < _SAME for other in marked)


def low_value_high(
    band: Band, factor: float = 1.0
) -> tuple[float | None, float | None, float | None]:
    """Return least, expected and most of a band, each times a factor."""
    low, high = (None if end is None else factor * end for end in ends(band))
    return low, None if band.expected is None else factor * band.expected, high
