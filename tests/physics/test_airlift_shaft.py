"""Channel airlifts: balance, signs, stall, levels, the practice table, the best area."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from loopplan.physics import airlift_column
from loopplan.physics.air import NORMAL, STANDARD, inlet_state, volume_flow
from loopplan.physics.airlift_band import (
    EDGES,
    air_band,
    air_by_closure,
    balance_band,
    edge_closure,
    lift_band,
    water_band,
)
from loopplan.physics.airlift_column import balance, site
from loopplan.physics.airlift_practice import (
    PRACTICE_AREAS,
    PRACTICE_LIFTS,
    best_outlet_area,
    from_practice,
    practice_shaft,
    practice_table,
)
from loopplan.physics.airlift_results import performance, stall
from loopplan.physics.airlift_shaft import (
    BUBBLE_RISE,
    Shaft,
    bulked_level,
    check_shaft,
    degassing_length,
    shaft_state,
)
from loopplan.physics.airlift_solve import (
    greatest_lift,
    least_air,
    operating_curve,
    peak_water,
    water_moved,
)
from loopplan.physics.constants import GRAVITY
from loopplan.physics.two_phase_ladder import graded

FARM = site(20.0)
FLOW = 1000.0 / 3600.0
CLOSURE = partial(graded, 1.0)
SHAFT = practice_shaft(2.0, 0.3)


def ratio(air: np.ndarray) -> np.ndarray:
    return np.asarray(volume_flow(air, STANDARD) / FLOW)


def test_head_saved_by_gas_is_lift_and_losses() -> None:
    # Closed form: the balance of heads.
    need = air_band(SHAFT, FARM, FLOW, 0.3, 0.8)
    found = balance_band(SHAFT, FARM, FLOW, need.dry_air, 0.3, 0.8)
    assert np.abs(found.margin).max() < 1e-12
    assert 0.3 + sum(found.losses.values()) == pytest.approx(found.saved, abs=1e-12)
    assert all((loss >= 0.0).all() for loss in found.losses.values())


def test_thin_column_without_losses_has_a_closed_form() -> None:
    # Closed form: no water flow, hardly any expansion, gas fraction from Zuber and Findlay by
    # hand. The sill is at the surface, so that all gas stands under it.
    shaft = replace(SHAFT, inlet_level=0.51, diffuser_height=0.5, partition_gap=0.1)
    jg = 0.05
    air = jg * 2.0 / FARM.gas_flow(1.0, FARM.atmosphere)
    alpha = jg / (1.2 * jg + 1.53 * FARM.phases.bubble_scale)
    alpha *= 1.0 - FARM.phases.density_ratio
    lift = 0.01 / (1.0 - alpha) - 0.01
    shaft = replace(shaft, sill_height=0.51 + lift)
    found = balance(shaft, FARM, 0.0, air, lift, partial(graded, 0.0))
    assert abs(float(found.margin)) < 1e-3 * float(lift)


def test_air_and_water_are_each_others_inverse() -> None:
    flow = np.array([0.05, 0.15, 0.3, 0.5])
    need = least_air(SHAFT, FARM, flow, 0.3, CLOSURE)
    assert need.possible.all()
    moved = water_moved(SHAFT, FARM, need.dry_air, 0.3, CLOSURE)
    assert moved.flow == pytest.approx(flow, rel=1e-9)
    assert greatest_lift(SHAFT, FARM, flow, need.dry_air, CLOSURE) == pytest.approx(0.3, abs=1e-9)


def test_signs() -> None:
    air = least_air(SHAFT, FARM, FLOW, 0.3, CLOSURE).dry_air

    def need(shaft: Shaft = SHAFT, flow: float = FLOW, lift: float = 0.3) -> float:
        return float(least_air(shaft, FARM, flow, lift, CLOSURE).dry_air)

    assert need(lift=0.35) > air
    assert need(flow=1.1 * FLOW) > air
    assert need(replace(SHAFT, partition_gap=0.3)) > air
    assert need(replace(SHAFT, roughness=0.02)) > air
    assert need(replace(SHAFT, diffuser_height=0.8)) > air
    assert need(replace(SHAFT, inlet_level=3.3, sill_height=3.1)) < air
    # Gas above the sill counts for half: a deep sill costs air.
    assert need(replace(SHAFT, sill_height=2.2)) > air


def test_band_and_coverage() -> None:
    coverage = np.array([1.0, 0.7, 0.4, 0.1, 0.0])
    air = air_band(SHAFT, FARM, FLOW, 0.3, coverage).dry_air
    assert air.shape == (len(EDGES), 5)
    assert (np.diff(air, axis=0) > 0).all()
    assert (np.diff(air, axis=1) > 0).all()
    # Without coverage each edge stands one rung further toward the plume.
    assert air[:2, 4] == pytest.approx(air[1:, 0], rel=1e-12)
    single = air_by_closure(SHAFT, FARM, FLOW, 0.3)
    assert air[0, 0] == pytest.approx(single["evenly spread"].dry_air, rel=1e-9)
    assert air[1, 0] == pytest.approx(single["large duct, uniform inlet"].dry_air, rel=1e-9)
    assert air[2, 0] == pytest.approx(single["circulating column"].dry_air, rel=1e-9)
    assert air[2, 4] == pytest.approx(single["plume"].dry_air, rel=1e-9)
    for name in ("large duct, cap bubbles", "small circulating column"):
        assert air[0, 0] < single[name].dry_air < air[2, 4]


def test_water_and_lift_bands_run_the_other_way() -> None:
    air = least_air(SHAFT, FARM, FLOW, 0.3, CLOSURE).dry_air
    water = water_band(SHAFT, FARM, air, 0.3, 1.0)
    assert water.flow[1] == pytest.approx(FLOW, rel=1e-9)
    # At the upper edge the very same air moves nothing.
    assert list(water.moves) == [True, True, False]
    assert water.flow[0] > FLOW and water.flow[2] == 0.0
    ample = water_band(SHAFT, FARM, 2.5 * air, 0.3, 1.0)
    assert ample.moves.all()
    assert (np.diff(ample.flow) < 0).all()
    lifts = lift_band(SHAFT, FARM, 0.0, air, 1.0)
    assert (np.diff(lifts) < 0).all()
    assert lifts[1] > 0.3


def test_practice_table() -> None:
    rows = practice_table(FARM, FLOW)
    assert [(r.lift, r.outlet_area) for r in rows] == [
        (lift, area) for lift in PRACTICE_LIFTS for area in PRACTICE_AREAS
    ]
    for row in rows:
        low, middle, high = row.air_to_water
        assert low is not None and middle is not None and high is not None
        assert 0.0 < low < middle < high
        for found, away in zip(row.air_to_water, row.deviation, strict=True):
            assert found is not None and away is not None
            # Closed form: what is taken off by the deviation lies in the range, or on its edge.
            assert 1.0 - 1e-12 <= found - away <= 1.5 + 1e-12
            assert (away == 0.0) == (1.0 <= found <= 1.5)
    # More lift takes more air, on every edge and for every area.
    by_lift = np.array([r.air_to_water for r in rows]).reshape(4, 5, 3)
    assert (np.diff(by_lift, axis=0) > 0).all()
    # Poorly covered plans take more.
    poor = np.array([r.air_to_water for r in practice_table(FARM, FLOW, 0.3)]).reshape(4, 5, 3)
    assert (poor > by_lift).all()


def test_practice_table_says_where_no_air_does_it() -> None:
    rows = practice_table(FARM, 20.0, areas=[0.5], lifts=[0.5])
    assert rows[0].air_to_water == (None, None, None)
    assert rows[0].deviation == (None, None, None)


@pytest.mark.parametrize(("found", "away"), [(0.4, -0.6), (1.0, 0.0), (1.3, 0.0), (2.1, 0.6)])
def test_distance_from_practice(found: float, away: float) -> None:
    assert from_practice(found) == pytest.approx(away, abs=1e-12)


@pytest.mark.parametrize("lift", PRACTICE_LIFTS)
@pytest.mark.parametrize("rung", [0.0, 1.0, 2.0])
def test_outlet_area_of_least_air(lift: float, rung: float) -> None:
    closure = partial(graded, rung)

    def air(area: float) -> float:
        need = least_air(practice_shaft(area, lift), FARM, FLOW, lift, closure)
        return float(need.dry_air) if need.possible else np.inf

    best = best_outlet_area(lambda a: practice_shaft(a, lift), FARM, FLOW, lift, closure)
    assert best.inside and best.possible
    area = float(best.area)
    # Left of it losses raise the air, right of it slip does: both branches slope away.
    left, right = [air(area * x) for x in (0.6, 0.8, 0.9)], [air(area * x) for x in (1.1, 1.5, 3)]
    assert left[0] >= left[1] > left[2] > best.dry_air
    assert best.dry_air < right[0] < right[1] < right[2]

    def losses(area: float) -> float:
        found = balance(practice_shaft(area, lift), FARM, FLOW, air(area), lift, closure)
        return float(sum(found.losses.values()))

    assert losses(0.8 * area) > losses(area) > losses(3.0 * area)


def test_best_area_of_a_batch_and_of_a_hopeless_case() -> None:
    lifts = np.array(PRACTICE_LIFTS)
    best = best_outlet_area(lambda a: practice_shaft(a, lifts), FARM, FLOW, lifts, CLOSURE)
    alone = best_outlet_area(lambda a: practice_shaft(a, 0.3), FARM, FLOW, 0.3, CLOSURE)
    assert best.area[1] == pytest.approx(alone.area, rel=1e-6)
    assert best.inside.all()
    # The more lift, the smaller the best outlet half.
    assert (np.diff(best.area) < 0).all()
    never = best_outlet_area(lambda a: practice_shaft(a, 12.0), FARM, FLOW, 12.0, CLOSURE)
    assert not never.possible and not never.inside
    # What is handed back then is the area that comes nearest.

    def short(area: float) -> float:
        return float(least_air(practice_shaft(area, 12.0), FARM, FLOW, 12.0, CLOSURE).short)

    assert short(float(never.area)) < min(short(area) for area in (0.1, 1.0, 10.0, 25.0))
    # Only areas right of the minimum: the smallest of them, which is none.
    edge = best_outlet_area(
        lambda a: practice_shaft(a, 0.3), FARM, FLOW, 0.3, CLOSURE, smallest=3.0
    )
    assert edge.possible and not edge.inside
    assert edge.area == pytest.approx(3.0, rel=1e-3)


def test_stall() -> None:
    air = least_air(SHAFT, FARM, FLOW, 0.3, CLOSURE).dry_air
    found = stall(SHAFT, FARM, air, 0.3, CLOSURE)
    assert found.flow == pytest.approx(FLOW, rel=1e-9)
    less = water_moved(SHAFT, FARM, air, 0.31, CLOSURE).flow
    assert found.flow_lost == pytest.approx(FLOW - less, rel=1e-9)
    assert found.flow_lost > 0.0
    assert found.margin == pytest.approx(found.lift - 0.3, abs=1e-12)
    # Just below that lift some water still moves, just above it none.
    assert water_moved(SHAFT, FARM, air, found.lift - 0.001, CLOSURE).moves
    above = water_moved(SHAFT, FARM, air, found.lift + 0.001, CLOSURE)
    assert not above.moves and above.flow == 0.0
    # More air, more margin; and a stalled airlift has lost its margin.
    assert stall(SHAFT, FARM, 1.2 * air, 0.3, CLOSURE).margin > found.margin
    gone = stall(SHAFT, FARM, 0.2 * air, 0.3, CLOSURE)
    assert gone.margin < 0.0 and gone.flow == gone.flow_lost == 0.0


def test_peak_of_a_shaft() -> None:
    # Friction is next to nothing in a shaft: flow rises as far as the closures reach.
    peak = peak_water(SHAFT, FARM, 0.3, CLOSURE)
    assert not peak.inside
    assert peak.flow > 2.0 * FLOW
    curve = operating_curve(SHAFT, FARM, np.array([0.2, 0.3]), CLOSURE, points=20)
    assert curve.flow.shape == curve.dry_air.shape == (20, 2)
    # The curve ends where the search does; it rises as soon as water moves.
    assert curve.flow[-1] == pytest.approx(curve.peak.flow, rel=1e-6)
    moving = curve.flow[1:] > 0.0
    assert (np.diff(curve.flow, axis=0)[moving] > 0).all()
    # With walls that drag there is a peak inside, and less water on either side of it.
    rough = replace(SHAFT, partition_width=0.05, roughness=0.01, inlet_area=4.0, turn_k=0.01,
                    sill_width=1.4)  # fmt: skip
    peak = peak_water(rough, FARM, 0.3, CLOSURE)
    assert peak.inside
    for factor in (0.7, 0.97, 1.03, 1.4):
        other = water_moved(rough, FARM, factor * peak.dry_air, 0.3, CLOSURE)
        assert other.flow < peak.flow
    # The smaller of two air flows for one water flow; above the peak there is none.
    need = least_air(rough, FARM, 0.99 * peak.flow, 0.3, CLOSURE)
    assert need.possible and need.dry_air < peak.dry_air
    close = least_air(rough, FARM, (1.0 - 1e-6) * peak.flow, 0.3, CLOSURE)
    assert close.possible
    over = least_air(rough, FARM, 1.01 * peak.flow, 0.3, CLOSURE)
    assert not over.possible and over.short > 0.0


def test_performance() -> None:
    inlet = inlet_state(500.0, 30.0, 0.6)
    need = least_air(SHAFT, FARM, FLOW, 0.3, CLOSURE)
    found = balance(SHAFT, FARM, FLOW, need.dry_air, 0.3, CLOSURE)
    what = performance(SHAFT, FARM, FLOW, need.dry_air, 0.3, found, inlet, 0.5, 3000.0)
    assert what.air_normal < what.air_standard < what.air_inlet
    assert what.air_normal == pytest.approx(volume_flow(need.dry_air, NORMAL), rel=1e-12)
    assert what.air_to_water == pytest.approx(ratio(need.dry_air), rel=1e-12)
    # Closed forms.
    assert what.submergence_ratio == pytest.approx(2.5 / 2.8, rel=1e-12)
    least = what.air_inlet * inlet.pressure * np.log(found.injection_pressure / inlet.pressure)
    assert what.isothermal_power == pytest.approx(least, rel=1e-12)
    lifted = FARM.water_density * GRAVITY * FLOW * 0.3
    assert what.static_efficiency == pytest.approx(lifted / least, rel=1e-12)
    assert what.total_efficiency / what.static_efficiency == pytest.approx(found.saved / 0.3)
    assert what.wire_efficiency < 0.5 * what.static_efficiency
    assert what.isothermal_energy * FLOW * 3600.0 == pytest.approx(least, rel=1e-12)
    assert what.wire_energy == pytest.approx(what.wire_power / FLOW / 3600.0, rel=1e-12)
    # Gas does no more work than isothermal expansion gives.
    assert 0.0 < what.static_efficiency < what.total_efficiency < 1.0


def test_performance_at_rest_is_no_nan() -> None:
    found = balance(SHAFT, FARM, 0.0, 0.0, 0.3, CLOSURE)
    what = performance(SHAFT, FARM, 0.0, 0.0, 0.3, found, STANDARD, 0.5)
    assert what.air_to_water == what.isothermal_energy == np.inf
    assert what.static_efficiency == 0.0


def test_levels_in_the_shaft() -> None:
    need = least_air(SHAFT, FARM, FLOW, 0.3, CLOSURE)
    found = balance(SHAFT, FARM, FLOW, need.dry_air, 0.3, CLOSURE)
    state = shaft_state(SHAFT, FARM, FLOW, found)
    # The mixture stands above the outlet level, by the gas over the sill and the outlet loss.
    assert 3.3 < state.bulked_level < 3.5
    assert state.reserve == pytest.approx(3.5 - state.bulked_level, rel=1e-12)
    assert state.carry_under == pytest.approx(FLOW / 2.0 / BUBBLE_RISE, rel=1e-12)
    assert state.diffuser_clearance == 0.0
    assert state.gas_reach == pytest.approx(found.gas_velocity_top / 0.4, rel=1e-12)
    assert shaft_state(replace(SHAFT, diffuser_height=0.4), FARM, FLOW, found
                       ).diffuser_clearance < 0.0  # fmt: skip
    # Closed form: equal thrust of mixture and water on the opening.
    alpha = float(found.fraction_top)
    still = bulked_level(SHAFT, 0.5 * np.sqrt(1.0 - alpha), alpha) - 2.8
    assert (1.0 - alpha) * still**2 == pytest.approx(0.5**2, rel=1e-12)
    # Closed form: surface load equals the rise of bubbles.
    assert degassing_length(0.25, 2.0, 0.25) == pytest.approx(0.5, rel=1e-12)


def test_channel_below_the_sill_is_no_help() -> None:
    shaft = replace(SHAFT, sill_height=3.2)
    air = [float(least_air(shaft, FARM, FLOW, lift, CLOSURE).dry_air) for lift in (-0.5, 0.1, 0.25)]
    assert air == pytest.approx([air[0]] * 3, rel=1e-9)
    found = balance(shaft, FARM, FLOW, air[0], 0.1, CLOSURE)
    # Closed form: critical depth over the sill.
    critical = (FLOW**2 / 2.0 / GRAVITY) ** (1 / 3)
    assert found.losses["fall behind the sill"] == pytest.approx(3.2 + critical - 3.1, rel=1e-9)
    # Air that does not bring water to the sill moves none, however low the channel stands.
    assert not water_moved(shaft, FARM, 0.02, -1.0, CLOSURE).moves


def test_margin_falls_with_flow_without_end() -> None:
    # Also where losses have eaten up the whole depth.
    flow = np.array([0.0, 0.1, 0.5, 2.0, 10.0, 50.0])
    assert (np.diff(balance(SHAFT, FARM, flow, 0.3, 0.3, CLOSURE).margin) < 0).all()


def test_no_air_is_needed_down_hill() -> None:
    shaft = replace(SHAFT, sill_height=2.0)
    need = least_air(shaft, FARM, FLOW, -0.4, CLOSURE)
    assert need.possible and need.dry_air == 0.0
    assert water_moved(shaft, FARM, 0.0, -0.4, CLOSURE).flow > FLOW


def test_batches_equal_single_runs() -> None:
    areas, lifts = np.array([0.5, 2.0, 6.0]), np.array([0.2, 0.5, 0.7])
    many = least_air(practice_shaft(areas, lifts), FARM, FLOW, lifts, CLOSURE)
    for i in range(3):
        one = least_air(practice_shaft(areas[i], lifts[i]), FARM, FLOW, float(lifts[i]), CLOSURE)
        assert many.dry_air[i] == pytest.approx(one.dry_air, rel=1e-10)


def test_eight_points_are_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    seed = np.random.default_rng(5)
    area, rung, lift = seed.uniform(0.3, 8, 500), seed.uniform(0, 3, 500), seed.uniform(0, 0.7, 500)
    air, flow = seed.uniform(0.005, 1, 500) * area, seed.uniform(0, 0.4, 500) * area

    def margin() -> np.ndarray:
        shaft = practice_shaft(area, lift)
        return balance(shaft, FARM, flow, air, lift, partial(graded, rung)).margin

    eight = margin()
    nodes, weights = np.polynomial.legendre.leggauss(40)
    monkeypatch.setattr(airlift_column, "_NODES", 0.5 * (nodes + 1.0))
    monkeypatch.setattr(airlift_column, "_WEIGHTS", 0.5 * weights)
    miss = np.abs(eight - margin())
    assert np.quantile(miss, 0.9) < 1e-12
    assert miss.max() < 2e-4


def test_never_nan() -> None:
    # Empty shafts, no flow, no air, floods: a number everywhere.
    level = np.array([0.0, 0.4, 0.5, 0.51, 3.0, 3.4])[:, None, None, None]
    lift = np.array([-3.0, 0.0, 0.3, 5.0])[:, None, None]
    flow = np.array([0.0, 0.3, 50.0])[:, None]
    air = np.array([0.0, 0.1, 20.0])
    shaft = replace(SHAFT, inlet_level=level)
    for coverage in (0.0, 1.0):
        need = air_band(shaft, FARM, flow, lift, coverage)
        assert np.isfinite(need.dry_air).all() and np.isfinite(need.short).all()
        assert (need.dry_air >= 0.0).all()
        moved = water_band(shaft, FARM, air, lift, coverage)
        assert np.isfinite(moved.flow).all() and (moved.flow >= 0.0).all()
        assert np.isfinite(lift_band(shaft, FARM, flow, air, coverage)).all()
        found = balance_band(shaft, FARM, flow, air, lift, coverage)
        assert np.isfinite(found.margin).all() and np.isfinite(found.fraction_mean).all()
    assert not need.possible[:, 0, -1].any()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"partition_gap": 0.0}, "partition gap is 0"),
        ({"outlet_area": -1.0}, "outlet area"),
        ({"diffuser_height": 3.6}, "running level must stand above the diffusers"),
        ({"diffuser_height": -0.1}, "diffusers must stand above the floor"),
        ({"sill_height": 0.4}, "sill must stand above the diffusers"),
        ({"sill_height": 3.6}, "wall top must stand above the outlet sill"),
        ({"inlet_level": 3.6}, "wall top must stand above the running level"),
        ({"partition_gap": 3.2}, "running level must stand above the partition's edge"),
        ({"partition_gap": float("nan")}, "partition gap"),
    ],
)
def test_bad_shafts_are_refused(change: dict[str, float], says: str) -> None:
    check_shaft(SHAFT)
    with pytest.raises(ValueError, match=says):
        check_shaft(replace(SHAFT, **change))


def test_edges_are_three() -> None:
    c0, drift = edge_closure(0.5)(0.1, 0.1, FARM.phases, 1.0)
    assert c0.shape == drift.shape == (3,)
    with pytest.raises(ValueError, match=r"coverage is 1\.2; allowed: 0 to 1"):
        edge_closure(1.2)
