"""The chart of measured airlifts is that of the data and the model of today."""

from __future__ import annotations

from tests.airlift_chart import CHART, chart
from tests.physics.test_airlift_tube import CURVES


def test_chart_is_fresh_and_holds_every_point() -> None:
    text = chart()
    assert CHART.read_text(encoding="utf-8") == text, "run `python -m tests.airlift_chart`"
    points = sum(int((curve.gas_velocity < 3.0).sum()) for curve in CURVES)
    assert text.count('class="mark"') == points
