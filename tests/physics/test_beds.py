"""Packed and lifted beds: published cases, an independent library, and balance of weight."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.packed_bed import Ergun
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from loopplan.physics.beds import (
    ergun_coefficients,
    expanded_porosity,
    fluidised_head,
    minimum_fluidisation_velocity,
)
from loopplan.physics.constants import GRAVITY
from tests.validation_page import Published

FOOT = 0.3048
SIZE = st.floats(2e-4, 2e-2)
POROSITY = st.floats(0.3, 0.9)
SPHERICITY = st.floats(0.4, 1.0)
DENSITY = st.floats(1020.0, 4000.0)
WATER = 999.7
VISCOSITY = 1.306e-6


def test_b1_bed_of_spheres(published: Published) -> None:
    source = "GATE examination, chemical engineering, year not stated"
    a, b = ergun_coefficients(1.5e-3, 0.4, 1.0, 1.0, 1e-6)
    weight = 1000.0 * GRAVITY
    published("B1", source, "laminar coefficient", 375e3, a * weight, "0.1 %", "Pa s/m2", "read")
    published(
        "B1", source, "inertial coefficient", 10.94e6, b * weight, "0.1 %", "Pa s2/m3", "read"
    )
    voids = expanded_porosity(0.4, 1.0 / 0.5)
    published("B1", source, "voids when lifted from 0.5 to 1.0 m", 0.7, voids, 1e-6, "-", "read")


def test_b3_laminar_part(published: Published) -> None:
    # Laminar part only, as in the book; foot units, head 1.25 ft over 1 ft.
    viscosity = 6.76e-4 / 62.4 * FOOT**2
    a, _ = ergun_coefficients(0.00417 * FOOT, 0.25, 1.0 * FOOT, 1.0, viscosity)
    velocity = 1.25 * FOOT / a / FOOT
    source = "Abulencia and Theodore, Fluid Flow for the Practicing Chemical Engineer, 26.2 p. 382"
    published("B3", source, "velocity", 0.012, velocity, "0.5 %", "ft/s", "read")


def test_b4_inertial_part(published: Published) -> None:
    # Inertial part only, as in the book; head in feet of the flowing gas.
    _, b = ergun_coefficients(0.0833 * FOOT, 0.4, 50.0 * FOOT, 1.0, 1e-6)
    head = b * (2.0 * FOOT) ** 2 / FOOT
    source = "Abulencia and Theodore, Fluid Flow for the Practicing Chemical Engineer, 26.8 p. 393"
    published("B4", source, "head", 1224.0, head, "0.1 %", "ft", "read")


def test_form_of_the_water_handbook() -> None:
    # Davis, p. 11-13: h = (f/phi) (1-e)/e^3 (L/d) v^2/g with f = 150 (1-e)/Re + 1.75 and
    # Re = phi v d / nu; average sand, 10 m/h.
    phi, e, d, depth, v = 0.75, 0.42, 0.6e-3, 0.7, 10.0 / 3600.0
    f = 150.0 * (1.0 - e) / (phi * v * d / VISCOSITY) + 1.75
    book = f / phi * (1.0 - e) / e**3 * depth / d * v**2 / GRAVITY
    a, b = ergun_coefficients(d, e, depth, phi, VISCOSITY)
    assert a * v + b * v**2 == pytest.approx(book, rel=1e-9)


@given(SIZE, POROSITY, SPHERICITY, st.floats(1e-4, 0.2))
def test_ergun_matches_the_library(size: float, e: float, phi: float, velocity: float) -> None:
    a, b = ergun_coefficients(size, e, 0.8, phi, VISCOSITY)
    pressure = Ergun(dp=size * phi, voidage=e, vs=velocity, rho=WATER, mu=WATER * VISCOSITY, L=0.8)
    assert (a * velocity + b * velocity**2) * WATER * GRAVITY == pytest.approx(pressure, rel=1e-9)


@given(SIZE, POROSITY, SPHERICITY)
def test_denser_and_finer_beds_lose_more(size: float, e: float, phi: float) -> None:
    base = ergun_coefficients(size, e, 0.5, phi, VISCOSITY)
    for other in (
        ergun_coefficients(size * 0.9, e, 0.5, phi, VISCOSITY),
        ergun_coefficients(size, e * 0.9, 0.5, phi, VISCOSITY),
        ergun_coefficients(size, e, 0.5, phi * 0.9, VISCOSITY),
        ergun_coefficients(size, e, 0.6, phi, VISCOSITY),
    ):
        assert other[0] > base[0]
        assert other[1] > base[1]


@given(SIZE, POROSITY, SPHERICITY, DENSITY, st.floats(0.1, 3.0))
def test_bed_lifts_where_its_loss_carries_its_weight(
    size: float, e: float, phi: float, density: float, depth: float
) -> None:
    v = minimum_fluidisation_velocity(size, e, phi, VISCOSITY, density, WATER)
    a, b = ergun_coefficients(size, e, depth, phi, VISCOSITY)
    assert a * v + b * v**2 == pytest.approx(fluidised_head(depth, e, density, WATER), rel=1e-9)


def test_weight_of_a_bed_in_water() -> None:
    # Closed form, by hand: 1 m of grains, 60 % solid, 2.6 times as heavy as the (salt) water.
    assert fluidised_head(1.0, 0.4, 2.6 * 1025.0, 1025.0) == pytest.approx(0.96)


@given(POROSITY, DENSITY, st.floats(1.0, 5.0))
def test_lifting_leaves_the_weight(e: float, density: float, expansion: float) -> None:
    # Closed form: a lifted bed is deeper and looser, and weighs what it did.
    lifted = expanded_porosity(e, expansion)
    if lifted <= 0.98:
        assert fluidised_head(0.7 * expansion, lifted, density, WATER) == pytest.approx(
            fluidised_head(0.7, e, density, WATER), rel=1e-9
        )


@pytest.mark.parametrize("size", [2e-4, 5e-4, 1e-3, 3e-3])
def test_bed_lifts_as_wen_and_yu_measured(size: float) -> None:
    # Wen and Yu 1966, from memory: Re = sqrt(33.7^2 + 0.0408 Ar) - 33.7. It is the balance of
    # loss and weight with 1/(phi e^3) = 14 and (1-e)/(phi^2 e^3) = 11.
    e = brentq(lambda x: 14.0**2 * (1.0 - x) * x**3 - 11.0, 0.3, 0.5)
    phi = 1.0 / (14.0 * e**3)
    archimedes = GRAVITY * size**3 * (2650.0 - WATER) / WATER / VISCOSITY**2
    wen_yu = (np.sqrt(33.7**2 + 0.0408 * archimedes) - 33.7) * VISCOSITY / size
    computed = minimum_fluidisation_velocity(size, e, phi, VISCOSITY, 2650.0, WATER)
    assert computed == pytest.approx(wen_yu, rel=0.005)


@pytest.mark.parametrize(
    "call",
    [
        lambda: ergun_coefficients(0.0, 0.4, 1.0, 1.0, 1e-6),
        lambda: ergun_coefficients(1e-3, 0.1, 1.0, 1.0, 1e-6),
        lambda: ergun_coefficients(1e-3, 1.0, 1.0, 1.0, 1e-6),
        lambda: ergun_coefficients(1e-3, 0.4, -1.0, 1.0, 1e-6),
        lambda: ergun_coefficients(1e-3, 0.4, 1.0, 1.1, 1e-6),
        lambda: ergun_coefficients(1e-3, 0.4, 1.0, 1.0, np.nan),
        lambda: fluidised_head(1.0, 0.4, 950.0, 1000.0),
        lambda: minimum_fluidisation_velocity(1e-3, 0.4, 1.0, 1e-6, 1000.0, 1000.0),
        lambda: expanded_porosity(0.4, 0.9),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()
