"""The linear system of one Newton step: a pattern planned once, filled and solved many times.

Dense for one small loop, all variants at once; sparse LU for large works, variant by variant.
"""

from __future__ import annotations

from contextlib import suppress

import numpy as np
from numpy.typing import NDArray

from loopplan.laws import Array

Ints = NDArray[np.intp]

DENSE = 150
"""Most unknowns for which dense elimination is used."""


class Sums:
    """Adds up values (entries, variants) that share a place; gives (variants, places)."""

    def __init__(self, place: Ints, places: int, variants: int) -> None:
        self.shape = (variants, places)
        self.flat = (place[:, None] + places * np.arange(variants)).ravel()

    def __call__(self, values: Array) -> Array:
        """Return the sums; places that nothing is added to hold zero."""
        size = self.shape[0] * self.shape[1]
        summed = np.bincount(self.flat, values.ravel(), size)
        return np.asarray(summed, dtype=np.float64).reshape(self.shape)


class Linear:
    """Square systems of one pattern: `row` and `column` of each entry."""

    def __init__(self, row: Ints, column: Ints, size: int, variants: int) -> None:
        self.size = size
        self.dense = size <= DENSE
        if self.dense:
            self.sums = Sums(row * size + column, size * size, variants)
            return
        # Column by column, rows rising, each place once: how sparse matrices are stored.
        place, slot = np.unique(column * size + row, return_inverse=True)
        self.rows = (place % size).astype(np.intc)
        self.starts = np.searchsorted(place, size * np.arange(size + 1)).astype(np.intc)
        self.sums = Sums(slot, place.size, variants)

    def solve(self, values: Array, right: Array) -> Array:
        """Solve for `right` (size, variants); a singular variant gives NaN, the others go on."""
        filled = self.sums(values)
        if self.dense:
            return _solve_stack(filled.reshape(-1, self.size, self.size), right)
        from scipy.sparse import csc_matrix
        from scipy.sparse.linalg import splu

        x = np.full_like(right, np.nan)
        for k, data in enumerate(filled):
            matrix = csc_matrix((data, self.rows, self.starts), shape=(self.size, self.size))
            with suppress(RuntimeError):
                # The pattern is that of a net, nearly symmetric: fewer new entries than COLAMD.
                x[:, k] = splu(matrix, permc_spec="MMD_AT_PLUS_A").solve(right[:, k])
        return x


def _solve_stack(stack: Array, right: Array) -> Array:
    x: Array = np.full_like(right, np.nan)
    try:
        x[:] = np.linalg.solve(stack, right.T[:, :, None])[:, :, 0].T
    except np.linalg.LinAlgError:
        for k, matrix in enumerate(stack):
            with suppress(np.linalg.LinAlgError):
                x[:, k] = np.linalg.solve(matrix, right[:, k])
    return x
