"""Tube airlifts against published measurements in 25 and 28 mm tubes, untuned.

Used: submergence ratio 0.57 and above, gas under 2 m/s (20 degC, 101.325 kPa, in the tube). One
set of closures for all of it. No table at the size of a farm could be reached.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from loopplan.physics._check import Array
from loopplan.physics.air import STANDARD, AirState, dry_mass_flow, volume_flow
from loopplan.physics.airlift_column import balance, site
from loopplan.physics.airlift_solve import (
    greatest_lift,
    least_air,
    operating_curve,
    peak_water,
    water_moved,
)
from loopplan.physics.airlift_tube import (
    BORES_IN_DATA,
    GAS_IN_DATA,
    SUBMERGENCE_IN_DATA,
    Tubes,
)
from loopplan.physics.two_phase_tubes import tube
from tests.validation_page import Published

DATA = Path(__file__).resolve().parent.parent / "data"
PAPERS = {
    "kassab2009": "Kassab, Kandil, Warda and Ahmed 2009, Int. J. Heat Fluid Flow 30:88-98 "
    "(third-party digitisation)",
    "todoroki1973": "Todoroki, Sato and Honda 1973, Bull. JSME 16:733-741 "
    "(third-party digitisation)",
}
LAB = site(20.0)


@dataclass(frozen=True)
class Curve:
    """One measured curve: water by dry air at one submergence, air taken at one state."""

    paper: str
    digitisation: str
    submergence_ratio: float
    state: str
    riser: Tubes
    lift: float
    dry_air: Array
    water: Array

    @property
    def name(self) -> str:
        return f"{self.digitisation}, submergence {self.submergence_ratio:g}, air {self.state}"

    @property
    def gas_velocity(self) -> Array:
        return np.asarray(volume_flow(self.dry_air, STANDARD) / self.riser.area)

    @property
    def ratio(self) -> Array:
        """Model over measured water, gas under 2 m/s."""
        used = self.gas_velocity < GAS_IN_DATA
        found = water_moved(self.riser, LAB, self.dry_air[used], self.lift, tube).flow
        return np.asarray(found / self.water[used])


def curves() -> list[Curve]:
    found = []
    for paper in PAPERS:
        with (DATA / f"airlift_{paper}.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
        groups: dict[tuple[str, float], list[dict[str, str]]] = {}
        for row in rows:
            which = (row["digitisation"], float(row["submergence_ratio"]))
            groups.setdefault(which, []).append(row)
        for (digitisation, ratio), group in groups.items():
            if ratio < SUBMERGENCE_IN_DATA:
                continue
            depth, lift = float(group[0]["submergence_m"]), float(group[0]["static_lift_m"])
            water = np.array([float(r["water_L_per_min"]) for r in group]) / 60e3
            if paper == "kassab2009":
                air = {"by mass": np.array([float(r["air_kg_per_h"]) for r in group]) / 3600.0}
            else:
                key = "air_m3_per_h_state_as_reported"
                volume = np.array([float(r[key]) for r in group]) / 3600.0
                middle = AirState(20.0, float(LAB.pressure(0.5 * depth)))
                air = {
                    "free": dry_mass_flow(volume, STANDARD),
                    "at mean pressure": dry_mass_flow(volume, middle),
                }
            riser = Tubes(depth, float(group[0]["riser_id_m"]))
            found += [
                Curve(paper, digitisation, ratio, state, riser, lift, mass, water)
                for state, mass in air.items()
            ]
    return found


CURVES = curves()
IDS = [f"{c.paper} {c.name}" for c in CURVES]


@pytest.mark.parametrize("curve", CURVES, ids=IDS)
def test_water_by_air(published: Published, curve: Curve) -> None:
    # No error is stated with the data; two laboratories differ by 30 % and more at low air. The
    # tolerances say how far off the untuned model is, rounded up; `test_misses_are_those_of...`
    # holds it to what a plain drift-flux column, worked out apart from this one, misses by.
    if curve.paper == "kassab2009":
        median, worst = ("25 %", "30 %") if curve.submergence_ratio < 0.6 else ("60 %", "135 %")
    else:
        median, worst = ("25 %", "45 %") if curve.state == "free" else ("10 %", "55 %")
    ratio = curve.ratio
    assert ratio.size >= 4
    far = ratio[np.argmax(np.abs(np.log(ratio)))]
    for what, value, tolerance in (("median", np.median(ratio), median), ("worst", far, worst)):
        published(
            "AL1", PAPERS[curve.paper], f"water, model over measured, {what}; {curve.name}",
            1.0, value, tolerance, "-", "read",
        )  # fmt: skip


def test_the_stated_range_is_that_of_the_data() -> None:
    assert {c.riser.diameter for c in CURVES} == set(BORES_IN_DATA)
    assert min(c.submergence_ratio for c in CURVES) == SUBMERGENCE_IN_DATA


def test_misses_are_those_of_a_plain_column() -> None:
    # A plain drift-flux column (C0 1.2, Taylor bubbles, Blasius) was worked out apart from this
    # core; ranges of model over measured. 0.12: other friction and acceleration terms.
    spread = 0.12
    for curve in CURVES:
        ratio = curve.ratio
        if curve.paper == "kassab2009":
            low, high = (1.17, 1.24) if curve.submergence_ratio < 0.6 else (1.24, 2.24)
        elif curve.state == "free":
            low, high = 0.56, 1.05
        else:
            assert 1.35 - spread < ratio[0] < 1.45 + spread
            ratio, low, high = ratio[1:], 0.84, 1.08
        assert low - spread < ratio.min() and ratio.max() < high + spread, curve.name


PEAKS = [c for c in CURVES if c.state != "at mean pressure"]


@pytest.mark.parametrize("curve", PEAKS, ids=[f"{c.paper} {c.name}" for c in PEAKS])
def test_peaks(published: Published, curve: Curve) -> None:
    # Beyond the range of the closure, and of farms (2 to 3 m/s of gas). The water at the peak does
    # not hang on the state of the air.
    peak = peak_water(curve.riser, LAB, curve.lift, tube)
    assert peak.inside
    published(
        "AL2", PAPERS[curve.paper],
        f"most water; {curve.digitisation}, submergence {curve.submergence_ratio:g}",
        float(curve.water.max() * 60e3), peak.flow * 60e3, "35 %", "L/min", "read",
    )  # fmt: skip


@pytest.mark.parametrize("paper", PAPERS)
def test_water_rises_with_submergence(paper: str) -> None:
    same = [c for c in CURVES if c.paper == paper and c.state != "free" and c.digitisation == "A"]
    same.sort(key=lambda c: c.submergence_ratio)
    assert len(same) >= 2
    # At fixed air; measured values on straight lines between the points.
    lowest = max(c.dry_air.min() for c in same)
    air = np.linspace(
        lowest, 1.5 / 2.0 * same[0].dry_air[same[0].gas_velocity < GAS_IN_DATA].max(), 20
    )
    model = [water_moved(c.riser, LAB, air, c.lift, tube).flow for c in same]
    measured = [np.interp(air, c.dry_air, c.water) for c in same]
    assert (np.diff(model, axis=0) > 0).all()
    assert (np.diff(measured, axis=0) > 0).all()


@pytest.mark.parametrize("curve", CURVES, ids=IDS)
def test_water_rises_with_air(curve: Curve) -> None:
    gas = np.linspace(0.1, 1.5, 30) * curve.riser.area
    model = water_moved(curve.riser, LAB, dry_mass_flow(gas, STANDARD), curve.lift, tube).flow
    # Under some air nothing moves; from there on it rises.
    assert (np.diff(model) >= 0).all() and (np.diff(model[model > 0.0]) > 0).all()
    assert model[3] > 0.0
    if curve.digitisation == "A":
        measured = curve.water[curve.gas_velocity < 1.5]
        assert (np.diff(measured) > 0).all()


def test_a_point_of_a_fish_farm_is_overpredicted() -> None:
    # Wurts, McNeill and Overhults 1994 (abstract): 76 mm, 1.85 m long, 0.80 m deep, 71 L/min of
    # air (state not given) move 111 L/min. The height of the outlet is not given, so this is no
    # check, but a warning: without any lift the ideal tube moves more than twice that.
    riser = Tubes(0.80, 0.076, foot_length=1.05)
    air = dry_mass_flow(0.071 / 60.0, STANDARD)
    assert 2.0 < water_moved(riser, LAB, air, 0.0, tube).flow * 60e3 / 111.0 < 3.0


def test_a_bank_is_its_tubes() -> None:
    one, many = Tubes(1.0, 0.1), Tubes(1.0, 0.1, count=8)
    air = 2e-3
    single = water_moved(one, LAB, air, 0.1, tube).flow
    assert water_moved(many, LAB, 8 * air, 0.1, tube).flow == pytest.approx(8 * single, rel=1e-9)
    need = least_air(many, LAB, 8 * single, 0.1, tube)
    assert need.dry_air == pytest.approx(8 * air, rel=1e-9)


def test_head_saved_by_gas_is_lift_and_losses() -> None:
    # Closed form: the balance of heads.
    riser = Tubes(1.5, 0.15, count=3, foot_length=0.4, discharge_k=0.5)
    need = least_air(riser, LAB, 0.02, 0.2, tube)
    found = balance(riser, LAB, 0.02, need.dry_air, 0.2, tube)
    assert need.possible
    assert 0.2 + sum(found.losses.values()) == pytest.approx(found.saved, abs=1e-12)
    assert all(loss > 0.0 for loss in found.losses.values())
    # Closed form: the water goes through what the gas leaves free.
    velocity = 0.02 / 3.0 / (riser.area * (1.0 - found.fraction_top))
    assert found.losses["discharge fittings"] == pytest.approx(
        0.5 * velocity**2 / (2.0 * 9.80665), rel=1e-12
    )


def test_losses_cost_water() -> None:
    plain = Tubes(1.5, 0.1)
    air = 3e-3
    base = water_moved(plain, LAB, air, 0.15, tube).flow
    for worse in (
        Tubes(1.5, 0.1, foot_length=1.0),
        Tubes(1.5, 0.1, entry_k=1.0),
        Tubes(1.5, 0.1, discharge_k=1.0),
        Tubes(1.5, 0.1, roughness=1e-3),
        Tubes(1.4, 0.1),
    ):
        assert 0.0 < water_moved(worse, LAB, air, 0.15, tube).flow < base
    stalled = float(greatest_lift(plain, LAB, 0.0, air, tube))
    assert not water_moved(plain, LAB, air, stalled + 1e-3, tube).moves


def test_a_tube_has_two_air_flows_for_one_water_flow() -> None:
    riser = Tubes(1.5, 0.05)
    peak = peak_water(riser, LAB, 0.2, tube)
    assert peak.inside
    flow = 0.95 * float(peak.flow)
    least = float(least_air(riser, LAB, flow, 0.2, tube).dry_air)
    assert least < peak.dry_air
    assert water_moved(riser, LAB, least, 0.2, tube).flow == pytest.approx(flow, rel=1e-9)
    curve = operating_curve(riser, LAB, 0.2, tube)
    assert curve.flow.max() == pytest.approx(peak.flow, rel=2e-3) and curve.flow[0] == 0.0
    assert curve.flow.max() <= peak.flow
    assert curve.dry_air[-1] == pytest.approx(2.0 * peak.dry_air, rel=1e-12)
    assert curve.peak.flow == peak.flow
    # Far beyond the peak there is as little water again.
    assert water_moved(riser, LAB, 20.0 * least, 0.2, tube).flow < flow
    assert not least_air(riser, LAB, 1.02 * float(peak.flow), 0.2, tube).possible


def test_lift_costs_wide_tubes_more() -> None:
    # Sign reported by Parker and Suttle 1987 (abstract): at like gas velocity lift takes a
    # larger share of the water in wide tubes than in narrow ones.
    def share(diameter: float) -> float:
        riser = Tubes(1.0, diameter)
        air = dry_mass_flow(0.4 * riser.area, STANDARD)
        flows = [water_moved(riser, LAB, air, lift, tube).flow for lift in (0.0, 0.05)]
        return float(flows[1] / flows[0])

    assert share(0.0375) > share(0.1) > share(0.3)
