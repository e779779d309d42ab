"""Critical and normal depth, energy, jump: published values, and slopes against differences."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopplan.physics.channels import (
    BRINK_RATIO,
    CHEZY,
    FLOW_FLOOR,
    MANNING,
    Roughness,
    alternate_depth,
    brink_control,
    conjugate_depth,
    critical_depth,
    critical_depth_slope,
    depth_from_energy,
    friction_slope,
    froude,
    normal_depth,
    specific_energy,
)
from loopplan.physics.constants import GRAVITY
from loopplan.physics.sections import Section

KHAN = "Khan, Fluid Mechanics, Ex. 10.6 p. 380"
BRASCH = "Brasch & Whyman, Problems in Fluid Flow, Ex. 5.2 p. 85"
CENGEL = "Cengel & Cimbala, Fluid Mechanics, Ex. 13-8 p. 735"
SUBRAMANYA = "Subramanya, 1000 Solved Problems in Fluid Mechanics"
READ = "read in an open notebook of its worked examples"


def one(width: float = 0.0, side_slope: float = 0.0, diameter: float = 0.0) -> Section:
    return Section(np.array([width]), np.array([side_slope]), np.array([diameter]))


def at(value: float) -> np.ndarray:
    return np.array([value])


SECTIONS = {
    "rectangle": one(0.8),
    "trapezoid": one(0.6, 1.5),
    "vee": one(0.0, 1.0),
    "circle": one(diameter=0.6),
}


@pytest.fixture(params=list(SECTIONS.values()), ids=list(SECTIONS))
def section(request) -> Section:
    return request.param


def test_c4_normal_and_critical_depth_of_a_trapezoid(published):
    channel, rough = one(4.0, 0.5), Roughness(MANNING, 0.025)
    normal = normal_depth(at(15.0), channel, at(0.0008), rough)
    critical = critical_depth(at(15.0), channel)
    number = froude(at(15.0), normal, channel)
    published("C4", KHAN, "normal depth", 2.22, normal[0], 0.005, "m", READ)
    published("C4", KHAN, "critical depth", 1.08, critical[0], 0.005, "m", READ)
    published("C4", KHAN, "Froude number", 0.31, number[0], 0.005, "-", READ)


def test_c5_normal_depth_with_sides_at_55_degrees(published):
    channel = one(1.36, 1.0 / math.tan(math.radians(55.0)))
    depth = normal_depth(at(0.885), channel, at(1.0 / 960.0), Roughness(MANNING, 0.014))
    published("C5", BRASCH, "normal depth", 0.4813, depth[0], 0.00005, "m", READ)


@pytest.mark.parametrize(
    ("width", "side_slope", "flow"), [(3.0, 0.0, 12.352), (0.0, 2.0, 6.987), (2.5, 1.5, 14.864)]
)
def test_c12_critical_depth_of_three_sections(published, width, side_slope, flow):
    depth = critical_depth(at(flow), one(width, side_slope))
    # The book takes g = 9.81; that moves depth by 0.01 %.
    source = SUBRAMANYA + ", Ex. 12.29 p. 287"
    quantity = f"critical depth, b {width:g} m, z {side_slope:g}"
    published("C12", source, quantity, 1.2, depth[0], "0.05 %", "m", READ)


def test_c11_critical_depth_and_energy_of_a_rectangle(published):
    depth = critical_depth(at(6.0), one(2.0))
    energy = specific_energy(at(6.0), depth, one(2.0))
    source = SUBRAMANYA + ", Ex. 12.25 p. 285"
    published("C11", source, "critical depth", 0.972, depth[0], 0.0005, "m", READ)
    published("C11", source, "critical energy", 1.458, energy[0], 0.0005, "m", READ)


def test_c16_hydraulic_jump(published):
    channel, flow, shallow = one(10.0), at(7.0 * 0.8 * 10.0), at(0.8)
    deep = conjugate_depth(flow, shallow, channel)
    lost = specific_energy(flow, shallow, channel) - specific_energy(flow, deep, channel)
    published("C16", CENGEL, "depth after the jump", 2.46, deep[0], 0.005, "m", READ)
    number = froude(flow, deep, channel)[0]
    published("C16", CENGEL, "Froude number after", 0.465, number, 0.0005, "-", READ)
    # The book rounds the depth before it takes the loss.
    published("C16", CENGEL, "energy lost", 0.577, lost[0], 0.001, "m", READ)


def test_friction_slope_laws_against_their_formulas_and_signs():
    channel, depth = one(1.0), at(0.5)
    radius, velocity = 0.25, 0.8
    manning = friction_slope(at(-0.4), depth, channel, Roughness(MANNING, 0.013))
    chezy = friction_slope(at(0.4), depth, channel, Roughness(CHEZY, 55.0))
    # Closed form.
    assert manning[0] == pytest.approx(-(0.013**2) * velocity**2 / radius ** (4 / 3), rel=1e-12)
    assert chezy[0] == pytest.approx(velocity**2 / (55.0**2 * radius), rel=1e-12)


def test_critical_depth_has_froude_one_and_the_least_energy(section):
    flow = np.array([0.0005, 0.02, 0.2, 0.5])
    depth = critical_depth(flow, section)
    np.testing.assert_allclose(froude(flow, depth, section), 1.0, rtol=1e-9)
    least = specific_energy(flow, depth, section)
    for factor in (0.98, 1.02):
        assert np.all(specific_energy(flow, factor * depth, section) > least)


@pytest.mark.parametrize("step", [1e-4, 1e-5])
def test_slope_of_critical_depth_against_differences(section, step):
    flow = np.array([0.002, 0.02, 0.2, 0.4])
    ends = [critical_depth(flow * (1 + sign * step), section) for sign in (1, -1)]
    slope = critical_depth_slope(flow, critical_depth(flow, section), section)
    np.testing.assert_allclose((ends[0] - ends[1]) / (2 * step * flow), slope, rtol=1e-6)


def test_normal_depth_carries_the_flow(section):
    flow, slope, rough = np.array([0.001, 0.02, 0.1]), np.array([0.002]), Roughness(MANNING, 0.012)
    depth = normal_depth(flow, section, slope, rough)
    np.testing.assert_allclose(friction_slope(flow, depth, section, rough), 0.002, rtol=1e-9)


def test_normal_depth_is_infinite_where_there_is_none():
    rough = Roughness(MANNING, 0.012)
    assert np.isinf(normal_depth(at(0.1), one(1.0), at(0.0), rough))[0]
    assert np.isinf(normal_depth(at(0.1), one(1.0), at(-0.001), rough))[0]
    assert np.isinf(normal_depth(at(2.0), one(diameter=0.5), at(0.001), rough))[0]


def test_depth_from_energy_gives_the_energy_back_or_critical(section):
    flow = np.array([[0.01], [0.1], [0.3]])
    critical = critical_depth(flow, section)
    least = specific_energy(flow, critical, section)
    energy = least * np.array([0.5, 1.0 + 1e-9, 1.001, 1.3, 5.0])
    state = depth_from_energy(energy, flow, section)
    assert np.array_equal(state.is_critical[:, 0], [True] * 3)
    assert not state.is_critical[:, 1:].any()
    np.testing.assert_allclose(state.depth[:, 0], critical[:, 0], rtol=1e-12)
    back = specific_energy(flow, state.depth, section)
    np.testing.assert_allclose(back[:, 1:], energy[:, 1:], rtol=1e-10)
    assert np.all(state.depth >= critical)


@pytest.mark.parametrize("step", [1e-5, 1e-6])
def test_slopes_of_depth_from_energy_against_differences(section, step):
    flow = np.array([[0.01], [0.1]])
    energy = specific_energy(flow, critical_depth(flow, section), section) * np.array([1.1, 1.6])
    state = depth_from_energy(energy, flow, section)
    up, down = (depth_from_energy(energy + s, flow, section).depth for s in (step, -step))
    np.testing.assert_allclose((up - down) / (2 * step), state.d_depth_denergy, rtol=1e-5)
    move = step * flow
    up, down = (depth_from_energy(energy, flow + s, section).depth for s in (move, -move))
    np.testing.assert_allclose((up - down) / (2 * move), state.d_depth_dflow, rtol=1e-4)


def test_alternate_and_conjugate_depth_come_back(section):
    flow = np.array([0.02, 0.1, 0.3])
    for start in (0.6, 1.3):
        depth = start * critical_depth(flow, section)
        for other in (alternate_depth, conjugate_depth):
            far = other(flow, depth, section)
            assert np.all((far > depth) == (start < 1.0))
            np.testing.assert_allclose(other(flow, far, section), depth, rtol=1e-7)


def test_conjugate_depth_of_a_rectangle_against_the_closed_form():
    depth, flow = at(0.12), at(0.3)
    number = 0.3 / 0.12 / math.sqrt(GRAVITY * 0.12)
    expected = 0.06 * (math.sqrt(1.0 + 8.0 * number**2) - 1.0)
    assert conjugate_depth(flow, depth, one(1.0))[0] == pytest.approx(expected, rel=1e-10)


def test_brink_hands_over_from_critical_to_tail_water():
    flow, channel = at(0.1), one(0.8)
    critical = critical_depth(flow, channel)
    depth, by_tail, by_flow, free = brink_control(flow, np.array([-1.0, 1.0]), channel)
    assert free.tolist() == [True, False]
    assert depth.tolist() == [critical[0], 1.0]
    assert by_tail.tolist() == [0.0, 1.0]
    assert by_flow[0] == pytest.approx(critical[0] / 0.15, rel=1e-9)  # closed form: 2 y / (3 Q)
    assert by_flow[1] == 0.0
    assert BRINK_RATIO < 1.0


@pytest.mark.parametrize("flow", [0.0, 1e-12, FLOW_FLOOR, 1e-6, 5.0, -0.1])
def test_no_flow_gives_nan(section, flow):
    rough = Roughness(MANNING, 0.012)
    critical = critical_depth(at(flow), section)
    assert np.all(critical > 0.0)
    for value in (
        critical,
        critical_depth_slope(at(flow), critical, section),
        froude(at(flow), critical, section),
        normal_depth(at(flow), section, at(0.002), rough),
        friction_slope(at(flow), critical, section, rough),
        *depth_from_energy(np.array([-1.0, 0.0, 0.3]), at(flow), section),
    ):
        assert not np.isnan(value).any()


@pytest.mark.parametrize(("kind", "value"), [(2, 0.012), (MANNING, 0.0), (CHEZY, math.inf)])
def test_impossible_roughness_is_refused(kind, value):
    with pytest.raises(ValueError, match="roughness"):
        Roughness(kind, value)
