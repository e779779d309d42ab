"""Acceptance grades of pumps."""

from __future__ import annotations

import numpy as np
import pytest

from loopplan.physics.curve_fit import curve_by_points, curve_value
from loopplan.physics.pump_grades import GRADES, grade_band, grade_tolerance

FALLING = ([0.0, 0.02, 0.04, 0.06], [12.0, 11.0, 8.5, 4.0])


# From memory, ISO 9906:2012.
@pytest.mark.parametrize(
    ("grade", "flow", "head"),
    [("1B", 0.05, 0.03), ("2B", 0.08, 0.05), ("3B", 0.09, 0.07)],
)
def test_grade_band_holds_the_curve(grade: str, flow: float, head: float) -> None:
    curve = curve_by_points(*FALLING)
    tolerance = grade_tolerance(grade, 20e3)
    assert tolerance.flow == (-flow, flow)
    assert tolerance.head == (-head, head)
    low, high = grade_band(curve, tolerance)
    at = np.linspace(0.0, 0.05, 30)
    middle = curve_value(curve, at)[0]
    assert (curve_value(low, at)[0] < middle).all()
    assert (curve_value(high, at)[0] > middle).all()
    # The corner of the guarantee box lies on the band.
    corner = curve_value(high, 0.03 * (1.0 + flow))[0]
    assert corner == pytest.approx((1.0 + head) * curve_value(curve, 0.03)[0])


def test_one_sided_grade_never_gives_less() -> None:
    curve = curve_by_points(*FALLING)
    low, _ = grade_band(curve, grade_tolerance("1U", 20e3))
    assert curve_value(low, 0.03) == curve_value(curve, 0.03)


def test_small_pumps_are_allowed_more() -> None:
    # From memory: 10(1 - P/10 kW) + 7 percent of efficiency, 10 % of flow, 8 % of head.
    tolerance = grade_tolerance("2B", 4e3)
    assert tolerance.flow == (-0.10, 0.10)
    assert tolerance.head == (-0.08, 0.08)
    assert tolerance.efficiency == pytest.approx(-0.13)
    assert grade_tolerance("2B", 10e3) == GRADES["2B"]


@pytest.mark.parametrize(("grade", "power"), [("4B", 1e3), ("1B", 0.0)])
def test_what_is_out_of_range_is_refused(grade: str, power: float) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        grade_tolerance(grade, power)
