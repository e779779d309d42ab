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
        others = [s for s in sets if _names(s) == _names(shares) and s is not shares]
        parts.append(_table(shares))
        spreads = ", ".join(f"{one_line(s.state)} {_percent(s.spread)}" for s in others)
        told = f"Spread, most less least over the mean: {_percent(shares.spread)}"
        parts.append(Text(f"{told} ({spreads})" if spreads else told))
    return Group(*parts)


def _names(shares: ShareSet) -> tuple[str, ...]:
    return tuple(s.element for s in shares.shares)


def _table(shares: ShareSet) -> Table:
    table = plain_table(shares.kind, "flow of one\nm3/h", "of the mean")
    jets = any(share.nozzle is not None for share in shares.shares)
    sills = not jets or any(share.sill is not None for share in shares.shares)
    if sills:
        low = f"{1000.0 * SILL_ERROR:.0f} mm low"
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
