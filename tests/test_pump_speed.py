"""Pumps below their speed, and the minimum efficiency index, on lift sheets.

Closed forms and a second solution by bracketing; nothing here is a snapshot.
"""

from __future__ import annotations

import json
import math

import pytest
from scipy.optimize import brentq

from loopplan.physics.minimum_efficiency import minimum_efficiency
from loopplan.report.lifts_json import lifts_csv, lifts_json
from loopplan.report.terminal_lifts import lifts_text
from loopplan.studies.lift_sheet_results import PumpPoint
from tests.lift_loop import CURVE, device, lift, study
from tests.referee.laws import curve

FLOW = 1000.0 / 3600.0
RISE = curve([(0.0, 0.9), (600.0 / 3600.0, 0.7), (FLOW, 0.5), (1300.0 / 3600.0, 0.3)])
CONVERTER = "motor: {drive: frequency converter}"
OVER = (
    "loss: 300 mm, flow: 1000 m3/h}",
    "points: [[0 m3/h, 250 mm], [500 m3/h, 300 mm], [1000 m3/h, 450 mm]]}",
)
"""A way back that takes 0.25 m at no flow already."""
BACK = curve([(-FLOW, -0.45), (-FLOW / 2.0, -0.3), (0.0, 0.25), (FLOW / 2.0, 0.3), (FLOW, 0.45)])


def stated(words: str, kind: str = "propeller pump") -> tuple[str, str]:
    return lift(f"device: {kind}, {kind}: {{{words}}}")


def test_flow_stops_where_the_curve_at_no_flow_is_as_high_as_the_levels() -> None:
    detail = device("propeller pump", stated(f"curve: {CURVE}"), OVER).states[0].detail
    assert isinstance(detail, PumpPoint)
    # Affinity: head at no flow goes with the square of the speed (0.9 m at full speed).
    assert detail.stop_share == pytest.approx(math.sqrt(0.45 / 0.9), rel=1e-6)


def test_at_less_speed_the_loop_is_solved_anew() -> None:
    found = device("propeller pump", stated(f"curve: {CURVE}, {CONVERTER}"), OVER)
    assert found.slower is not None and found.states[0].power is not None
    at_duty = found.slower[0]
    assert at_duty.flow == pytest.approx(FLOW, rel=1e-5)
    assert at_duty.power == pytest.approx(found.states[0].power.value, rel=1e-4)
    for row in found.slower[1:]:
        r = row.share
        if r * r * 0.9 < 0.25:
            assert row.flow == 0.0
            continue
        flow = brentq(lambda q, r=r: r * r * RISE(q / r) - BACK(q), 0.0, FLOW, xtol=1e-12)
        assert row.flow == pytest.approx(flow, rel=1e-3)
        cube = (r / at_duty.share) ** 3 * at_duty.power
        assert abs(row.power / cube - 1.0) > 0.03
    assert len(found.slower) >= 4
    flows = [row.flow for row in found.slower]
    assert flows == sorted(flows, reverse=True) and flows[-1] < 0.8 * flows[0]


def test_speed_is_spoken_of_only_where_a_converter_is_stated() -> None:
    plain, turned = (study(stated(f"curve: {CURVE}{x}"), OVER) for x in ("", f", {CONVERTER}"))
    assert device("propeller pump", stated(f"curve: {CURVE}"), OVER).slower is None
    assert "flow stops below" not in lifts_text(plain)
    text = " ".join(lifts_text(turned, 200).split())
    assert "flow stops below 71 % of full speed" in text
    assert "slowed by its converter, the loop solved anew" in text
    # Documents hold the speed at which flow stops in any case.
    rows = json.loads(lifts_json(plain))["lifts"][0]["devices"][1]
    assert rows["slower"] is None
    assert rows["states"][0]["pump"]["flow_stops_at_speed_share"] > 0.0
    told = json.loads(lifts_json(turned))["lifts"][0]["devices"][1]["slower"]
    assert len(lifts_csv(turned)["slower_pumps.csv"].splitlines()) == 1 + len(told)
    assert len(lifts_csv(plain)["slower_pumps.csv"].splitlines()) == 1


SMALL = (
    ("flow: 1000 m3/h}\nflow", "flow: 100 m3/h}\nflow"),
    ("loss: 300 mm", "loss: 20 m"),
    ("head box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 1.5 m}",
     "head box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 25 m}"),
)  # fmt: skip
"""100 m3/h at 20 m: a duty of small centrifugal pumps."""


def remarks(words: str) -> str:
    small = (
        "{kind: lift, flow: 1000 m3/h}",
        "{kind: lift, flow: 100 m3/h, device: centrifugal pump, centrifugal pump: {" + words + "}}",
    )
    detail = device("centrifugal pump", small, *SMALL).states[0].detail
    assert isinstance(detail, PumpPoint)
    return "; ".join(remark.words for remark in detail.remarks)


def test_the_index_is_asked_for_inside_its_range() -> None:
    # The setting is taken out of the head, so the duty is 100 m3/h at 20 m level to level.
    points = "curve: [[0 m3/h, 26 m], [100 m3/h, 20 m], [130 m3/h, 16 m]]"
    asked = minimum_efficiency("end suction, own bearing", 1450, 100.0 / 3600.0, 20.0)
    share = "efficiency: [[50 m3/h, 55 %], [100 m3/h, {} %], [130 m3/h, 60 %]]"
    good, poor = (remarks(f"speed: 1480 rpm, {points}, {share.format(x)}") for x in (85, 65))
    assert f"asks for {100.0 * asked:.0f} % at its best point" in good
    assert "it has 85 % and reaches that" in good
    assert "it has 65 % and stays below that" in poor


def test_outside_its_range_the_index_is_said_to_be_outside() -> None:
    assert "outside the range of the minimum efficiency index" in remarks("speed: 960 rpm")
    sealed = remarks("speed: 1450 rpm, design: vertical multistage")
    assert "are not near the nominal 2900" in sealed
