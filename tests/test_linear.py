"""The linear systems of the Newton: dense and sparse are one thing in two forms."""

from __future__ import annotations

import numpy as np
import pytest

from loopplan.loop import linear
from loopplan.loop.linear import Linear, Sums

VARIANTS = 3


def entries(size: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A band with doubled places: row, column, values (entries, variants)."""
    n = np.arange(size)
    row = np.concatenate([n, n[1:], n[:-1], n])
    column = np.concatenate([n, n[:-1], n[1:], n])
    values = np.random.default_rng(2).uniform(0.5, 1.0, (row.size, VARIANTS))
    values[:size] += 3.0
    return row, column, values


def test_sums_add_what_shares_a_place() -> None:
    sums = Sums(np.array([2, 0, 2]), 4, 2)
    found = sums(np.array([[1.0, 10.0], [2.0, 20.0], [4.0, 40.0]]))
    assert found.tolist() == [[2.0, 0.0, 5.0, 0.0], [20.0, 0.0, 50.0, 0.0]]


@pytest.mark.parametrize("dense", [True, False])
def test_solution_fulfils_the_equations(dense: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    size = 12
    monkeypatch.setattr(linear, "DENSE", size if dense else 0)
    row, column, values = entries(size)
    right = np.random.default_rng(3).normal(size=(size, VARIANTS))
    system = Linear(row, column, size, VARIANTS)
    assert system.dense is dense
    x = system.factor(values).solve(right)
    for k in range(VARIANTS):
        matrix = np.zeros((size, size))
        np.add.at(matrix, (row, column), values[:, k])
        assert matrix @ x[:, k] == pytest.approx(right[:, k], rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("dense", [True, False])
def test_a_singular_variant_leaves_the_others(dense: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(linear, "DENSE", 12 if dense else 0)
    row, column, values = entries(12)
    values[row == 5, 1] = 0.0
    x = Linear(row, column, 12, VARIANTS).factor(values).solve(np.ones((12, VARIANTS)))
    assert np.isnan(x[:, 1]).all()
    assert np.isfinite(x[:, [0, 2]]).all()
