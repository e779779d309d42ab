"""Water surface along a channel: published table, differential equation, slopes, trends."""

from __future__ import annotations

import time

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from loopplan.physics.channels import (
    CHEZY,
    MANNING,
    Roughness,
    critical_depth,
    normal_depth,
    specific_energy,
)
from loopplan.physics.constants import GRAVITY
from loopplan.physics.profile import (
    MOST_STEPS,
    ChannelState,
    channel_upstream,
    profile_grid,
    steps_needed,
)
from loopplan.physics.profile_check import scalar_upstream
from loopplan.physics.sections import Section

DOUGLAS = "Douglas, Gasiorek & Swaffield, Fluid Mechanics, Ex. 16.3 p. 546"
Parts = tuple[
    np.ndarray, np.ndarray, Section, np.ndarray, np.ndarray, np.ndarray, Roughness, np.ndarray
]
READ = "read in an open notebook of its worked examples"


def col(*values: float) -> np.ndarray:
    return np.array(values, dtype=float).reshape(-1, 1)


class Case:
    """One channel with the flow and end depth that go with a profile type (invented data)."""

    def __init__(self, kind, flow, end, length, fall, n, width=0.0, side=0.0, diameter=0.0, k=0.0):
        self.kind, self.flow, self.length, self.fall, self.n, self.k = (
            kind,
            flow,
            length,
            fall,
            n,
            k,
        )
        self.size = (width, side, diameter)
        self.section = Section(col(width), col(side), col(diameter))
        self.critical = float(critical_depth(col(flow), self.section)[0, 0])
        # End depth in critical depths; 0 is a free brink.
        self.end = end * self.critical

    def solve(self, steps=None, flow=None, end=None) -> ChannelState:
        flow = col(self.flow) if flow is None else flow
        end = col(self.end) if end is None else end
        rough = Roughness(MANNING, col(self.n))
        rest = (self.section, col(self.length), col(self.fall), col(0.0), rough, col(self.k))
        if steps is None:
            steps = int(steps_needed(flow, end, *rest)[0].max())
        return channel_upstream(flow, end, *rest, profile_grid(steps))

    def scalar(self) -> float:
        return scalar_upstream(
            self.flow, self.end, *self.size, self.length, self.fall, 0.0, self.n, 0.0, self.k
        )


CASES = [
    Case("M1 rectangle", 0.25, 2.5, 40.0, 0.040, 0.013, width=1.0),
    Case("M1 trapezoid", 0.60, 2.0, 60.0, 0.060, 0.015, width=0.8, side=1.5),
    Case("M1 circle", 0.06, 2.2, 30.0, 0.030, 0.012, diameter=0.6),
    Case("M2 rectangle to a brink", 0.30, 0.0, 30.0, 0.030, 0.013, width=0.8),
    Case("M2 long and thin", 0.02, 0.0, 60.0, 0.060, 0.017, width=3.0),
    Case("M2 trapezoid to a brink", 0.15, 0.0, 25.0, 0.020, 0.014, width=0.4, side=1.0),
    Case("M2 circle to a brink", 0.08, 0.0, 20.0, 0.020, 0.012, diameter=0.6),
    Case("M2 vee to a brink", 0.05, 0.0, 15.0, 0.015, 0.013, side=1.0),
    Case("H2 short and wide", 0.60, 0.0, 2.0, 0.0, 0.012, width=3.0),
    Case("H2 rectangle to a brink", 0.10, 0.0, 60.0, 0.0, 0.014, width=0.5),
    Case("H2 rectangle, drowned", 0.40, 1.4, 50.0, 0.0, 0.015, width=1.2),
    Case("A2 adverse to a brink", 0.20, 0.0, 30.0, -0.060, 0.013, width=1.0),
    Case("A2 adverse, drowned, bends", 0.20, 1.5, 30.0, -0.060, 0.013, width=1.0, k=1.5),
    Case("S1 drowned rectangle", 0.15, 4.0, 15.0, 0.090, 0.011, width=0.6),
    Case("S1 drowned trapezoid", 0.20, 3.5, 10.0, 0.080, 0.012, width=0.5, side=0.5),
    Case("M2 with bends", 0.30, 0.0, 30.0, 0.030, 0.013, width=0.8, k=2.0),
]


@pytest.fixture(params=CASES, ids=[case.kind for case in CASES])
def case(request) -> Case:
    return request.param


def by_differential_equation(case: Case) -> float:
    """Upstream energy level by dy/ds = (Sf - S0) / (1 - Fr^2), in energy: dE/ds = Sf - S0.

    Followed in depth near a free brink, where the surface stands upright, and in distance from
    a twentieth above critical on.
    """
    width, side, diameter = case.size
    slope = case.fall / case.length

    def shape(y):
        if diameter:
            angle = 2 * np.arccos(1 - 2 * y / diameter)
            area = diameter**2 / 8 * (angle - np.sin(angle))
            return area, diameter * np.sin(angle / 2), diameter * angle / 2
        return y * (width + side * y), width + 2 * side * y, width + 2 * y * np.hypot(1, side)

    def excess(y):
        area, _, wet = shape(y)
        head = (case.flow / area) ** 2 / (2 * GRAVITY)
        return (
            2 * GRAVITY * case.n**2 * head * (wet / area) ** (4 / 3) + case.k / case.length * head
        )

    def froude_squared(y):
        area, top, _ = shape(y)
        return case.flow**2 * top / (GRAVITY * area**3)

    tight = {"rtol": 1e-11, "atol": 1e-12, "method": "DOP853"}
    start, depth = 0.0, case.end
    if case.end <= case.critical:
        depth = 1.05 * case.critical

        def distance(y, _):
            return [(1 - froude_squared(y)) / (excess(y) - slope)]

        start = solve_ivp(distance, (case.critical, depth), [0.0], **tight).y[0, -1]
        assert start < case.length

    def rise(_, y):
        return [(excess(y[0]) - slope) / (1 - froude_squared(y[0]))]

    end = solve_ivp(rise, (start, case.length), [depth], **tight).y[0, -1]
    return case.fall + end + (case.flow / shape(end)[0]) ** 2 / (2 * GRAVITY)


def test_c21_backwater_table(published):
    """Wide channel, normal depth 1.2 m, slope 1/1000, Chezy 55, from 2.4 m in steps of 0.15 m."""
    flow = 55.0 * 1.2**1.5 * 0.001**0.5
    # A width of 100 km makes the hydraulic radius the depth.
    wide, rough = Section(col(1e5), col(0.0), col(0.0)), Roughness(CHEZY, col(55.0))
    total = col(flow * 1e5)
    critical = critical_depth(total, wide)[0, 0]
    normal = normal_depth(total, wide, col(0.001), rough)[0, 0]
    published("C21", DOUGLAS, "critical depth", 0.811, critical, 0.0005, "m", READ)
    published("C21", DOUGLAS, "normal depth", 1.2, normal, 0.0005, "m", READ)

    # The book's own rule: each step by the slopes at its middle depth.
    table = (166.54, 170.94, 177.26, 186.86, 202.65, 232.27, 303.80)
    middle = 2.325 - 0.15 * np.arange(7)
    steps = 0.15 / 0.001 * (1 - (critical / middle) ** 3) / (1 - (normal / middle) ** 3)
    for row, (printed, length) in enumerate(zip(table, steps, strict=True), start=1):
        published("C21", DOUGLAS, f"step {row}", printed, length, "0.05 %", "m", READ)
    published("C21", DOUGLAS, "whole length", 1440.0, steps.sum(), 0.5, "m", READ)

    def surplus(length: float) -> float:
        state = channel_upstream(
            total,
            col(2.4),
            wide,
            col(length),
            col(0.001 * length),
            col(0.0),
            rough,
            col(0.0),
            profile_grid(16),
        )
        return float(state.depth_up[0, 0]) - 1.35

    # 1450.2 m is the exact integral of the same equation (our own quadrature, not published).
    length = brentq(surplus, 1000.0, 2000.0)
    assert length == pytest.approx(1450.2, rel=0.002)
    floor = 0.001 * length
    level = scalar_upstream(
        flow * 1e5, 2.4, 1e5, 0.0, 0.0, length, floor, 0.0, manning=0.0, chezy=55.0, local_k=0.0
    )
    assert level == pytest.approx(floor + 1.35 + (flow / 1.35) ** 2 / (2 * GRAVITY), abs=1e-3)


def test_against_differential_equation(case):
    assert case.solve().energy_up[0, 0] == pytest.approx(by_differential_equation(case), abs=2e-4)


def test_scalar_check_against_differential_equation(case):
    assert case.scalar() == pytest.approx(by_differential_equation(case), abs=2e-5)


def random_channels(count: int, seed: int) -> Parts:
    """Farm-size channels of all slopes, with end depths from free to deeply drowned (invented)."""
    rng = np.random.default_rng(seed)
    circle = rng.random(count) < 0.3
    side = np.where(rng.random(count) < 0.5, 0.0, rng.uniform(0, 2, count))
    diameter = np.where(circle, rng.uniform(0.4, 1.0, count), 0.0)
    section = Section(col(*rng.uniform(0.4, 3, count)), col(*side), col(*diameter))
    flow = np.exp(rng.uniform(np.log(0.02), np.log(0.6), count))
    flow = col(*np.where(circle, np.minimum(flow, 0.8 * np.sqrt(GRAVITY * diameter**5)), flow))
    end = col(*rng.uniform(0, 3, count)) * critical_depth(flow, section)
    length = col(*rng.uniform(2, 60, count))
    fall = col(*rng.uniform(-0.003, 0.008, count)) * length
    rough = Roughness(MANNING, col(*rng.uniform(0.011, 0.017, count)))
    bends = col(*rng.uniform(0, 2, count))
    return flow, end, section, length, fall, 0.0 * fall, rough, bends


def test_scalar_check_agrees_with_the_march_on_random_channels_and_is_quick():
    parts = random_channels(150, seed=7)
    flow, end, section, length, fall, _, rough, bends = parts
    state = channel_upstream(*parts, profile_grid(MOST_STEPS))
    took, miss = [], []
    for i in range(150):
        before = time.perf_counter()
        level = scalar_upstream(
            flow=float(flow[i, 0]),
            depth_end=float(end[i, 0]),
            width=float(section.width[i, 0]),
            side_slope=float(section.side_slope[i, 0]),
            diameter=float(section.diameter[i, 0]),
            length=float(length[i, 0]),
            floor_up=float(fall[i, 0]),
            floor_down=0.0,
            manning=float(np.asarray(rough.value)[i, 0]),
            chezy=0.0,
            local_k=float(bends[i, 0]),
        )
        took.append(time.perf_counter() - before)
        miss.append(abs(level - state.energy_up[i, 0]))
    assert max(miss) < 1e-4
    assert np.median(took) < 5e-3


def test_steps_needed_keeps_its_word(case):
    rest = (
        case.section,
        col(case.length),
        col(case.fall),
        col(0.0),
        Roughness(MANNING, col(case.n)),
        col(case.k),
    )
    steps, change = steps_needed(col(case.flow), col(case.end), *rest)
    assert (steps <= 32).all()
    assert (change <= 1e-4).all()
    fine = case.solve(MOST_STEPS).energy_up
    assert np.abs(case.solve(int(steps.max())).energy_up - fine).max() < 2e-4
    few, last = steps_needed(col(case.flow), col(case.end), *rest, tolerance=0.0)
    assert (few == MOST_STEPS).all()
    assert (last >= 0.0).all()
    assert (last < 1e-6).all()


@pytest.mark.parametrize("step", [1e-4, 1e-5])
def test_slope_with_flow_against_differences(case, step):
    move = step * case.flow
    up, down = (case.solve(8, flow=col(case.flow + s)).energy_up for s in (move, -move))
    slope = case.solve(8).d_energy_dflow
    np.testing.assert_allclose((up - down) / (2 * move), slope, rtol=3e-4, atol=1e-5)


@pytest.mark.parametrize("step", [1e-4, 1e-5])
def test_slope_with_end_depth_against_differences(case, step):
    move = step * case.critical
    up, down = (case.solve(8, end=col(case.end + s)).energy_up for s in (move, -move))
    slope = case.solve(8).d_energy_ddepth_end
    np.testing.assert_allclose((up - down) / (2 * move), slope, rtol=3e-4, atol=1e-6)


def test_energy_rises_with_end_depth_and_with_flow(case):
    ends = case.critical * np.linspace(0.2, 3.0, 40).reshape(1, -1)
    state = case.solve(32, end=ends)
    assert np.all(np.diff(state.energy_up[0]) >= -1e-9)
    assert np.all(state.d_energy_ddepth_end >= 0.0)
    flows = case.flow * np.linspace(0.3, 1.2, 40).reshape(1, -1)
    state = case.solve(32, flow=flows, end=col(max(case.end, 0.2)))
    if not case.kind.startswith("S1"):
        assert np.all(np.diff(state.energy_up[0]) > 0.0)
        assert np.all(state.d_energy_dflow > 0.0)


def test_cases_are_of_the_type_that_they_are_named_after(case):
    fall, rough = col(case.fall / case.length), Roughness(MANNING, col(case.n))
    normal = normal_depth(col(case.flow), case.section, fall, rough)[0, 0]
    steep, level = normal < case.critical, np.isinf(normal)
    assert case.kind[0] == ("S" if steep else "HA"[case.fall < 0] if level else "M")
    if case.kind[1] == "1":
        assert case.end > max(normal, case.critical)
    else:
        assert case.end < normal


def test_a_coarse_march_never_says_that_deeper_water_lowers_the_level():
    # Long beside its depth: four steps ring about the slope of next to 0 that is true here.
    thin = next(case for case in CASES if case.kind == "M2 long and thin")
    ends = thin.critical * np.linspace(0.2, 3.0, 40).reshape(1, -1)
    for steps in (4, 8):
        assert np.all(thin.solve(steps, end=ends).d_energy_ddepth_end >= 0.0)


def test_steep_reach_is_held_at_critical_and_flagged():
    steep = Case("S2", 0.2, 0.0, 20.0, 1.0, 0.013, width=0.8)
    state = steep.solve(8)
    least = specific_energy(col(0.2), col(steep.critical), steep.section)
    assert state.critical_anywhere.all()
    np.testing.assert_allclose(state.depths[:, 0, 0], steep.critical, rtol=1e-9)
    np.testing.assert_allclose(state.energy_up, 1.0 + least, rtol=1e-9)
    assert state.d_energy_ddepth_end[0, 0] == 0.0
    # Closed form: specific energy of a rectangle at critical is 1.5 y, and y goes as Q^(2/3).
    assert state.d_energy_dflow[0, 0] == pytest.approx(steep.critical / 0.2, rel=1e-8)
    assert steep.scalar() == pytest.approx(1.0 + least[0, 0], abs=1e-6)


def test_depth_is_never_below_critical():
    parts = random_channels(300, seed=3)
    state = channel_upstream(*parts, profile_grid(8))
    critical = critical_depth(parts[0], parts[2])
    assert np.all(state.depths >= critical * (1 - 1e-6))
    assert np.all(state.depth_up >= critical * (1 - 1e-6))
    energy = parts[4] + specific_energy(parts[0], state.depth_up, parts[2])
    np.testing.assert_allclose(energy, state.energy_up, atol=1e-9)


@pytest.mark.parametrize("flow", [0.0, 1e-12, 1e-8])
def test_next_to_no_flow_gives_a_level_surface(flow):
    section = Section(col(1.0, 0.5, 0.0), col(0.0, 1.0, 0.0), col(0.0, 0.0, 0.4))
    ends = np.array([[0.3, 0.01, -0.2]])
    rough = Roughness(MANNING, col(0.013))
    floor_up = col(0.02)
    state = channel_upstream(
        col(flow), ends, section, col(30.0), floor_up, col(0.0), rough, col(0.5), profile_grid(8)
    )
    for part in state:
        assert np.isfinite(part).all()
    level = np.broadcast_to(np.maximum(ends, 0.02), (3, 3))
    np.testing.assert_allclose(state.energy_up, level, atol=1e-4)


def test_channels_with_steps_of_their_own_are_as_if_alone():
    parts = random_channels(60, seed=11)
    steps = np.array([[4.0], [8.0], [16.0]])[np.arange(60) % 3]
    mixed = channel_upstream(*parts, profile_grid(steps))
    for number in (4, 8, 16):
        alone = channel_upstream(*parts, profile_grid(number))
        own = steps[:, 0] == number
        for name in ("energy_up", "depth_up", "d_energy_dflow", "d_energy_ddepth_end"):
            found, due = getattr(mixed, name)[own], getattr(alone, name)[own]
            np.testing.assert_allclose(found, due, rtol=1e-12, atol=1e-12)
        assert (mixed.critical_anywhere[own] == alone.critical_anywhere[own]).all()


def test_a_channel_does_not_depend_on_its_batch():
    parts = random_channels(60, seed=11)
    flow, end, section, length, up, down, rough, bends = parts
    together = channel_upstream(*parts, profile_grid(8))
    for i in (0, 17, 42):
        pick = slice(i, i + 1)
        alone = Section(section.width[pick], section.side_slope[pick], section.diameter[pick])
        own = Roughness(MANNING, np.asarray(rough.value)[pick])
        state = channel_upstream(
            flow[pick], end[pick], alone, length[pick], up[pick], down[pick], own, bends[pick],
            profile_grid(8),
        )  # fmt: skip
        np.testing.assert_allclose(state.energy_up[0], together.energy_up[i], rtol=1e-10)


def test_grid_is_graded_to_the_control_and_nests():
    coarse, fine = profile_grid(4), profile_grid(8)
    assert coarse[0] == 0.0
    assert coarse[-1] == 1.0
    np.testing.assert_allclose(fine[::2], coarse, rtol=1e-14)
    assert np.all(np.diff(np.diff(fine)) > 0.0)


@pytest.mark.parametrize("steps", [0, 2, 6])
def test_impossible_grids_are_refused(steps):
    with pytest.raises(ValueError, match="multiple of 4"):
        profile_grid(steps)
