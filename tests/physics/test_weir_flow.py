"""Weirs and sills, free and drowned."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopplan.physics.constants import GRAVITY
from loopplan.physics.weirs import (
    STRAIGHT_FROM,
    WeirCoefficients,
    drowning_factor,
    weir_coefficients,
    weir_flow,
    weir_head,
)
from tests.validation_page import Published

FOOT = 0.3048
CUBIC_FOOT = FOOT**3

FORMS = [
    weir_coefficients("sharp", width=0.8, crest_height=0.4),
    weir_coefficients("rehbock", width=0.8, crest_height=0.4),
    weir_coefficients("contracted", width=0.4, crest_height=0.4, channel_width=1.2),
    weir_coefficients("V-notch", angle=math.pi / 2),
    weir_coefficients("broad", width=1.5),
    weir_coefficients("rounded", width=1.5),
    weir_coefficients("coefficient", width=1.0, coefficient=0.62),
]
form = pytest.mark.parametrize("c", FORMS, ids=lambda c: f"{c.source}-{c.exponent}")


def flow(c: WeirCoefficients, up, down=-1.0):
    """Flow and slopes over one crest."""
    return weir_flow(up, down, c.c0, c.c1, c.kh, c.exponent, c.modular_limit, c.drown_exponent)


def free(form: str, head: float, **geometry: float) -> float:
    return float(flow(weir_coefficients(form, **geometry), head)[0])


def test_w1_rehbock(published: Published) -> None:
    size = {"width": 7.573 * FOOT, "crest_height": 2.85 * FOOT}
    source = "Lal, Hydraulics, Ex. 4.5 p. 108"
    published(
        "W1",
        source,
        "flow of a full-width sharp crest, Rehbock",
        34.12,
        free("rehbock", 1.2 * FOOT, **size) / CUBIC_FOOT,
        # The book has the foot form, this is the metric one: 0.1 % apart.
        "0.2 %",
        "ft3/s",
        "read",
    )
    published(
        "W1",
        source,
        "the same by Kindsvater and Carter, against Rehbock",
        34.12,
        free("sharp", 1.2 * FOOT, **size) / CUBIC_FOOT,
        "1 %",
        "ft3/s",
        "read",
    )
    published(
        "W1",
        source,
        "the same with Cd 0.62",
        33.02,
        free("coefficient", 1.2 * FOOT, width=7.573 * FOOT, coefficient=0.62) / CUBIC_FOOT,
        # The book takes g = 32.2 ft/s2.
        0.02,
        "ft3/s",
        "read",
    )


def test_w3_heads_from_flow(published: Published) -> None:
    source = "Brasch and Whyman, Problems in Fluid Flow, Ex. 5.5 p. 91"
    c = weir_coefficients("coefficient", width=0.46, coefficient=0.62)
    full = weir_head(0.355, c.c0, c.c1, c.kh, c.exponent)
    # Francis' contracted form 1.84 (b - 0.2 H) H^1.5 is one of the general law.
    francis = weir_head(0.355, 1.84 * 0.46, -1.84 * 0.2, 0.0, 1.5)
    published("W3", source, "head, full width, Cd 0.62", 0.5622, full, "0.05 %", "m", "read")
    published("W3", source, "head, Francis, contracted", 0.7196, francis, 5e-5, "m", "read")


def test_w9_broad_crest(published: Published) -> None:
    source = "solved textbook problem 15.19, ideal broad crest"
    q = free("broad", 0.65, width=10.0, coefficient=1.0)
    published("W9", source, "flow", 8.9, q, 0.05, "m3/s", "read")
    depth = (q**2 / 100.0 / GRAVITY) ** (1 / 3)
    published("W9", source, "critical depth", 0.43, depth, 5e-3, "m", "read")


@pytest.mark.parametrize(
    ("share", "expected"),
    [(1.0, 86.59), (0.8, 83.99), (0.6, 81.08), (0.4, 79.58), (0.2, 78.58), (0.0, 78.27)],
)
def test_contracted_crests_of_iso_1438(share: float, expected: float) -> None:
    # Second computation from the coefficients of ISO 1438 (from memory), g = 9.81.
    channel = 0.5 / share if share else 1e9
    q = free("contracted", 0.2, width=0.5, crest_height=0.3, channel_width=channel)
    assert 1e3 * q == pytest.approx(expected, rel=3e-4)


@pytest.mark.parametrize(
    ("head", "expected"),
    [(0.06, 1.247), (0.10, 4.410), (0.15, 12.07), (0.20, 24.69), (0.30, 67.79)],
)
def test_v_notch_of_iso_1438(head: float, expected: float) -> None:
    # Second computation from Ce 0.578 and kh 0.85 mm (from memory), g = 9.81.
    assert 1e3 * free("V-notch", head, angle=math.pi / 2) == pytest.approx(expected, rel=4e-4)


@pytest.mark.parametrize(
    ("head", "expected"), [(0.5, 0.446), (0.75, 1.22), (1.0, 2.49), (1.25, 4.33)]
)
def test_v_notch_against_another_formula(
    published: Published, head: float, expected: float
) -> None:
    published(
        "V90",
        "USBR Water Measurement Manual, 2.49 h^2.48",
        f"flow of a 90 degree notch at {head} ft",
        expected,
        free("V-notch", head * FOOT, angle=math.pi / 2) / CUBIC_FOOT,
        # Two formulas of 1 to 2 % each.
        "2 %",
        "ft3/s",
        "from memory",
    )


def test_v_notch_over_its_angle() -> None:
    angles = np.radians(np.linspace(20.0, 100.0, 81))
    forms = [weir_coefficients("V-notch", angle=a) for a in angles]
    ce = [
        c.c0 / np.tan(a / 2) / (8 / 15 * math.sqrt(2 * GRAVITY))
        for c, a in zip(forms, angles, strict=True)
    ]
    # The chart of the standard runs from 0.592 at 20 to 0.576 at the least to 0.581 at 100
    # degrees, and kh from 2.8 mm to 0.8 mm (from memory).
    assert ce[0] == pytest.approx(0.592, abs=1e-3)
    assert min(ce) == pytest.approx(0.576, abs=1e-3)
    assert ce[-1] == pytest.approx(0.581, abs=1e-3)
    assert forms[0].kh == pytest.approx(2.8e-3, abs=2e-4)
    assert all(0.8e-3 < c.kh < 2.9e-3 for c in forms)


@pytest.mark.parametrize(
    ("exponent", "factors"),
    [
        (1.5, [0.9646, 0.8938, 0.8454, 0.7861, 0.6163, 0.4770]),
        (2.5, [0.9931, 0.9598, 0.9278, 0.8817, 0.7210, 0.5694]),
    ],
)
def test_villemonte_factors(exponent: float, factors: list[float]) -> None:
    # Closed form: second evaluation of Villemonte's formula (read); no worked example is known.
    ratio = np.array([0.2, 0.4, 0.5, 0.6, 0.8, 0.9])
    assert drowning_factor(ratio, 0.0, exponent)[0] == pytest.approx(factors, abs=5e-5)


def test_drowned_weir_lies_by_the_other_classical_method() -> None:
    # Lal, Hydraulics, Ex. 4.14 p. 119 (read): the split method gives 7.142 ft3/s where
    # Villemonte on Francis gives 5.97; the two are known to differ by some 20 %.
    q = weir_flow(0.5 * FOOT, 0.25 * FOOT, 0.552 * 3.33 * 6 * FOOT, 0.0, 0.0, 1.5, 0.0, 1.5)[0]
    assert q / CUBIC_FOOT == pytest.approx(5.97, rel=3e-3)
    assert q / CUBIC_FOOT == pytest.approx(7.142, rel=0.2)


@form
def test_tail_below_the_crest_or_the_modular_limit_changes_nothing(c: WeirCoefficients) -> None:
    q = flow(c, 0.2)[0]
    for tail in (-3.0, 0.0, 0.1999 * c.modular_limit):
        q_tail, _, by_tail = flow(c, 0.2, tail)
        assert q_tail == q
        assert by_tail == 0.0


@form
def test_dry_and_level_crests_pass_nothing(c: WeirCoefficients) -> None:
    for up, down in ((-0.1, -0.2), (0.0, 0.0), (-0.3, 0.0), (0.2, 0.2)):
        assert flow(c, up, down)[0] == 0.0
        assert np.isfinite(flow(c, up, down)).all()


@form
def test_flow_starts_from_zero_at_the_crest(c: WeirCoefficients) -> None:
    heads = np.array([1e-12, 1e-9, 1e-6])
    assert (flow(c, heads)[0] < 20.0 * heads).all()


@form
def test_back_flow_mirrors(c: WeirCoefficients) -> None:
    rng = np.random.default_rng(5)
    a, b = rng.uniform(-0.1, 0.6, (2, 500))
    q, by_a, by_b = flow(c, a, b)
    back, by_up, by_down = flow(c, b, a)
    assert (q == -back).all()
    differ = a != b
    assert (by_a == -by_down)[differ].all()
    assert (by_b == -by_up)[differ].all()


@form
def test_flow_has_no_jump_and_grows_the_right_way(c: WeirCoefficients) -> None:
    rng = np.random.default_rng(1)
    for tail in rng.uniform(-0.05, 0.4, 20):
        up = np.linspace(-0.05, 0.5, 20001)
        q, by_up, by_down = flow(c, up, np.full_like(up, tail))
        gap = np.diff(q)
        assert (gap >= 0.0).all()
        # No step is longer than the steepest slope allows.
        assert (gap <= 1.01 * np.maximum(by_up[1:], by_up[:-1]).max() * 2.75e-5).all()
        assert (by_up >= 0.0).all()
        assert (by_down <= 0.0).all()


@form
def test_slopes_are_those_of_the_flow(c: WeirCoefficients) -> None:
    rng = np.random.default_rng(2)
    a, b = rng.uniform(-0.1, 0.5, (2, 20000))
    high, low = np.maximum(a, b), np.minimum(a, b)
    # Away from the crest, the straight end's corner, the modular limit and equal levels.
    ratio = low / np.maximum(high, 1e-9)
    clear = (np.abs(a) > 1e-4) & (np.abs(b) > 1e-4) & (np.abs(a - b) > 1e-4)
    clear &= (np.abs(ratio - STRAIGHT_FROM) > 1e-3) & (np.abs(ratio - c.modular_limit) > 1e-2)
    a, b = a[clear], b[clear]
    _, by_a, by_b = flow(c, a, b)
    for step in (1e-6, 1e-7):
        num_a = (flow(c, a + step, b)[0] - flow(c, a - step, b)[0]) / (2 * step)
        num_b = (flow(c, a, b + step)[0] - flow(c, a, b - step)[0]) / (2 * step)
        assert by_a == pytest.approx(num_a, rel=1e-5, abs=2e-7)
        assert by_b == pytest.approx(num_b, rel=1e-5, abs=2e-7)


def test_end_of_the_drowning_factor_is_straight_and_meets_both_sides() -> None:
    for limit, exponent in ((0.0, 1.5), (0.0, 2.5), (0.75, 1.5)):
        at = drowning_factor(STRAIGHT_FROM, limit, exponent)[0]
        s = np.linspace(STRAIGHT_FROM + 1e-9, 1.0, 11)
        factor, slope = drowning_factor(s, limit, exponent)
        assert factor == pytest.approx(at * (1.0 - s) / (1.0 - STRAIGHT_FROM), abs=1e-7)
        assert slope == pytest.approx(np.full(11, -at / 0.05), rel=1e-12)


@form
def test_head_is_the_inverse_of_the_free_flow(c: WeirCoefficients) -> None:
    q = np.array([0.0, 1e-9, 1e-6, 1e-4, 3e-3, 0.05, 0.4])
    head = weir_head(q, c.c0, c.c1, c.kh, c.exponent)
    assert head[0] == 0.0
    assert (np.diff(head) > 0.0).all()
    assert flow(c, head)[0] == pytest.approx(q, rel=1e-11, abs=1e-14)


def test_wider_crest_passes_more_and_lower_crest_passes_more() -> None:
    assert free("sharp", 0.1, width=1.0, crest_height=0.3) < free(
        "sharp", 0.1, width=1.2, crest_height=0.3
    )
    assert free("sharp", 0.1, width=1.0, crest_height=0.3) > free(
        "sharp", 0.1, width=1.0, crest_height=0.6
    )


@pytest.mark.parametrize(
    ("form", "geometry", "words"),
    [
        ("v notch", {}, "did you mean 'V-notch'"),
        ("sharp", {"width": 1.0}, "crest_height"),
        ("sharp", {"width": 0.0, "crest_height": 0.3}, "width is 0 m; allowed: above 0 m"),
        ("sharp", {"width": float("nan"), "crest_height": 0.3}, "width is nan m"),
        ("contracted", {"width": 2.0, "crest_height": 1.0, "channel_width": 1.0}, "0 to 1"),
        ("V-notch", {"angle": 3.0}, "angle is 3 rad"),
        ("broad", {"width": 1.0, "depth": 2.0}, "depth"),
        ("coefficient", {"width": 1.0, "coefficient": 3.0}, "allowed"),
    ],
)
def test_wrong_crests_are_refused(form: str, geometry: dict[str, float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        weir_coefficients(form, **geometry)
