"""The part of the terminal report on shares of flow."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group
from rich.table import Table
from rich.text import Text

from loopplan.report.numbers import flow_m3_h
from loopplan.report.terminal_budget import plain_table
from loopplan.report.words import one_line
from loopplan.studies.share_results import NOZZLE_ERROR, SILL_ERROR, ShareSet


def shares_part(sets: Sequence[ShareSet], state: str) -> Group:
    """Shares of like elements in one duty state, and the spread in all of them."""
    parts: list[Table | Text] = []
    for shares in sets:
        if shares.state != state:
            continue
        key = _names(shares)
        others = [s for s in sets if _names(s) == key and s is not shares]
        parts.append(_table(shares))
        spreads = ", ".join(f"{one_line(s.state)} {_percent(s.spread)}" for s in others)
        told = f"Spread, most less least over the mean: {_percent(shares.spread)}"
        parts.append(Text(f"{told} ({spreads})" if spreads else told))
        parts += [Text(words) for s in sets if _names(s) == key and (words := _one_out(s))]
    return Group(*parts)


def _one_out(shares: ShareSet) -> str:
    """Say what the others carry while one is out of service; nothing where none is."""
    if not shares.out and not shares.fewer:
        return ""
    missing = ", ".join(
        [one_line(name) for name in shares.out]
        + [f"one of {one_line(name)}" for name in shares.fewer]
    )
    carry = ", ".join(
        f"{one_line(s.element)} {100.0 * s.of_usual:.0f} %"
        for s in shares.shares
        if s.of_usual is not None
    )
    return (
        f"{one_line(shares.state)}: without {missing} each unit carries, of its usual flow: {carry}"
    )


def _names(shares: ShareSet) -> tuple[str, ...]:
    """All elements of a set, whether they run or not."""
    return tuple(sorted([*shares.out, *(s.element for s in shares.shares)]))


def _table(shares: ShareSet) -> Table:
    table = plain_table(shares.kind, "flow of one\nm3/h", "of the mean")
    jets = any(share.nozzle is not None for share in shares.shares)
    sills = not jets or any(share.sill is not None for share in shares.shares)
    if sills:
        errors = sorted({s.sill_low for s in shares.shares if s.error is not None})
        low = " or ".join(f"{1000.0 * error:g}" for error in errors or [SILL_ERROR]) + " mm low"
        table.add_column(f"its sill {low}:\nit takes", justify="right", no_wrap=True)
    if jets:
        wide = f"{100.0 * NOZZLE_ERROR:.0f} % wide"
        table.add_column(f"its nozzle {wide}:\nit takes", justify="right", no_wrap=True)
    for share in shares.shares:
        table.add_row(
            Text(one_line(share.element)),
            flow_m3_h(share.flow),
            f"{100.0 * share.share:.1f} %",
            *([_change(share.error)] if sills else []),
            *([_change(share.nozzle_error)] if jets else []),
        )
    return table


def _change(error: float | None) -> str:
    return "" if error is None else f"{100.0 * error:+.1f} %"


def _percent(value: float) -> str:
    return f"{100.0 * value:.1f} %"
