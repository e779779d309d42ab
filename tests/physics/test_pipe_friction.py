"""Friction of full pipes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.friction import friction_factor as library_factor
from scipy.optimize import brentq

from loopplan.physics.constants import GRAVITY
from loopplan.physics.friction import (
    chezy_from_manning,
    friction_factor,
    given_factor_friction,
    hazen_williams_head,
    pipe_friction,
)
from tests.validation_page import Published

REYNOLDS = np.logspace(math.log10(4001.0), 8.0, 25)
ROUGHNESS = [0.0, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.05]


def area(diameter: float) -> float:
    return math.pi / 4.0 * diameter**2


def test_p1_stainless_steel_pipe(published: Published) -> None:
    source = "Çengel and Cimbala, Fluid Mechanics, Ex. 8-3 p. 360"
    nu = 1.138e-3 / 999.0
    v = 0.006 / area(0.05)
    head, _ = pipe_friction(0.006, 60.0, 0.05, 2e-6, nu)
    f = friction_factor(v * 0.05 / nu, 2e-6 / 0.05)
    published("P1", source, "velocity", 3.06, v, "0.5 %", "m/s", "read")
    published("P1", source, "friction factor", 0.0172, f, "0.5 %", "-", "read")
    published("P1", source, "head", 9.85, head, "0.5 %", "m", "read")
    published("P1", source, "pressure", 96.5, 999.0 * GRAVITY * head / 1e3, "0.5 %", "kPa", "read")


def test_p2_cast_iron_gravity_line(published: Published) -> None:
    source = "Çengel and Cimbala, Fluid Mechanics, Ex. 8-8 p. 377"
    nu = 1.307e-3 / 999.7
    v = 0.006 / area(0.05)
    head, _ = pipe_friction(0.006, 89.0, 0.05, 0.26e-3, nu)
    minor = (0.5 + 2 * 0.3 + 0.2 + 1.06) * v**2 / (2 * GRAVITY)
    f = friction_factor(v * 0.05 / nu, 0.26 / 50.0)
    published("P2", source, "friction factor", 0.0315, f, 5e-5, "-", "read")
    published("P2", source, "upper level", 31.8, 4.0 + head + minor, 0.1, "m", "read")


def test_m3_house_line(published: Published) -> None:
    source = "Munson, Young and Okiishi, Ex. 8.8 p. 451"
    foot = 0.3048
    q, bore = 0.0267 * foot**3, 0.0625 * foot
    v = q / area(bore)
    faucet = q / area(0.5 / 12.0 * foot)
    # Water of 62.4 lb/ft3; 1 psi is 144 lb/ft2.
    psi = 62.4 / 144.0 / foot
    ideal = 20.0 * foot + (faucet**2 - v**2) / (2 * GRAVITY)
    friction = ideal + given_factor_friction(q, 60.0 * foot, bore, 0.0215)[0]
    full = friction + (4 * 1.5 + 10.0 + 2.0) * v**2 / (2 * GRAVITY)
    # The book takes 1.94 slug/ft3 beside 62.4 lb/ft3, so g = 32.16 ft/s2, and rounds its
    # velocities to three figures.
    for quantity, expected, head in (
        ("pressure without losses", 10.75, ideal),
        ("pressure with friction", 21.3, friction),
        ("pressure with friction and local losses", 30.5, full),
    ):
        published("M3", source, quantity, expected, psi * head, "0.2 %", "psi", "read")


def test_p5_flow_from_head(published: Published) -> None:
    source = "White, Fluid Mechanics, Ex. 6.9"

    def head(q: float) -> float:
        return float(pipe_friction(q, 100.0, 0.30, 0.0002 * 0.30, 2e-5)[0])

    q = brentq(lambda q: head(q) - 8.0, 1e-3, 2.0, xtol=1e-12)
    v = q / area(0.30)
    f = friction_factor(v * 0.30 / 2e-5, 0.0002)
    published("P5", source, "velocity", 4.84, v, "0.2 %", "m/s", "from memory")
    published("P5", source, "flow", 0.342, q, "0.2 %", "m3/s", "from memory")
    published("P5", source, "friction factor", 0.0201, f, "0.2 %", "-", "from memory")


@pytest.mark.parametrize(
    ("flow", "expected"), [(0.010, 16.53), (0.020, 20.80), (0.030, 27.37), (0.040, 36.48)]
)
def test_p7_sewage_main(published: Published, flow: float, expected: float) -> None:
    # The viscosity is not stated in the problem; water of 15 degC.
    friction, _ = pipe_friction(flow, 2500.0, 0.200, 0.15e-3, 1.13e-6)
    minor = 10.0 * (flow / area(0.200)) ** 2 / (2 * GRAVITY)
    published(
        "P7",
        "Nalluri and Featherstone, Civil Engineering Hydraulics, two identical pumps",
        f"system head at {1e3 * flow:.0f} L/s",
        expected,
        15.0 + friction + minor,
        "1 %",
        "m",
        "read",
    )


def test_p10_laminar_glycerin(published: Published) -> None:
    q = 3.0 * area(0.04)
    head, _ = pipe_friction(q, 70.0, 0.04, 0.0, 0.3073 / 1252.0)
    published(
        "P10",
        "Çengel and Cimbala, Fluid Mechanics, Ex. 8-1 p. 349",
        "pressure",
        1291.0,
        1252.0 * GRAVITY * head / 1e3,
        "0.1 %",
        "kPa",
        "read",
    )


@pytest.mark.parametrize(
    ("reynolds", "expected"),
    [(4e3, 0.0399), (1e4, 0.0309), (1e5, 0.0180), (1e6, 0.0116), (1e7, 0.0081), (1e8, 0.0059)],
)
def test_smooth_table(published: Published, reynolds: float, expected: float) -> None:
    published(
        "smooth",
        "White, Fluid Mechanics, table with eq. 6.38",
        f"friction factor of a smooth pipe at Re {reynolds:.0e}",
        expected,
        friction_factor(reynolds, 0.0),
        5e-5,
        "-",
        "from memory",
    )


@pytest.mark.parametrize(
    ("roughness", "expected", "half_digit"),
    [
        (1e-5, 0.00806, 5e-6),
        (1e-4, 0.0120, 5e-5),
        (1e-3, 0.0196, 5e-5),
        (1e-2, 0.0379, 5e-5),
        (0.05, 0.0716, 5e-5),
    ],
)
def test_rough_table(
    published: Published, roughness: float, expected: float, half_digit: float
) -> None:
    published(
        "rough",
        "White, Fluid Mechanics, table after eq. 6.64",
        f"friction factor of a fully rough pipe, roughness {roughness:g} diameters",
        expected,
        friction_factor(1e12, roughness),
        half_digit,
        "-",
        "from memory",
    )


def test_n10_constant_of_hazen_and_williams() -> None:
    # Alperovits and Shamir 1977, from memory: the first pipe (18 in, 1000 m, 1120 m3/h, C 130)
    # takes 210 - 150 - 53.25 m.
    head = hazen_williams_head(1120.0 / 3600.0, 1000.0, 18 * 0.0254, 130.0)
    assert head == pytest.approx(6.75, abs=0.01)
    assert hazen_williams_head(-0.3, 1000.0, 0.4, 130.0) == pytest.approx(
        -hazen_williams_head(0.3, 1000.0, 0.4, 130.0), rel=1e-12
    )


@pytest.mark.parametrize("rr", ROUGHNESS)
@pytest.mark.parametrize("re", REYNOLDS)
def test_turbulent_factor_is_the_root_of_colebrook(re: float, rr: float) -> None:
    x = brentq(lambda x: x + 2.0 * math.log10(rr / 3.7 + 2.51 * x / re), 0.1, 100.0, xtol=1e-14)
    assert friction_factor(re, rr) == pytest.approx(x**-2, rel=1e-11)
    assert friction_factor(re, rr) == pytest.approx(library_factor(re, rr), rel=1e-9)


def test_laminar_factor_is_closed_form() -> None:
    re = np.array([1.0, 100.0, 1999.0])
    assert friction_factor(re, 0.01) == pytest.approx(64.0 / re, rel=1e-12)


@pytest.mark.parametrize("rr", ROUGHNESS)
def test_factor_has_neither_jump_nor_kink(rr: float) -> None:
    for edge in (2000.0, 4000.0):
        below, at, above = friction_factor(edge + np.array([-0.01, 0.0, 0.01]), rr)
        assert above - at == pytest.approx(at - below, abs=2e-9)
        assert abs(above - below) < 1e-6


@pytest.mark.parametrize("roughness", [0.0, 3e-5, 1e-3, 1e-2])
def test_slope_is_that_of_the_head(roughness: float) -> None:
    q = np.logspace(-7, 0, 400)
    q = np.concatenate([-q, q])

    def head(flow):
        return pipe_friction(flow, 100.0, 0.2, roughness, 1.1e-6)[0]

    _, slope = pipe_friction(q, 100.0, 0.2, roughness, 1.1e-6)
    assert (slope > 0.0).all()
    for size in (1e-4, 1e-5):
        step = size * np.abs(q)
        by_difference = (head(q + step) - head(q - step)) / (2.0 * step)
        assert slope == pytest.approx(by_difference, rel=2e-6)


def test_pipe_at_rest_has_the_laminar_slope() -> None:
    head, slope = pipe_friction(0.0, 100.0, 0.2, 1e-4, 1e-6)
    assert head == 0.0
    # Hagen and Poiseuille: 128 nu L / (pi g D^4).
    assert slope == pytest.approx(128e-6 * 100.0 / (math.pi * GRAVITY * 0.2**4), rel=1e-12)


def test_head_is_odd_and_grows_with_flow_and_roughness() -> None:
    q = np.logspace(-6, 0, 2000)
    head, _ = pipe_friction(q, 50.0, 0.11, 3e-5, 1e-6)
    back, _ = pipe_friction(-q, 50.0, 0.11, 3e-5, 1e-6)
    rougher, _ = pipe_friction(q, 50.0, 0.11, 6e-4, 1e-6)
    assert (back == -head).all()
    assert (np.diff(head) > 0.0).all()
    assert (rougher >= head).all()


def test_given_factor_meets_the_computed_one() -> None:
    q, d, nu = 0.02, 0.15, 1e-6
    f = friction_factor(q / area(d) * d / nu, 1e-4 / d)
    given, slope = given_factor_friction(q, 30.0, d, f)
    assert given == pytest.approx(pipe_friction(q, 30.0, d, 1e-4, nu)[0], rel=1e-12)
    assert slope == pytest.approx(2.0 * given / q, rel=1e-12)


def test_arrays_broadcast_and_scalars_stay_scalars() -> None:
    head, slope = pipe_friction(np.full((3, 1), 0.01), np.array([10.0, 20.0]), 0.1, 0.0, 1e-6)
    assert head.shape == slope.shape == (3, 2)
    assert head[0, 1] == pytest.approx(2.0 * head[0, 0], rel=1e-12)
    assert isinstance(pipe_friction(0.01, 10.0, 0.1, 0.0, 1e-6)[0], np.float64)


def test_chezy_and_manning_give_one_velocity() -> None:
    # Closed form: C sqrt(R S) = R^(2/3) sqrt(S) / n.
    c = chezy_from_manning(0.012, 0.35)
    assert c * math.sqrt(0.35 * 1e-3) == pytest.approx(
        0.35 ** (2 / 3) * math.sqrt(1e-3) / 0.012, rel=1e-12
    )
    with pytest.raises(ValueError, match="hydraulic radius is 0 m; allowed: above 0 m"):
        chezy_from_manning(0.012, 0.0)


def test_sizes_of_the_checked_function_are_checked() -> None:
    with pytest.raises(ValueError, match="diameter"):
        hazen_williams_head(0.1, 10.0, 0.0, 130.0)
    with pytest.raises(ValueError, match="length"):
        hazen_williams_head(0.1, -1.0, 0.1, 130.0)
