"""The calculation sheet: each head item so that it can be worked again by hand."""

from __future__ import annotations

from rich.console import Group
from rich.padding import Padding
from rich.text import Text

from loopplan.report.numbers import level, loss_mm, stated
from loopplan.report.words import one_line
from loopplan.studies.results import SheetLine

_FLOW = "flow of one unit"
_DRY = 1e-9
"""Flow [m3/s] below which nothing passes: what the solver leaves is less."""


def sheet_part(line: SheetLine) -> Group:
    """One head item: law, formula, inputs, notes, sources, result."""
    title = Text(f"{one_line(line.item)} ({one_line(line.state)}): {line.law}", "bold")
    inputs = ", ".join(
        f"{name} {stated(value)}" + (f" {unit}" if unit not in ("", "-") else "")
        for name, value, unit in line.inputs
    )
    verb, size = ("gains", -line.loss) if line.loss < 0.0 else ("loses", line.loss)
    dry = any(name == _FLOW and abs(value) < _DRY for name, value, _ in line.inputs)
    texts = [line.formula, f"with {inputs}" if inputs else ""]
    texts += [f"note: {one_line(note)}" for note in line.notes]
    texts.append(f"sources: {', '.join(line.sources)}" if line.sources else "")
    texts.append(
        f"head {level(line.head_before)} m before, {level(line.head_after)} m after: "
        + ("no water passes, and none of it is spent" if dry else f"{verb} {loss_mm(size)} mm")
    )
    return Group(title, *(Padding(Text(text), (0, 0, 0, 2)) for text in texts if text))
