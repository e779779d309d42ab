"""The part of the terminal report on a stop of every lift."""

from __future__ import annotations

from rich.console import Group
from rich.table import Table
from rich.text import Text

from loopplan.report.numbers import digits, level
from loopplan.report.terminal_budget import plain_table
from loopplan.report.words import one_line
from loopplan.studies.poweroff_results import PlaceAtRest, PowerCase, PowerOff


def power_part(power: PowerOff) -> Group:
    """Levels and litres before and after, minutes of oxygen, and what it comes to."""
    case = power.worst
    parts: list[Text | Table] = [
        Text(
            f"All lifts stop in state {one_line(case.state)}, the worst of {len(power.cases)}; "
            "flaps hold, make-up and discharges stand still. By volumes alone; in time it may "
            "surge higher."
            if len(power.cases) > 1
            else f"All lifts stop in state {one_line(case.state)}; flaps hold, make-up and "
            "discharges stand still. By volumes alone; in time it may surge higher."
        ),
        _table(case),
    ]
    if any(p.oxygen for p in case.places):
        low, high = (3600e6 * c for c in power.consumption)
        parts.append(
            Text(
                f"Oxygen: {1000.0 * power.usable_oxygen:g} mg/L usable (assumed), taken at "
                f"{low:.0f} to {high:.0f} mg per kg of fish and hour, from the water that is "
                "left in each tank."
            )
        )
    parts.append(Text(conclusion(case)))
    if power.worst_stuck is not None:
        parts.append(Text(_stuck(power.worst_stuck, len(power.stuck))))
    return Group(*parts)


def conclusion(case: PowerCase) -> str:
    """Say in one line what the stop comes to."""
    words = []
    if case.over_walls > 0.0:
        over = [p for p in case.places if p.over_wall > 0.0]
        names = ", ".join(one_line(p.element) for p in over)
        words.append(f"{litres(case.over_walls)} L run over walls ({names})")
    else:
        words.append("Nothing runs over a wall")
    words += [f"{litres(volume)} L leave by {one_line(name)}" for name, volume in case.leaves]
    if case.short > 0.0:
        words.append(
            f"starting again needs {litres(case.start)} L and {litres(case.held)} L stand ready: "
            f"{litres(case.short)} L short"
        )
    else:
        words.append(
            f"starting again needs {litres(case.start)} L, and {litres(case.held)} L stand ready"
        )
    return "; ".join(words) + "."


def _stuck(case: PowerCase, count: int) -> str:
    which = "the worst of its kind" if count > 1 else "the only one"
    return f"With the flap of {one_line(case.stuck)} stuck open ({which}): " + _lower(
        conclusion(case)
    )


def _lower(text: str) -> str:
    return text[0].lower() + text[1:]


def litres(volume: float) -> str:
    """Write a volume [m3] in litres."""
    return digits(1000.0 * volume, 3) if abs(volume) < 0.1 else f"{1000.0 * volume:,.0f}"


def _table(case: PowerCase) -> Table:
    titles = ["running\nm", "at rest\nm", "gives\nL", "takes\nL", "over wall\nL", "freeboard\nm"]
    oxygen = any(p.oxygen for p in case.places)
    over = case.over_walls > 0.0
    if not over:
        titles.remove("over wall\nL")
    table = plain_table("basin", *titles, *(["oxygen\nmin"] if oxygen else []))
    for place in case.places:
        cells = [
            level(place.running_level),
            level(place.stop_level),
            _share(place.drained),
            _share(-place.drained),
            *([_share(place.over_wall)] if over else []),
            "-" if place.freeboard is None else level(place.freeboard),
            *([_minutes(place)] if oxygen else []),
        ]
        name = one_line(place.element) + (f" x {place.units:g}" if place.units > 1.0 else "")
        table.add_row(Text(name), *cells)
    if case.pipes > 0.0:
        table.add_row(Text("pipes that run empty"), "", "", _share(case.pipes))
    return table


def _share(volume: float) -> str:
    # A tenth of a litre is finer than levels are set out to.
    return litres(volume) if volume >= 1e-4 else ""


def _minutes(place: PlaceAtRest) -> str:
    if place.oxygen is None:
        return ""
    return f"{place.oxygen[0] / 60.0:.0f} to {place.oxygen[1] / 60.0:.0f}"
