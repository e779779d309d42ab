"""The chart of every measured airlift point beside the model, for docs/background/airlifts.md.

python -m tests.airlift_chart      # writes docs/airlift-data.svg
"""

from __future__ import annotations

import numpy as np

from loopplan.physics.air import STANDARD, volume_flow
from loopplan.physics.airlift_solve import water_moved
from loopplan.physics.airlift_tube import GAS_IN_DATA
from loopplan.physics.two_phase_tubes import tube
from loopplan.report.charts import Axis, Chart, Line, Mark, Panel, Point, svg
from tests.physics.test_airlift_tube import CURVES, LAB, Curve
from tests.readme_blocks import ROOT

CHART = ROOT / "docs" / "airlift-data.svg"
_MOST_GAS = 3.0
"""Gas velocity [m/s] at which the chart ends: past the peaks of most curves."""
_STEPS = 40


def chart() -> str:
    """Return the chart as SVG text."""
    most = max(float((c.water / c.riser.area)[c.gas_velocity < _MOST_GAS].max()) for c in CURVES)
    return svg(
        Chart(
            "Airlift tubes: every measured point beside the model, untuned",
            "Water velocity against gas velocity in two laboratory tubes of 25 and 28 mm; dots are "
            "measured, lines are the model with one set of closures.",
            Axis("gas velocity, 20 degC and 101.325 kPa", "m/s", 0.0, _MOST_GAS),
            Axis("water velocity", "m/s", 0.0, 1.2 * most),
            tuple(_panel(curve) for curve in CURVES),
            None,
            (
                f"The range that is compared ends at {GAS_IN_DATA:g} m/s. Kassab et al. 2009 "
                "(25.4 mm) and Todoroki et al. 1973 (28.3 mm), digitised by third parties; the "
                "state of the air of the second is not known, so both are shown.",
            ),
        )
    )


def _panel(curve: Curve) -> Panel:
    area = float(curve.riser.area)
    per = area / float(volume_flow(1.0, STANDARD))
    gas = np.linspace(0.02, _MOST_GAS, _STEPS)
    flow = water_moved(curve.riser, LAB, gas * per, curve.lift, tube).flow / area
    line = tuple(Point(float(x), None, float(y), None) for x, y in zip(gas, flow, strict=True))
    seen = zip(curve.gas_velocity, curve.water / area, strict=True)
    marks = tuple(Mark(float(x), float(y), "") for x, y in seen if x < _MOST_GAS)
    paper = "Kassab" if curve.paper == "kassab2009" else "Todoroki"
    return Panel(f"{paper} {curve.name}", (Line(line, "", marks),))


if __name__ == "__main__":
    CHART.write_text(chart(), encoding="utf-8")
