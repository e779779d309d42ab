"""Racks, plates and meshes: tables, closed forms, and an independent library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.filters import round_edge_screen, square_edge_screen
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics.constants import GRAVITY
from loopplan.physics.screens import (
    BAR_SHAPES,
    bar_rack_k,
    mesh_k,
    net_area_rack_k,
    perforated_plate_k,
)
from tests.validation_page import Published

UPRIGHT = math.pi / 2.0
BY_FREE_AREA = [net_area_rack_k, perforated_plate_k, mesh_k]
BLINDED = st.floats(0.0, 0.95)
FREE = st.floats(0.05, 0.95)


@pytest.mark.parametrize(
    ("shape", "factor"),
    [
        ("sharp", 2.42),
        ("rounded upstream", 1.83),
        ("round", 1.79),
        ("rounded both", 1.67),
        ("tear-drop", 0.76),
    ],
)
def test_shape_factors_of_bars(published: Published, shape: str, factor: float) -> None:
    # Bars as thick as their distance, upright: K is the factor itself.
    computed = bar_rack_k(0.01, 0.01, UPRIGHT, shape)
    quantity = f"K, {shape} bars as thick as their distance"
    published("bar rack", "Kirschmer 1926", quantity, factor, computed, 0.001, "-", "from memory")


def test_shapes_are_those_of_the_table() -> None:
    assert len(BAR_SHAPES) == 5


def test_rack_in_figures() -> None:
    # Closed form: 2.42 (s/b)^(4/3) sin(75 deg) v^2/2g by hand, s/b 0.5, v 0.6 m/s.
    head = bar_rack_k(0.01, 0.02, math.radians(75.0)) * 0.6**2 / (2.0 * GRAVITY)
    assert head == pytest.approx(0.01703, abs=2e-5)


def test_leaning_rack_and_slender_bars_lose_less() -> None:
    angle = np.radians([30.0, 60.0, 90.0])
    assert (np.diff(bar_rack_k(0.01, 0.02, angle)) > 0.0).all()
    assert bar_rack_k(0.01, 0.02, angle)[0] == pytest.approx(bar_rack_k(0.01, 0.02, UPRIGHT) / 2)
    # Power 4/3: twice the thickness.
    ratio = bar_rack_k(0.02, 0.02, UPRIGHT) / bar_rack_k(0.01, 0.02, UPRIGHT)
    assert ratio == pytest.approx(2.0 ** (4.0 / 3.0))


@given(st.floats(0.1, 1.5), BLINDED)
def test_blinding_narrows_the_jet_of_a_rack(thickness: float, blinded: float) -> None:
    # Closed form: K = (1/m - 1)^2 of a jet that fills the share m, Borda and Carnot.
    def jet(k: float) -> float:
        return 1.0 / (1.0 + math.sqrt(k))

    clean = float(bar_rack_k(thickness, 1.0, UPRIGHT))
    closed = float(bar_rack_k(thickness, 1.0, UPRIGHT, "sharp", blinded))
    assert jet(closed) == pytest.approx(jet(clean) * (1.0 - blinded), rel=1e-9)
    # Bars that stand closer lose less than bars that stand as they did, with debris between.
    closer = float(bar_rack_k(thickness, 1.0 - blinded, UPRIGHT))
    assert closed >= closer * (1.0 - 1e-9)


def test_rack_by_net_area(published: Published) -> None:
    for free, value in ((0.5, 0.975), (0.7, 0.645), (0.8, 0.450)):
        # The source puts K on the velocity between the bars.
        computed = net_area_rack_k(free) * free**2
        quantity = f"K on net velocity, net area {free:g}"
        published("rack", "Creager; USBR", quantity, value, computed, 0.0005, "-", "from memory")


def test_m5_rack_by_net_area_and_by_velocities(published: Published) -> None:
    # Two formulas for one rack: approach 0.6 m/s, 0.9 m/s between the bars.
    head = net_area_rack_k(0.6 / 0.9) * 0.6**2 / (2.0 * GRAVITY)
    source = "Metcalf and Eddy form, (V^2 - v^2) / (0.7 2g), worked on a calculator page"
    quantity = "head of a rack, by the formula of Creager and USBR"
    published("M5", source, quantity, 0.033, head, "15 %", "m", "read")


def test_perforated_plate(published: Published) -> None:
    table = {
        0.05: 1050.0,
        0.1: 245.0,
        0.15: 98.0,
        0.2: 51.5,
        0.25: 30.0,
        0.3: 18.2,
        0.4: 8.25,
        0.5: 4.00,
        0.6: 2.00,
        0.7: 0.97,
        0.8: 0.42,
        0.9: 0.13,
    }
    source = "Idelchik, Handbook of Hydraulic Resistance, diagram 8-1"
    for free, value in table.items():
        computed = perforated_plate_k(free)
        quantity = f"K, free area {free:g}"
        published("plate", source, quantity, value, computed, "2.5 %", "-", "from memory")


@pytest.mark.parametrize("free", [0.2, 0.3, 0.4, 0.5, 0.6])
def test_perforated_plate_against_another_handbook(free: float) -> None:
    # Blevins' table of square-edged screens, in an independent library.
    assert perforated_plate_k(free) == pytest.approx(square_edge_screen(free), rel=0.1)


@pytest.mark.parametrize("free", [0.4, 0.5, 0.6, 0.7, 0.8])
def test_mesh_against_another_handbook(free: float) -> None:
    # Blevins' round-wire screens, in an independent library.
    assert mesh_k(free) == pytest.approx(round_edge_screen(free, Re=1000.0), rel=0.15)


def test_slow_water_costs_more_in_a_mesh() -> None:
    reynolds = np.array([5.0, 20.0, 50.0, 1e3, np.inf])
    assert (np.diff(mesh_k(0.5, 0.0, reynolds)) < 0.0).all()
    assert mesh_k(0.5, 0.0, 1e9) == pytest.approx(mesh_k(0.5))


def test_round_wire_loses_less_than_a_sharp_plate() -> None:
    free = np.linspace(0.1, 0.8, 15)
    assert (mesh_k(free) < perforated_plate_k(free)).all()


@pytest.mark.parametrize("law", BY_FREE_AREA)
def test_open_water_loses_nothing(law) -> None:
    assert law(1.0) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("law", BY_FREE_AREA)
@given(FREE, BLINDED)
def test_blinding_takes_free_area(law, free: float, blinded: float) -> None:
    left = free * (1.0 - blinded)
    if left >= 0.01:
        assert law(free, blinded) == pytest.approx(law(left), rel=1e-9)


@pytest.mark.parametrize(
    "law", [*BY_FREE_AREA, lambda free, x: bar_rack_k(1.0 - free, free, UPRIGHT, "round", x)]
)
@given(FREE, BLINDED, BLINDED)
def test_more_blinding_never_loses_less(law, free: float, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert law(free, more) >= law(free, less) >= 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: bar_rack_k(0.0, 0.02, 1.3),
        lambda: bar_rack_k(0.01, -0.02, 1.3),
        lambda: bar_rack_k(0.01, 0.02, 0.0),
        lambda: bar_rack_k(0.01, 0.02, 75.0),
        lambda: bar_rack_k(0.01, 0.02, 1.3, "sharp", 0.96),
        lambda: bar_rack_k(0.01, 0.02, 1.3, "sharp", -0.1),
        lambda: perforated_plate_k(1.01),
        lambda: perforated_plate_k(0.0),
        lambda: perforated_plate_k(0.4, 1.0),
        lambda: net_area_rack_k(math.nan),
        lambda: mesh_k(np.array([0.5, 2.0])),
        lambda: mesh_k(0.5, 0.0, 0.0),
    ],
)
def test_what_is_out_of_range_is_refused(call) -> None:
    with pytest.raises(ValueError, match="allowed: "):
        call()


def test_unknown_shape_is_told_the_known_ones() -> None:
    with pytest.raises(ValueError, match="known: sharp, rounded upstream, round"):
        bar_rack_k(0.01, 0.02, 1.3, "square")


def test_arrays_go_in_and_out() -> None:
    assert bar_rack_k(0.01, np.array([0.02, 0.03]), 1.3).shape == (2,)
    assert perforated_plate_k(0.4, np.array([[0.0], [0.4]])).shape == (2, 1)
