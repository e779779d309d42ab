"""The study of a shaft: its numbers are those of the physics, its least is one, it refuses well."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from itertools import pairwise

import numpy as np
import pytest

from loopplan.errors import Refused
from loopplan.findings import FINDING_KINDS
from loopplan.physics.air import STANDARD, dry_mass_flow, inlet_state, volume_flow
from loopplan.physics.airlift_band import air_band, edge_closure, lift_band, water_band
from loopplan.physics.airlift_column import balance, site
from loopplan.physics.airlift_practice import (
    PRACTICE_AREAS,
    PRACTICE_LIFTS,
    best_outlet_area,
    from_practice,
    practice_shaft,
    practice_table,
)
from loopplan.physics.airlift_shaft import shaft_state
from loopplan.physics.airlift_solve import peak_water
from loopplan.physics.constants import GRAVITY
from loopplan.physics.two_phase_ladder import graded
from loopplan.studies.shaft_results import Band, ShaftCase
from tests.shaft_cases import HOPELESS, PRACTICE, SMALL, studied

FARM = site(15.0)
EXPECTED = partial(graded, 1.0)
"""With diffusers over the whole plan."""


def edges(band: Band) -> tuple[float | None, ...]:
    """Return a band in the order of the physics: least air, expected, most air."""
    return (band.least_air, band.expected, band.most_air)


# --- the table ---------------------------------------------------------------------------


def test_table_is_that_of_the_physics() -> None:
    rows = practice_table(FARM, PRACTICE.flow)
    cells = studied(PRACTICE).cells
    assert [(c.lift, c.outlet_half) for c in cells] == [
        (lift, area) for lift in PRACTICE_LIFTS for area in PRACTICE_AREAS
    ]
    for cell, row in zip(cells, rows, strict=True):
        assert edges(cell.air_to_water) == row.air_to_water
        assert edges(cell.deviation) == row.deviation
        assert cell.deviation.expected == from_practice(cell.air_to_water.expected or 0.0)


def test_table_of_another_shaft() -> None:
    case = replace(
        SMALL, depth=4.2, dry_reserve=0.7, diffusers=0.6, gap=0.4, coverage=0.5,
        temperature=8.0, salinity=30.0, altitude=400.0,
    )  # fmt: skip
    place = site(8.0, 30.0, 400.0)
    for cell in studied(case).cells:
        shaft = practice_shaft(
            cell.outlet_half, cell.lift, inlet_area=3.0, depth=4.2, dry_reserve=0.7,
            diffuser_height=0.6, partition_gap=0.4,
        )  # fmt: skip
        assert (shaft.inlet_level, shaft.submergence) == pytest.approx((3.5, 2.9))
        need = air_band(shaft, place, case.flow, cell.lift, 0.5)
        ratio = volume_flow(need.dry_air, STANDARD) / case.flow
        assert edges(cell.air_to_water) == pytest.approx(tuple(ratio), rel=1e-9)
        found = balance(shaft, place, case.flow, need.dry_air[1], cell.lift, partial(graded, 1.5))
        state = shaft_state(shaft, place, case.flow, found)
        assert cell.reserve == pytest.approx(float(state.reserve), abs=1e-9)
        assert cell.down == pytest.approx(case.flow / 3.0, rel=1e-12)


def test_where_no_air_does_it_the_shortage_is_told() -> None:
    study = studied(HOPELESS)
    tight, wide = study.cells
    assert tight.air_to_water == Band(None, None, None)
    assert tight.deviation == Band(None, None, None)
    assert all(short is not None and short > 0.0 for short in edges(tight.short))
    # The wider half comes nearer.
    assert (wide.short.expected or 0.0) < (tight.short.expected or 0.0)
    assert tight.reserve is None and tight.gas_velocity is None
    assert study.operation.at_work is None


def test_remarks_follow_the_numbers() -> None:
    study = studied(PRACTICE)
    for cell in study.cells:
        held = set(cell.remarks)
        assert held <= FINDING_KINDS.keys()
        # Common practice, no source: workable up to 0.5 m, none above 0.7 m.
        assert study.lift_limits == (0.5, 0.7)
        assert ("airlift-lift-limit" in held) == (cell.lift > 0.5)
        assert cell.reserve is not None and cell.gas_velocity is not None
        assert ("airlift-bulks-over" in held) == (cell.reserve < 0.0)
        assert ("bubbles-carried-under" in held) == (cell.down > study.bubble_rise)
        assert ("airlift-beyond-data" in held) == (cell.gas_velocity > study.gas_in_data)
        assert "diffusers-below-partition" not in held
        # Gas stands the mixture higher than the water alone, which stands at 3.0 m and the lift.
        assert cell.reserve < 0.5 - cell.lift
    low = studied(replace(SMALL, diffusers=0.3))
    assert all("diffusers-below-partition" in cell.remarks for cell in low.cells)


# --- air against the outlet half ---------------------------------------------------------


@pytest.mark.parametrize("number", range(4))
def test_least_air_is_a_minimum_with_two_branches(number: int) -> None:
    curve = studied(PRACTICE).curves[number]
    area, least = curve.least.outlet_half.expected, curve.least.air_to_water.expected
    assert curve.least.found and area is not None and least is not None
    held = [(a, b.expected) for a, b in curve.points if b.expected is not None]
    left = [air for a, air in held if a < area]
    right = [air for a, air in held if a > area]
    assert len(left) >= 5 and len(right) >= 5
    # Falling to it from the left (losses), rising from it to the right (slip).
    assert all(before > after for before, after in pairwise([*left, least]))
    assert all(before < after for before, after in pairwise([least, *right]))
    assert edges(curve.least.band)[1] == pytest.approx(least, rel=1e-9)


@pytest.mark.parametrize("number", range(4))
def test_left_branch_is_losses_and_right_branch_is_slip(number: int) -> None:
    curve = studied(PRACTICE).curves[number]
    best = curve.least.outlet_half.expected or 0.0

    def state(area: float) -> tuple[float, float]:
        shaft = practice_shaft(area, curve.lift)
        need = air_band(shaft, FARM, PRACTICE.flow, curve.lift, 1.0)
        found = balance(shaft, FARM, PRACTICE.flow, need.dry_air[1], curve.lift, EXPECTED)
        slip = found.gas_velocity_top / found.fraction_top - found.water_velocity / (
            1.0 - found.fraction_top
        )
        return float(sum(found.losses.values())), float(slip / found.water_velocity)

    (loss_left, slip_left), (loss, slip), (loss_right, slip_right) = (
        state(share * best) for share in (0.6, 1.0, 4.0)
    )
    assert loss_left > loss > loss_right
    assert slip_left < slip < slip_right


def test_least_air_is_that_of_the_physics() -> None:
    for curve in studied(PRACTICE).curves:
        for rung, area, air in zip(
            (0.0, 1.0, 2.0), edges(curve.least.outlet_half), edges(curve.least.air_to_water),
            strict=True,
        ):  # fmt: skip
            best = best_outlet_area(
                partial(practice_shaft, lift=curve.lift),
                FARM, PRACTICE.flow, curve.lift, partial(graded, rung),
            )  # fmt: skip
            # Two searches of a flat least.
            assert area == pytest.approx(float(best.area), rel=1e-3)
            ratio = float(volume_flow(best.dry_air, STANDARD)) / PRACTICE.flow
            assert air == pytest.approx(ratio, rel=1e-6)


def test_more_lift_takes_more_air_everywhere() -> None:
    curves = studied(PRACTICE).curves
    for low, high in pairwise(curves):
        for (_, below), (_, above) in zip(low.points, high.points, strict=True):
            if below.expected is not None and above.expected is not None:
                assert below.expected < above.expected


# --- water against air -------------------------------------------------------------------


def test_operating_curve_is_that_of_the_physics() -> None:
    run = studied(PRACTICE).operation
    assert (run.lift, run.outlet_half) == (0.2, 0.5)
    shaft = practice_shaft(0.5, 0.2)
    air = dry_mass_flow(np.array([point.air for point in run.points]), STANDARD)
    assert air[0] == 0.0 and (np.diff(air) > 0).all()
    moved = water_band(shaft, FARM, air, 0.2, 1.0).flow
    stalls = lift_band(shaft, FARM, 0.0, air, 1.0)
    for k, point in enumerate(run.points):
        assert edges(point.water) == pytest.approx(tuple(moved[:, k]), abs=1e-9)
        assert edges(point.stall) == pytest.approx(tuple(stalls[:, k]), abs=1e-9)
    wide = replace(shaft, most_gas=run.peak.most_gas)
    peak = peak_water(wide, FARM, 0.2, edge_closure(1.0))
    assert run.peak.found and peak.inside.all()
    assert edges(run.peak.water) == pytest.approx(tuple(peak.flow), rel=1e-9)
    assert edges(run.peak.air) == pytest.approx(
        tuple(volume_flow(peak.dry_air, STANDARD)), rel=1e-9
    )


@pytest.mark.parametrize("case", [PRACTICE, SMALL, HOPELESS], ids=["practice", "small", "short"])
def test_water_rises_to_the_peak_and_falls_past_it(case: ShaftCase) -> None:
    run = studied(case).operation
    assert run.peak.found
    water = np.array([point.water.expected or 0.0 for point in run.points])
    before = np.array([point.air for point in run.points]) < run.peak.point.air
    top = run.peak.water.expected or 0.0
    assert (np.diff(water[before]) > -1e-9).all()
    # The top is flat, and at tens of metres a second a closure that takes over makes a second
    # one that is as high within half a per cent.
    assert water[~before].min() < top
    assert water.max() <= 1.005 * top
    assert run.peak.point.water.expected == pytest.approx(top, rel=1e-9)
    # The more gas the column holds, the higher it stands.
    stalls = [point.stall.expected or 0.0 for point in run.points]
    assert (np.diff(stalls) > 0.0).all()


def test_at_work_heads_and_energies_close() -> None:
    for case in (PRACTICE, SMALL, replace(SMALL, coverage=0.4, altitude=900.0)):
        run = studied(case).operation
        work = run.at_work
        assert work is not None
        point = work.point
        assert point.water.expected == pytest.approx(case.flow, rel=1e-9)
        # Closed form: the head saved by gas is the lift and every loss.
        losses = sum(loss for _, loss in work.losses)
        assert work.driving_head == pytest.approx(run.lift + losses, abs=1e-6)
        # Closed form: free, normal and drawn air are one mass.
        mass = float(dry_mass_flow(point.air, STANDARD))
        assert work.air_normal / point.air == pytest.approx(273.15 / 293.15, rel=1e-9)
        drawn = inlet_state(case.altitude)
        assert work.air_inlet == pytest.approx(float(volume_flow(mass, drawn)), rel=1e-9)
        # Closed form: power of lifting water over power from the mains, and power over flow.
        place = site(case.temperature, case.salinity, case.altitude)
        weight = float(np.asarray(place.water_density)) * GRAVITY * case.flow
        assert point.wire_efficiency == pytest.approx(weight * run.lift / point.wire_power)
        assert point.wire_energy == pytest.approx(point.wire_power / case.flow)
        ratio = point.total_efficiency / point.static_efficiency
        assert ratio == pytest.approx(work.driving_head / run.lift, rel=1e-9)
        assert 0.0 < point.wire_efficiency < point.static_efficiency < point.total_efficiency < 1
        # Closed form: diffusers under the two levels.
        column = case.depth - case.dry_reserve - case.diffusers
        assert work.submergence_ratio == pytest.approx(column / (column + run.lift), rel=1e-12)
        assert work.injection_head < column
        assert (point.stall.expected or 0.0) > run.lift


def test_pressures_of_practice() -> None:
    # Common practice, no source: 2.5 m of water give 3.0 m near and 3.5 m far.
    run = studied(PRACTICE).operation
    assert (run.rule_near, run.rule_far) == pytest.approx((3.0, 3.5))


# --- refusals ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"diffusers": 3.0}, "--diffusers"),
        ({"diffusers": 2.6}, "--diffusers"),
        ({"gap": 0.0}, "--gap"),
        ({"gap": 3.1}, "--gap"),
        ({"dry_reserve": 3.5}, "--dry-reserve"),
        ({"coverage": 1.2}, "--coverage"),
        ({"coverage": 0.0}, "--coverage"),
        ({"flow": 0.0}, "--flow"),
        ({"depth": 30.0}, "--depth"),
        ({"temperature": -3.0}, "--temperature"),
        ({"salinity": 60.0}, "--salinity"),
        ({"altitude": 9000.0}, "--altitude"),
        ({"lifts": ()}, "--lift"),
        ({"lifts": (0.0,)}, "--lift"),
        ({"lifts": (4.0,)}, "--lift"),
        ({"lifts": tuple(0.1 + 0.01 * k for k in range(13))}, "--lift"),
        ({"outlet_halves": (0.0,)}, "--outlet-half"),
        ({"inlet_half": 0.0}, "--inlet-half"),
    ],
)
def test_what_cannot_work_is_refused_with_a_cure(changes: dict, key: str) -> None:
    with pytest.raises(Refused) as refused:
        studied(replace(PRACTICE, **changes))
    assert [problem.key for problem in refused.value.problems] == [key]
    problem = refused.value.problems[0]
    assert problem.read and problem.message and problem.cure


def test_every_problem_is_told_at_once() -> None:
    with pytest.raises(Refused) as refused:
        studied(replace(PRACTICE, diffusers=3.2, gap=0.0, coverage=2.0))
    keys = {problem.key for problem in refused.value.problems}
    assert keys == {"--coverage", "--diffusers", "--gap"}


@pytest.mark.parametrize(
    "case",
    [
        replace(SMALL, flow=1.0 / 3600.0),
        replace(SMALL, flow=1e5 / 3600.0, outlet_halves=(1e4,)),
        replace(SMALL, depth=1.0, dry_reserve=0.0, lifts=(1.0,)),
        replace(SMALL, depth=20.0, dry_reserve=0.0, diffusers=0.0, altitude=5000.0),
        replace(SMALL, coverage=0.01, temperature=40.0, salinity=42.0),
    ],
    ids=["least flow", "most flow", "shallow", "deep and high", "poor coverage"],
)
def test_ends_of_what_is_allowed_give_numbers(case: ShaftCase) -> None:
    study = studied(case)
    values = [x for _, band in study.curves[0].points for x in edges(band) if x is not None]
    values += [point.water.expected or 0.0 for point in study.operation.points]
    assert np.isfinite(values).all() and min(values) >= 0.0
