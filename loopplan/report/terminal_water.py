"""The water balance of one duty state, for the terminal report."""

from __future__ import annotations

from rich.console import Group
from rich.table import Table
from rich.text import Text

from loopplan.declare import DAY
from loopplan.report.numbers import digits, flow_m3_h
from loopplan.report.terminal_budget import plain_table
from loopplan.report.words import one_line
from loopplan.studies.results import StateResult
from loopplan.studies.water_results import WaterBalance


def water_part(state: StateResult) -> Group:
    """What goes round, enters and leaves, by place; recirculation in the ways it is stated."""
    parts: list[Text | Table] = [_line(state)]
    if state.balance.losses:
        parts.append(_losses(state.balance))
    if state.balance.replacement > 0.0:
        parts.append(_indices(state.balance))
    return Group(*parts)


def _line(state: StateResult) -> Text:
    """Circulation, replacement, discharge, passes and tank turnover in one line."""
    water = state.balance
    round_ = f"{flow_m3_h(water.circulation)} m3/h go round, new water counted"
    words = [f"Water ({one_line(state.name)}): {round_}"]
    words.append(f"{flow_m3_h(water.replacement)} m3/h are new")
    words.append(f"{flow_m3_h(water.discharge)} m3/h leave")
    if water.passes is not None:
        words.append(f"{digits(water.passes, 3)} passes")
    turns = [
        f"{one_line(row.element)} {digits(row.turnover, 3)} min"
        for row in state.levels
        if row.turnover is not None
    ]
    if turns:
        words.append(f"tanks turn over in: {', '.join(turns)}")
    return Text("; ".join(words))


def _losses(water: WaterBalance) -> Table:
    """Where the replacement goes."""
    table = plain_table("of the new water", "m3/h", "m3/d")
    table.add_column("what it is", no_wrap=True)
    for loss in water.losses:
        how = "mean of a day" if loss.averaged else "exit in a flow path"
        table.add_row(Text(one_line(loss.place)), *_both(loss.flow), f"{loss.what}, {how}")
    if water.surplus >= 0.0:
        table.add_row(Text("the rest"), *_both(water.surplus), "surplus, drained at will")
    else:
        table.add_row(Text("missing"), *_both(-water.surplus), "more is lost than is new")
    return table


def _both(flow: float) -> tuple[str, str]:
    return flow_m3_h(flow), digits(DAY * flow)


def _indices(water: WaterBalance) -> Table:
    """Recirculation in the ways that it is stated, each with its definition."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True)
    grid.add_column()

    def say(name: str, text: str) -> None:
        grid.add_row(Text(name), Text(text))

    if water.reused_share is not None:
        say(
            "recirculation",
            f"{100.0 * water.reused_share:.2f} % of the flow is not new: (round - new)/round, "
            "which is internal/(internal + new)",
        )
    if water.exchanged_a_day is not None:
        say(
            "exchange",
            f"{digits(100.0 * water.exchanged_a_day, 3)} % a day of the {digits(water.volume)} m3 "
            "in basins, channels and pipes",
        )
    if water.water_per_feed is not None and water.feed_per_water is not None:
        say(
            "new water",
            f"{digits(1000.0 * water.water_per_feed, 3)} L for each kg of feed "
            f"({digits(water.feed_per_water, 3)} kg of feed to each m3)",
        )
    if water.water_per_fish is not None:
        name = "" if water.water_per_feed is not None else "new water"
        say(name, f"{digits(1000.0 * water.water_per_fish, 3)} L for each kg of fish grown")
    return grid
