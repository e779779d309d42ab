"""Operating curves of airlifts on lift sheets: water by air, with band and peak.

Against the scalar referee; nothing here is a snapshot.
"""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest

from loopplan.report.lifts_json import lifts_csv, lifts_json
from loopplan.report.terminal_lifts import lifts_text
from loopplan.studies.lift_sheet_results import AirCurve
from tests.lift_loop import UP, air, device, lift, loss, study, water
from tests.referee import airlift as referee

FREE = 101325.0 / referee.R_DRY / 293.15
SHAFT = air("width: 1.6 m, outlet sill: 0.7 m, floor: -2 m")
TUBES = lift(
    "device: airlift, airlift: {kind: tube, bore: 150 mm, tubes: 12, injection depth: 2 m, "
    f"outlet level: {UP + 0.3} m, foot: 0 m, roughness: 0.0015 mm}}"
)


def curve(*changes: tuple[str, str]) -> AirCurve:
    found = device("airlift", *changes).curve
    assert found is not None
    return found


def test_each_edge_is_the_referees() -> None:
    found = curve(SHAFT)
    sizes = referee.ShaftSizes(UP + 2.0, 2.0, 2.0, 1.6, 0.5, 0.5, 2.7, 0.3)
    assert found.lift == pytest.approx(0.3, abs=1e-6)
    for i in (3, 10):
        mass = found.air[i] * FREE
        least, value, most = (
            referee.shaft(sizes, rung, water()).water_moved(mass, 1e-6, 2.0)
            for rung in (2.0, 1.0, 0.0)
        )
        told = found.water[i]
        # The lift of the loop is solved to about 1e-6 m.
        assert (told.least, told.value, told.most) == pytest.approx((least, value, most), rel=1e-4)


def test_water_rises_to_its_peak_and_falls_behind() -> None:
    found = curve(TUBES)
    assert found.peaks
    flows = np.array([band.value for band in found.water])
    top = int(flows.argmax())
    assert (np.diff(flows[: top + 1]) >= 0.0).all() and (np.diff(flows[top:]) < 0.0).all()
    assert flows[top] <= found.peak_water.value * (1.0 + 1e-9)
    assert found.peak_air.value == pytest.approx(0.5 * found.air[-1], rel=1e-9)
    one = referee.tube(0.15, 2.0, 0.3, water())
    at_peak, less, more = (
        12.0 * one.water_moved(x * found.peak_air.value * FREE / 12.0, 1e-5, 0.5)
        for x in (1.0, 0.9, 1.1)
    )
    assert found.peak_water.value == pytest.approx(at_peak, rel=1e-5)
    assert less < at_peak and more < at_peak
    assert found.peak_gas > 0.0


def test_the_peak_is_named_or_said_to_lie_beyond_the_data() -> None:
    for changes, words in (((TUBES,), "its water has a peak at"), ((SHAFT,), "no peak of its")):
        text = " ".join(lifts_text(study(*changes), 200).split())
        assert words in text
        assert "where two air flows move one water flow, the smaller is told" in text
    assert "beyond the data, which end at 0.4 m/s" in text


def test_more_air_than_at_the_peak_is_told() -> None:
    peak = curve(TUBES).peak_air.value * 3600.0
    by_air = (
        TUBES[0],
        TUBES[1]
        .replace("flow: 1000 m3/h, ", "")
        .replace("kind: tube", f"kind: tube, air: {1.5 * peak} m3/h, injection level: -1 m"),
    )
    words = "its air is past that peak"
    assert words in " ".join(lifts_text(study(by_air), 200).split())
    assert words not in " ".join(lifts_text(study(TUBES), 200).split())


def test_documents_hold_the_curve() -> None:
    found = curve(SHAFT)
    told = json.loads(lifts_json(study(SHAFT)))["lifts"][0]["devices"]
    assert told[1]["operating_points"] is None and told[1]["operating_curve"] is None
    rows = list(csv.DictReader(io.StringIO(lifts_csv(study(SHAFT))["operating_curves.csv"])))
    for point, row, at, band in zip(
        told[0]["operating_points"], rows, found.air, found.water, strict=True
    ):
        assert point["air_m3_s"] == float(row["air_m3_s"]) == pytest.approx(at, rel=1e-8)
        assert point["water_m3_s"]["most"] == float(row["water_m3_s: most"])
        assert point["water_m3_s"]["value"] == pytest.approx(band.value, rel=1e-8)
    peak = told[0]["operating_curve"]["peak_water_m3_s"]["value"]
    assert peak == pytest.approx(found.peak_water.value, rel=1e-8)


def test_an_airlift_that_cannot_be_has_no_curve() -> None:
    assert device("airlift", SHAFT, loss(2.4)).curve is None
