"""The part of the terminal report on the swing of the sumps."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text

from loopplan.report.numbers import level, loss_mm
from loopplan.report.words import one_line
from loopplan.studies.swing_results import SumpSwing


def swing_part(swings: Sequence[SumpSwing]) -> Text:
    """Each sump in a line or two: how far it swings, and what it has room for."""
    return Text("\n".join(_words(swing) for swing in swings))


def _words(swing: SumpSwing) -> str:
    low, high = swing.low, swing.high
    needs = "its floor is at" if swing.need == swing.floor else "its lifts need"
    sill = "" if swing.overflow is None else f"its overflow stands at {level(swing.overflow)} m, "
    words = (
        f"{one_line(swing.element)}: {level(low.level)} m ({one_line(low.state)}) to "
        f"{level(high.level)} m ({one_line(high.state)}), a swing of {loss_mm(swing.swing)} mm "
        f"about {level(swing.usual)} m; {needs} {level(swing.need)} m, {sill}its wall top at "
        f"{level(swing.wall_top)} m."
    )
    if swing.spilled > 0.0:
        words += (
            f" What runs over at the highest is missing after it: {swing.spilled:.2f} m3; it then "
            f"falls to {level(swing.refilled)} m."
        )
    return words
