"""Ranges drawn in plain characters: one row for each value across, one range along the row.

Nothing rests on colour, and every row ends with its numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loopplan.report.charts import Axis


@dataclass(frozen=True)
class Range:
    """A row of the chart.

    `low`, `value` and `high` are None where there is none; `mark` is one character before the
    label; `words` end the row.
    """

    label: str
    low: float | None
    value: float | None
    high: float | None
    words: str
    mark: str = " "


def range_chart(
    rows: Sequence[Range], axis: Axis, title: str, width: int, limits: Sequence[float] = ()
) -> list[str]:
    """Draw rows: `---o---` is a range and its expected value, `:` stands at each of the limits.

    Args:
        rows: the rows, from the top.
        axis: the axis along the rows; what lies beyond its ends ends in `<` or `>`.
        title: what the labels are.
        width: columns of the whole chart.
        limits: values that are shown in every row.
    """
    label = max(len(title), *(len(row.label) for row in rows)) + 2
    words = max(len(row.words) for row in rows)
    columns = width - label - words - 3
    lines = [f"{title:>{label}} {_ticks(axis, columns)}".rstrip()]
    for row in rows:
        plot = [" "] * columns
        for limit in limits:
            plot[_column(axis, limit, columns)] = ":"
        _draw(plot, row, axis)
        head = f"{row.mark} {row.label:>{label - 2}}"
        lines.append(f"{head} |{''.join(plot)}|{row.words}".rstrip())
    return lines


def _draw(plot: list[str], row: Range, axis: Axis) -> None:
    there = [v for v in (row.low, row.value, row.high) if v is not None]
    if not there:
        return
    ends = [_column(axis, v, len(plot)) for v in (min(there), max(there))]
    for column in range(ends[0], ends[1] + 1):
        plot[column] = "-"
    if row.high is None or axis.place(max(there)) > 1.0:
        # Open: no end, or one that lies off the chart.
        plot[min(ends[1] + 1, len(plot) - 1)] = ">"
    if axis.place(min(there)) < 0.0:
        plot[0] = "<"
    if row.value is not None and 0.0 <= axis.place(row.value) <= 1.0:
        plot[_column(axis, row.value, len(plot))] = "o"


def _column(axis: Axis, value: float, columns: int) -> int:
    return min(max(round(axis.place(value) * (columns - 1)), 0), columns - 1)


def _ticks(axis: Axis, columns: int) -> str:
    """Write the ticks over their columns, leaving out one that would run into the last."""
    line = [" "] * (columns + 8)
    free = 0
    for tick in axis.ticks():
        text = f"{tick:g}"
        start = max(_column(axis, tick, columns) + 1 - (len(text) - 1) // 2, 0)
        if start >= free and start + len(text) <= columns + 2:
            line[start : start + len(text)] = text
            free = start + len(text) + 1
    return "".join(line)
