"""Openings between two levels, orifices and jets."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from loopplan.physics.constants import GRAVITY
from loopplan.physics.openings import (
    SMALL_DIFFERENCE,
    jet_velocity,
    nozzle_head,
    opening_flow,
    orifice_k,
    pipe_orifice_flow,
)
from tests.validation_page import Published

FOOT = 0.3048


def flow(up, down, invert=0.3, soffit=0.7, width=1.2, cd=0.62):
    return opening_flow(up, down, invert, soffit, width, cd)


def test_w13_split_method(published: Published) -> None:
    # The book has one coefficient for each part: free 0.58, drowned 0.8. Each part alone:
    # the drowned part is what a higher soffit does not change, the free part the rest.
    up, tail, width = 0.5 * FOOT, 0.25 * FOOT, 6 * FOOT
    drowned = opening_flow(up, tail, 0.0, tail, width, 0.8)[0]
    free = opening_flow(up, tail, tail, 10.0, width, 0.58)[0]
    published(
        "W13",
        "Lal, Hydraulics, Ex. 4.14 p. 119",
        "flow over a drowned crest, split method",
        7.142,
        (free + drowned) / FOOT**3,
        # The book takes g = 32.2 ft/s2 (0.04 %) and rounds.
        "0.1 %",
        "ft3/s",
        "read",
    )


def test_w14_orifice_in_a_tank(published: Published) -> None:
    v = 4.707e-3 / (math.pi / 4 * 0.04**2)
    head = orifice_k(0.598) * v**2 / (2 * GRAVITY)
    published(
        "W14", "Subramanya, 1000 Solved Problems, Ex. 13.1 p. 320", "head", 2.0, head, "0.2 %",
        "m", "read",
    )  # fmt: skip
    published(
        "W14",
        "Subramanya, 1000 Solved Problems, Ex. 13.1 p. 320",
        "velocity of the jet, Cv 0.949, against flow over contracted area",
        4.707e-3 / (0.63 * math.pi / 4 * 0.04**2),
        jet_velocity(2.0, 0.949),
        "0.2 %",
        "m/s",
        "read",
    )


def test_w16_orifice_plate(published: Published) -> None:
    # 11 cm of mercury over methanol (788.4 kg/m3).
    head = 0.11 * (13600.0 / 788.4 - 1.0)
    published(
        "W16",
        "Çengel and Cimbala, Fluid Mechanics, Ex. 8-10 p. 385",
        "flow",
        3.09,
        1e3 * pipe_orifice_flow(head, 0.03, 0.04, 0.61),
        5e-3,
        "L/s",
        "read",
    )


FORWARD = [
    (up, down)
    for up in (0.31, 0.5, 0.7, 0.75, 1.4)
    for down in (0.0, 0.3, 0.45, 0.69, 0.7, 0.8)
    if up - down > SMALL_DIFFERENCE
]


@pytest.mark.parametrize(("up", "down"), FORWARD)
def test_flow_is_the_integral_over_the_strips(up: float, down: float) -> None:
    def strip(z: float) -> float:
        return 0.62 * 1.2 * math.sqrt(2 * GRAVITY * (up - max(z, down)))

    top = min(up, 0.7)
    edges = [min(max(down, 0.3), top)]
    expected = quad(strip, 0.3, top, points=edges, epsabs=1e-12, limit=200)[0]
    assert flow(up, down)[0] == pytest.approx(expected, rel=1e-7)


def test_high_head_is_that_of_an_orifice() -> None:
    # A small opening far below the surface: Q = cd A sqrt(2 g h), free or drowned.
    expected = 0.62 * 0.01 * math.sqrt(2 * GRAVITY * 2.0)
    assert opening_flow(2.005, -1.0, 0.0, 0.01, 1.0, 0.62)[0] == pytest.approx(expected, rel=1e-5)
    assert opening_flow(3.0, 1.0, 0.0, 0.01, 1.0, 0.62)[0] == pytest.approx(expected, rel=1e-12)


def test_flow_has_no_jump_and_grows_the_right_way() -> None:
    levels = np.linspace(0.2, 1.0, 16001)
    for other in (0.1, 0.3, 0.4, 0.55, 0.7, 0.9):
        q, by_up, by_down = flow(levels, np.full_like(levels, other))
        assert (np.diff(q) >= 0.0).all()
        assert np.diff(q).max() <= 1.01 * by_up.max() * 5e-5
        assert (by_up >= -1e-12).all()
        assert (by_down <= 1e-12).all()


def test_slopes_are_those_of_the_flow() -> None:
    rng = np.random.default_rng(3)
    a, b = rng.uniform(0.2, 1.0, (2, 20000))
    # Away from the edges and from equal levels, where the slopes break.
    edges = np.array([0.3, 0.7])
    clear = np.abs(a - b) > 1e-3
    for level in (a, b):
        clear &= (np.abs(level[:, None] - edges) > 1e-3).all(axis=1)
    a, b = a[clear], b[clear]
    _, by_a, by_b = flow(a, b)
    for step in (1e-6, 1e-7):
        num_a = (flow(a + step, b)[0] - flow(a - step, b)[0]) / (2 * step)
        num_b = (flow(a, b + step)[0] - flow(a, b - step)[0]) / (2 * step)
        assert by_a == pytest.approx(num_a, rel=1e-5, abs=1e-6)
        assert by_b == pytest.approx(num_b, rel=1e-5, abs=1e-6)


@pytest.mark.parametrize("tail", [0.5, 0.9])
def test_small_differences_have_a_finite_slope_that_fits(tail: float) -> None:
    difference = SMALL_DIFFERENCE * np.array([0.0, 0.02, 0.3, 0.7, 0.999, 1.001, 1.5])
    step = 1e-9
    q, by_up, by_down = flow(tail + difference, tail)
    assert q[0] == 0.0
    num = flow(tail + difference[1:] + step, tail)[0] - flow(tail + difference[1:] - step, tail)[0]
    assert by_up[1:] == pytest.approx(num / (2 * step), rel=1e-4)
    # Near zero the flow is a straight line in the difference.
    assert q[1] == pytest.approx(by_up[0] * difference[1], rel=0.02)
    assert by_down[0] == pytest.approx(-by_up[0], rel=1e-9)


def test_back_flow_mirrors() -> None:
    a, b = np.random.default_rng(4).uniform(0.2, 1.0, (2, 500))
    q, by_a, by_b = flow(a, b)
    back, by_up, by_down = flow(b, a)
    assert (q == -back).all()
    assert (by_a == -by_down).all()
    assert (by_b == -by_up).all()


def test_dry_opening_passes_nothing() -> None:
    assert (np.array(flow(0.29, 0.1)) == 0.0).all()
    assert (np.array(flow(0.1, 0.3)) == 0.0).all()


def test_nozzle_and_jet_are_inverse() -> None:
    for cv in (0.8, 0.95, 1.0):
        assert nozzle_head(jet_velocity(1.7, cv), cv) == pytest.approx(1.7, rel=1e-12)
    # Closed form: v^2/2g.
    assert nozzle_head(3.0) == pytest.approx(9.0 / 2.0 / 9.80665, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: orifice_k(0.0), "coefficient of discharge"),
        (lambda: orifice_k(1.2), "coefficient of discharge"),
        (lambda: jet_velocity(-1.0), "head is -1 m"),
        (lambda: nozzle_head(1.0, 0.0), "velocity coefficient"),
        (lambda: pipe_orifice_flow(0.1, 0.1, 0.1), "bore over diameter"),
        (lambda: pipe_orifice_flow(float("nan"), 0.05, 0.1), "head difference is nan"),
    ],
)
def test_outside_the_range_is_refused(call, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
