"""The air need of a shaft against its outlet half, as an SVG chart."""

from __future__ import annotations

from loopplan.report.charts import Axis, Chart, Line, Mark, Panel, Point, Shade, svg
from loopplan.report.numbers import digits, flow_m3_h
from loopplan.report.shaft_words import FREE_AIR, ends, ratio_axis, shaft_in_words
from loopplan.report.words import NOT_VALIDATED
from loopplan.studies.shaft_results import NeedCurve, ShaftStudy


def shaft_svg(study: ShaftStudy) -> str:
    """Return the chart: one panel for each lift, with its band, its least and the practice."""
    areas = [area for area, _ in study.curves[0].points]
    low, high = study.practice
    flow = flow_m3_h(study.case.flow)
    return svg(
        Chart(
            f"Air need of a channel airlift at {flow} m3/h",
            "Volumes of free air per volume of water against the plan area of the outlet half, on "
            f"logarithmic axes. {' '.join(_least(curve) for curve in study.curves)} The range of "
            f"practice, {low:g} to {high:g}, is shaded.",
            Axis("plan area of the outlet half", "m2", areas[0], areas[-1], log=True),
            ratio_axis(study),
            tuple(_panel(curve) for curve in study.curves),
            Shade(low, high, f"practice {low:g} to {high:g} (installed, with margin)"),
            (
                "Line: expected need, without margin. Band: least to most by the published "
                f"closures. Air is {FREE_AIR}. {NOT_VALIDATED.capitalize()}; nothing is tuned.",
                shaft_in_words(study.case),
            ),
        )
    )


def _panel(curve: NeedCurve) -> Panel:
    points = tuple(Point(a, ends(b)[0], b.expected, ends(b)[1]) for a, b in curve.points)
    marks = []
    area, ratio = curve.least.outlet_half.expected, curve.least.air_to_water.expected
    if curve.least.found and area is not None and ratio is not None:
        marks = [Mark(area, ratio, f"least: {digits(ratio, 2)} at {digits(area, 2)} m2")]
    return Panel(f"Lift {curve.lift:g} m", (Line(points, marks=tuple(marks)),))


def _least(curve: NeedCurve) -> str:
    area, ratio = curve.least.outlet_half.expected, curve.least.air_to_water.expected
    if not curve.least.found or area is None or ratio is None:
        return f"Lift {curve.lift:g} m: no least within what was searched."
    return f"Lift {curve.lift:g} m: least {digits(ratio, 2)} at {digits(area, 2)} m2."
