"""Charts: SVG that stands alone and can be read by all, and ranges in plain characters."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from loopplan.report.charts import Axis, Chart, Line, Mark, Panel, Point, Shade, svg
from loopplan.report.text_chart import Range, range_chart

SVG = "{http://www.w3.org/2000/svg}"
X = Axis("area", "m2", 0.2, 10.0, log=True)
Y = Axis("air", "m3/h", 0.0, 120.0)


def chart(**changes: object) -> Chart:
    points = tuple(Point(x, 10.0 * x, 11.0 * x, 12.0 * x) for x in (0.5, 1.0, 2.0, 4.0, 8.0))
    line = Line(points, "a < b & c", (Mark(2.0, 22.0, "here"),))
    fields: dict = {
        "title": "Air & water", "description": "An invented chart.", "x": X, "y": Y,
        "panels": (Panel("one", (line, line)), Panel("two", (line,)), Panel("three", (line,))),
        "shade": Shade(40.0, 60.0, "usual"), "notes": ("A note. " * 40,),
    }  # fmt: skip
    return Chart(**{**fields, **changes})


# --- axes --------------------------------------------------------------------------------


@pytest.mark.parametrize("axis", [X, Y], ids=["log", "linear"])
def test_axis_runs_from_end_to_end(axis: Axis) -> None:
    assert axis.place(axis.low) == pytest.approx(0.0, abs=1e-12)
    assert axis.place(axis.high) == pytest.approx(1.0)
    places = [axis.place(tick) for tick in axis.ticks()]
    assert len(places) >= 3
    assert all(0.0 <= a < b <= 1.0 + 1e-9 for a, b in pairwise(places))


def test_ticks_are_round() -> None:
    # Closed form: 1, 2, 5 and powers of ten.
    assert X.ticks() == pytest.approx([0.2, 0.5, 1.0, 2.0, 5.0, 10.0])
    assert Y.ticks() == pytest.approx([0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0])
    assert Axis("", "", 0.0, 0.13).ticks() == pytest.approx([0.0, 0.05, 0.1])


def test_the_middle_of_a_log_axis_is_the_geometric_mean() -> None:
    assert X.place(math.sqrt(0.2 * 10.0)) == pytest.approx(0.5)


# --- SVG ---------------------------------------------------------------------------------


def test_svg_is_xml_with_name_and_description() -> None:
    root = ElementTree.fromstring(svg(chart()))
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    named = [root.find(f"*[@id='{name}']") for name in (root.get("aria-labelledby") or "").split()]
    assert [part.text for part in named if part is not None] == [
        "Air & water", "An invented chart.",
    ]  # fmt: skip


def test_svg_stands_alone() -> None:
    text = svg(chart())
    # The name of the format is no address that is fetched.
    rest = text.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert not re.search(r"https?:|href|@import|<script|<image|<foreignObject", rest)
    assert set(re.findall(r"url\((.*?)\)", rest)) == {"#plot"}


def test_svg_repeats_byte_for_byte() -> None:
    assert svg(chart()) == svg(chart())


def test_svg_serves_light_and_dark() -> None:
    style = ElementTree.fromstring(svg(chart())).findtext(f"{SVG}style") or ""
    light, dark = style.split("@media (prefers-color-scheme:dark){")
    for name in (".back", ".l0", ".l3", ".b0", "text", ".mark", ".frame"):
        assert f"{name}{{" in light and f"{name}{{" in dark


def test_axes_and_labels_are_written_in_every_panel() -> None:
    root = ElementTree.fromstring(svg(chart()))
    texts = [part.text for part in root.iter(f"{SVG}text")]
    for words in ("area [m2]", "air [m3/h]", "usual", "here"):
        assert texts.count(words) == (3 if words != "here" else 4)
    assert texts.count("a < b & c") == 4


def test_lines_are_told_apart_without_colour() -> None:
    root = ElementTree.fromstring(svg(chart()))
    lines = [p for p in root.iter(f"{SVG}path") if (p.get("class") or "").startswith("line")]
    assert len({line.get("stroke-dasharray") for line in lines}) == 2


def test_points_stand_where_the_axes_put_them() -> None:
    single = chart(panels=(Panel("one", (Line((Point(0.2, 0, 0, 0), Point(10, 0, 120, 120))),)),))
    root = ElementTree.fromstring(svg(single))
    frame = next(r for r in root.iter(f"{SVG}rect") if r.get("class") == "frame")
    line = next(p for p in root.iter(f"{SVG}path") if (p.get("class") or "").startswith("line"))
    numbers = [float(x) for x in re.findall(r"[\d.]+", line.get("d") or "")]
    width, height = float(frame.get("width") or 0), float(frame.get("height") or 0)
    assert numbers == pytest.approx([0.0, height, width, 0.0])


def test_a_gap_breaks_line_and_band() -> None:
    points = (
        Point(0.5, 1, 2, 3), Point(1, 1, 2, None), Point(2, None, None, None),
        Point(3, 1, 2, 3), Point(4, 1, 2, 3),
    )  # fmt: skip
    root = ElementTree.fromstring(svg(chart(panels=(Panel("", (Line(points),)),))))
    paths = [p.get("class") or "" for p in root.iter(f"{SVG}path")]
    assert sum(name.startswith("line") for name in paths) == 2
    assert sum(name.startswith("band") for name in paths) == 1


def test_all_texts_begin_within_the_picture() -> None:
    root = ElementTree.fromstring(svg(chart()))
    height = float(root.get("height") or 0)
    notes = [t for t in root.findall(f"{SVG}text") if "note." in (t.text or "")]
    assert len(notes) > 1
    assert all(0.0 < float(note.get("y") or 0) < height for note in notes)


# --- plain characters --------------------------------------------------------------------

ROWS = [
    Range("1", 10.0, 40.0, 80.0, " forty", "*"),
    Range("10", 20.0, 20.0, 20.0, " twenty"),
    Range("11", 30.0, 40.0, None, " open"),
    Range("12", None, None, None, " none"),
    Range("13", 100.0, 110.0, 500.0, " off"),
]


def test_ranges_stand_where_the_axis_puts_them() -> None:
    lines = range_chart(ROWS, Y, "m2", 80, (60.0,))
    assert max(len(line) for line in lines) <= 80
    assert all(line.isascii() for line in lines)
    plots = [line.split("|")[1] for line in lines[1:]]
    assert len({len(plot) for plot in plots}) == 1
    last = len(plots[0]) - 1

    def column(value: float) -> int:
        return round(Y.place(value) * last)

    first = plots[0]
    assert first.index("-") == column(10.0) and first.rindex("-") == column(80.0)
    assert first.index("o") == column(40.0)
    assert plots[1].strip(" :") == "o"
    assert plots[2].index("o") == column(40.0) and plots[2].index(">") == column(40.0) + 1
    assert plots[3].strip() == ":" and plots[3].index(":") == column(60.0)
    assert plots[4][last] == ">"
    assert lines[1].lstrip().startswith("*") and not lines[2].lstrip().startswith("*")
    assert [line.rsplit("|", 1)[1].strip() for line in lines[1:]] == [
        "forty", "twenty", "open", "none", "off",
    ]  # fmt: skip


def test_ticks_stand_over_their_columns() -> None:
    head, row = range_chart([Range("x", 100.0, 100.0, 100.0, "")], Y, "m2", 80)
    assert abs(head.index("100") + 1 - row.index("o")) <= 1
