"""Line charts with bands as SVG: written by hand, the same bytes each time, no fetched parts.

A chart is one or more panels that share their axes. Colours are told apart by people who are
colour-blind, lines also by their dashes; style follows the reader's choice of light or dark.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from xml.sax.saxutils import escape


@dataclass(frozen=True)
class Axis:
    """An axis: its title, its unit, its ends, and whether it runs in logarithms."""

    title: str
    unit: str
    low: float
    high: float
    log: bool = False

    def place(self, value: float) -> float:
        """Return where a value stands: 0 at the low end, 1 at the high one."""
        if self.log:
            return math.log(value / self.low) / math.log(self.high / self.low)
        return (value - self.low) / (self.high - self.low)

    def ticks(self) -> list[float]:
        """Return the values to write along it, round ones."""
        if self.log:
            first, last = math.floor(math.log10(self.low)), math.ceil(math.log10(self.high))
            steps = [m * 10.0**e for e in range(first, last + 1) for m in (1.0, 2.0, 5.0)]
        else:
            rough = (self.high - self.low) / 6.0
            size = 10.0 ** math.floor(math.log10(rough))
            step = next(m * size for m in (1.0, 2.0, 5.0, 10.0) if m * size >= rough)
            first, last = math.ceil(self.low / step), math.floor(self.high / step)
            steps = [k * step for k in range(first, last + 1)]
        slack = 1e-9 * abs(self.high)
        return [v for v in steps if self.low - slack <= v <= self.high + slack]

    @property
    def words(self) -> str:
        """Title and unit."""
        return f"{self.title} [{self.unit}]"


@dataclass(frozen=True)
class Point:
    """A point of a line with its band; None where there is no value."""

    x: float
    low: float | None
    y: float | None
    high: float | None


@dataclass(frozen=True)
class Mark:
    """A place on a line that is pointed out in words."""

    x: float
    y: float
    label: str


@dataclass(frozen=True)
class Line:
    """A line with its band. A label is written at its end."""

    points: tuple[Point, ...]
    label: str = ""
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class Panel:
    """A frame with lines in it."""

    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Shade:
    """A range of the upright axis that is shaded in every panel."""

    low: float
    high: float
    label: str


@dataclass(frozen=True)
class Chart:
    """A chart: panels that share their axes, and notes below them."""

    title: str
    description: str
    x: Axis
    y: Axis
    panels: tuple[Panel, ...]
    shade: Shade | None = None
    notes: tuple[str, ...] = ()


_PLOT_W, _PLOT_H = 380.0, 250.0
_LEFT, _TOP, _RIGHT, _BOTTOM = 64.0, 34.0, 16.0, 50.0
_HEAD, _NOTE = 46.0, 18.0
_LETTER = 7.8
"""Width to allow for a letter of the notes; fonts differ."""
_CELL_W, _CELL_H = _LEFT + _PLOT_W + _RIGHT, _TOP + _PLOT_H + _BOTTOM
_DASHES = ("none", "7 3", "2 3", "9 3 2 3")
_STYLE = """\
text{font:13px system-ui,sans-serif;fill:#1a1a1a}
.title{font-size:17px;font-weight:600}
.panel{font-weight:600}
.back{fill:#ffffff}
.frame{fill:none;stroke:#555555}
.grid{stroke:#dddddd}
.shade{fill:#e69f00;fill-opacity:.22}
.edge{stroke:#8a5f00;stroke-dasharray:5 4}
.line{fill:none;stroke-width:2.2}
.band{fill-opacity:.22;stroke:none}
.l0{stroke:#0072b2}.b0{fill:#0072b2}
.l1{stroke:#d55e00}.b1{fill:#d55e00}
.l2{stroke:#007a5a}.b2{fill:#007a5a}
.l3{stroke:#a6477e}.b3{fill:#a6477e}
.mark{fill:#1a1a1a;stroke:#ffffff}
.halo{paint-order:stroke;stroke:#ffffff;stroke-width:3px}
@media (prefers-color-scheme:dark){
text{fill:#eeeeee}
.back{fill:#16181c}
.frame{stroke:#aaaaaa}
.grid{stroke:#3a3d42}
.edge{stroke:#f0c052}
.l0{stroke:#56b4e9}.b0{fill:#56b4e9}
.l1{stroke:#ff9a4d}.b1{fill:#ff9a4d}
.l2{stroke:#2fc79c}.b2{fill:#2fc79c}
.l3{stroke:#e08dbb}.b3{fill:#e08dbb}
.mark{fill:#ffffff;stroke:#16181c}
.halo{stroke:#16181c}
}
"""
_COLOURS = 4


def svg(chart: Chart) -> str:
    """Return the chart as an SVG document."""
    columns = min(len(chart.panels), 2)
    rows = math.ceil(len(chart.panels) / 2)
    width = columns * _CELL_W
    room = int((width - 32.0) / _LETTER)
    notes = [line for note in chart.notes for line in textwrap.wrap(note, room)]
    height = _HEAD + rows * _CELL_H + _NOTE * len(notes) + 12.0
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'width="{width:.0f}" height="{height:.0f}" role="img" aria-labelledby="title desc">',
        f'<title id="title">{escape(chart.title)}</title>',
        f'<desc id="desc">{escape(chart.description)}</desc>',
        f"<style>\n{_STYLE}</style>",
        f'<clipPath id="plot"><rect width="{_PLOT_W:.0f}" height="{_PLOT_H:.0f}"/></clipPath>',
        f'<rect class="back" width="{width:.0f}" height="{height:.0f}"/>',
        _text(16.0, 28.0, chart.title, "title"),
    ]
    for number, panel in enumerate(chart.panels):
        row, column = divmod(number, 2)
        left, top = column * _CELL_W + _LEFT, _HEAD + row * _CELL_H + _TOP
        lines.append(f'<g transform="translate({left:.0f} {top:.0f})">')
        lines += _panel(chart, panel)
        lines.append("</g>")
    foot = _HEAD + rows * _CELL_H + 10.0
    lines += [_text(16.0, foot + _NOTE * k, note) for k, note in enumerate(notes)]
    return "\n".join([*lines, "</svg>", ""])


def _panel(chart: Chart, panel: Panel) -> Iterator[str]:
    yield _text(0.0, -10.0, panel.title, "panel")
    yield from _axes(chart)
    if chart.shade is not None:
        yield from _shade(chart)
    for number, line in enumerate(panel.lines):
        yield f'<g clip-path="url(#plot)">{_line(chart, line, number)}</g>'
    for line in panel.lines:
        yield from _labels(chart, line)
    yield f'<rect class="frame" width="{_PLOT_W:.0f}" height="{_PLOT_H:.0f}"/>'


def _axes(chart: Chart) -> Iterator[str]:
    for tick in chart.x.ticks():
        x = _PLOT_W * chart.x.place(tick)
        yield f'<path class="grid" d="M{x:.1f} 0V{_PLOT_H:.0f}"/>'
        yield _text(x, _PLOT_H + 18.0, f"{tick:g}", anchor="middle")
    for tick in chart.y.ticks():
        y = _height(chart, tick)
        yield f'<path class="grid" d="M0 {y:.1f}H{_PLOT_W:.0f}"/>'
        yield _text(-8.0, y + 4.0, f"{tick:g}", anchor="end")
    yield _text(0.5 * _PLOT_W, _PLOT_H + 38.0, chart.x.words, anchor="middle")
    middle = 0.5 * _PLOT_H
    yield (
        f'<text transform="translate(-46 {middle:.1f}) rotate(-90)" text-anchor="middle">'
        f"{escape(chart.y.words)}</text>"
    )


def _shade(chart: Chart) -> Iterator[str]:
    assert chart.shade is not None
    ends = (min(max(v, chart.y.low), chart.y.high) for v in (chart.shade.low, chart.shade.high))
    bottom, top = (_height(chart, value) for value in ends)
    yield (f'<rect class="shade" y="{top:.1f}" width="{_PLOT_W:.0f}" height="{bottom - top:.1f}"/>')
    for y in (bottom, top):
        yield f'<path class="edge" d="M0 {y:.1f}H{_PLOT_W:.0f}"/>'
    yield _text(6.0, top - 6.0, chart.shade.label, "halo")


def _line(chart: Chart, line: Line, number: int) -> str:
    colour, dash = number % _COLOURS, _DASHES[number % len(_DASHES)]
    parts = []
    for run in _runs(line.points, lambda p: p.low is not None and p.high is not None):
        there = [_xy(chart, p.x, p.high) for p in run]
        back = [_xy(chart, p.x, p.low) for p in reversed(run)]
        parts.append(f'<path class="band b{colour}" d="M{"L".join(there + back)}Z"/>')
    for run in _runs(line.points, lambda p: p.y is not None):
        path = "L".join(_xy(chart, p.x, p.y) for p in run)
        parts.append(f'<path class="line l{colour}" stroke-dasharray="{dash}" d="M{path}"/>')
    return "".join(parts)


def _labels(chart: Chart, line: Line) -> Iterator[str]:
    for mark in line.marks:
        x, y = _PLOT_W * chart.x.place(mark.x), _height(chart, mark.y)
        yield f'<path class="mark" d="M{x:.1f} {y - 6:.1f}l6 6-6 6-6-6z"/>'
        # Turned to the side that has room.
        anchor = "start" if x < 0.6 * _PLOT_W else "end"
        yield _text(x - (4.0 if anchor == "start" else -4.0), y + 22.0, mark.label, "halo", anchor)
    ends = [p for p in line.points if p.y is not None]
    if line.label and ends:
        y = _height(chart, ends[-1].y or 0.0)
        yield _text(_PLOT_W * chart.x.place(ends[-1].x) - 4.0, y - 8.0, line.label, "halo", "end")


def _runs(points: Iterable[Point], there: Callable[[Point], bool]) -> Iterator[list[Point]]:
    """Yield the stretches of two points and more that hold what is wanted."""
    run: list[Point] = []
    for point in points:
        if there(point):
            run.append(point)
            continue
        if len(run) > 1:
            yield run
        run = []
    if len(run) > 1:
        yield run


def _height(chart: Chart, value: float) -> float:
    return _PLOT_H * (1.0 - chart.y.place(value))


def _xy(chart: Chart, x: float, y: float | None) -> str:
    assert y is not None
    return f"{_PLOT_W * chart.x.place(x):.1f} {_height(chart, y):.1f}"


def _text(x: float, y: float, text: str, name: str = "", anchor: str = "") -> str:
    about = f' class="{name}"' if name else ""
    about += f' text-anchor="{anchor}"' if anchor else ""
    return f'<text x="{x:.1f}" y="{y:.1f}"{about}>{escape(text)}</text>'
