"""Bracketing of many roots and maxima at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics._roots import bracketed_root, highest


@given(st.lists(st.floats(-0.99, 0.99), min_size=1, max_size=8))
def test_roots_of_cubics(places: list[float]) -> None:
    # Closed form: x^3 + x is rising, and crosses its own value at x.
    goal = np.array(places)
    found = bracketed_root(
        lambda x: x**3 + x - goal**3 - goal, np.full(goal.shape, -1.0), np.ones(goal.shape)
    )
    assert found == pytest.approx(goal, abs=1e-12)


def test_falling_steep_and_kinked_functions() -> None:
    goal = np.array([1e-3, 0.5, 0.9])
    low, high = np.zeros(3), np.ones(3)
    assert bracketed_root(lambda x: np.exp(-50 * x) - np.exp(-50 * goal), low, high) == (
        pytest.approx(goal, rel=1e-9)
    )
    flat = bracketed_root(lambda x: np.where(x < goal, -1.0, 1e6 * (x - goal) + 1), low, high)
    assert flat == pytest.approx(goal, rel=1e-12)


def test_roots_at_the_ends_and_no_root() -> None:
    low, high = np.zeros(4), np.ones(4)
    offset = np.array([0.0, 1.0, -0.5, 3.0])
    # 0 and 1 are roots; else the nearer end.
    assert list(bracketed_root(lambda x: x - offset, low, high)) == [0.0, 1.0, 0.0, 1.0]


def test_how_few_calls_it_takes() -> None:
    calls = 0

    def smooth(x: np.ndarray) -> np.ndarray:
        nonlocal calls
        calls += 1
        return np.asarray(np.exp(x) - np.linspace(1.1, 2.7, 50))

    found = bracketed_root(smooth, np.zeros(50), np.ones(50))
    assert found == pytest.approx(np.log(np.linspace(1.1, 2.7, 50)), rel=1e-12)
    assert calls < 25


def test_highest() -> None:
    goal = np.array([-0.5, 0.0, 0.7])
    found = highest(lambda x: -((x - goal) ** 2), np.full(3, -1.0), np.ones(3))
    assert found == pytest.approx(goal, abs=1e-7)
    # A function that rises all the way is highest at the end.
    assert highest(lambda x: x, np.zeros(1), np.ones(1)) == pytest.approx(1.0, abs=1e-7)
