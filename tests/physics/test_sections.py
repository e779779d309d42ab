"""Cross-sections: closed forms, and slopes against differences."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopplan.physics.sections import CLOSED_FRACTION, FULL_FRACTION, Section


def one(width: float = 0.0, side_slope: float = 0.0, diameter: float = 0.0) -> Section:
    return Section(np.array([width]), np.array([side_slope]), np.array([diameter]))


def test_trapezoid_against_closed_form():
    section, depth = one(2.5, 1.5), np.array([1.2])
    assert section.area(depth)[0] == pytest.approx(2.5 * 1.2 + 1.5 * 1.2**2, rel=1e-14)
    assert section.top_width(depth)[0] == pytest.approx(2.5 + 2 * 1.5 * 1.2, rel=1e-14)
    wetted = 2.5 + 2 * 1.2 * math.sqrt(1 + 1.5**2)
    assert section.wetted_perimeter(depth)[0] == pytest.approx(wetted, rel=1e-14)
    assert section.hydraulic_radius(depth)[0] == pytest.approx(5.16 / wetted, rel=1e-14)


def test_half_full_circle_against_closed_form():
    section, depth = one(diameter=0.6), np.array([0.3])
    assert section.area(depth)[0] == pytest.approx(math.pi * 0.6**2 / 8, rel=1e-12)
    assert section.top_width(depth)[0] == pytest.approx(0.6, rel=1e-12)
    assert section.hydraulic_radius(depth)[0] == pytest.approx(0.15, rel=1e-12)
    # Closed form: centroid of a half disc lies 4 r / (3 pi) from its diameter.
    moment = math.pi * 0.3**2 / 2 * 4 * 0.3 / (3 * math.pi)
    assert section.first_moment(depth)[0] == pytest.approx(moment, rel=1e-12)


def test_over_full_circle_has_the_area_and_perimeter_of_the_full_circle():
    section, depth = one(diameter=0.5), np.array([0.5 * CLOSED_FRACTION])
    assert section.area(depth)[0] == pytest.approx(math.pi * 0.5**2 / 4, rel=1e-12)
    assert section.wetted_perimeter(depth)[0] == pytest.approx(math.pi * 0.5, rel=1e-12)
    # A metre of pressure head on top adds next to nothing.
    assert section.area(depth + 1.0)[0] == pytest.approx(math.pi * 0.5**2 / 4, rel=0.003)


@pytest.mark.parametrize(
    "section",
    [one(1.2), one(0.8, 1.5), one(0.0, 2.0), one(diameter=0.5)],
    ids=["b", "bz", "z", "d"],
)
@pytest.mark.parametrize("step", [1e-6, 1e-7])
def test_slopes_against_differences(section: Section, step: float):
    depth = np.linspace(0.02, 0.7, 321)

    def difference(law):
        return (law(depth + step) - law(depth - step)) / (2 * step)

    for law, slope in (
        (section.area, section.top_width(depth)),
        (section.top_width, section.top_width_rate(depth)),
        (section.wetted_perimeter, section.geometry(depth).perimeter_rate),
        (section.first_moment, section.area(depth)),
    ):
        np.testing.assert_allclose(difference(law), slope + 0 * depth, rtol=1e-5, atol=1e-5)


def test_circle_goes_on_without_a_jump_when_full():
    section = one(diameter=0.5)
    for fraction in (FULL_FRACTION, CLOSED_FRACTION):
        below, above = (np.array([0.5 * fraction * (1 + sign * 1e-12)]) for sign in (-1, 1))
        for law in (
            section.area,
            section.top_width,
            section.wetted_perimeter,
            section.top_width_rate,
            section.first_moment,
        ):
            assert law(above)[0] == pytest.approx(law(below)[0], rel=1e-7, abs=1e-7)


def test_shapes_broadcast_and_a_mixed_array_equals_its_members():
    mixed = Section(
        np.array([[1.0], [0.5], [0.0]]),
        np.array([[0.0], [1.0], [0.0]]),
        np.array([[0.0], [0.0], [0.4]]),
    )
    depth = np.linspace(0.05, 0.5, 5) * np.ones((3, 1))
    alone = [one(1.0), one(0.5, 1.0), one(diameter=0.4)]
    for name in ("area", "top_width", "wetted_perimeter", "top_width_rate", "first_moment"):
        together = getattr(mixed, name)(depth)
        assert together.shape == (3, 5)
        for row, section in enumerate(alone):
            np.testing.assert_allclose(
                together[row], getattr(section, name)(depth[row]), rtol=1e-14
            )


@pytest.mark.parametrize("size", [(-1.0, 0.0, 0.0), (0.0, 0.0, 0.0), (math.nan, 0.0, 0.0)])
def test_impossible_sections_are_refused(size: tuple[float, float, float]):
    with pytest.raises(ValueError, match=r"section|width"):
        one(*size)
