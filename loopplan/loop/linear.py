"""The linear system of one Newton step: a pattern planned once, filled and solved many times.

Dense for one small loop, all variants at once; sparse LU for large works, variant by variant.
"""

from __future__ import annotations

from contextlib import suppress
from typing import Protocol

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
        # The elimination is planned once, on the pattern alone: a net's is nearly symmetric, and
        # that way there are fewer new entries than by COLAMD.
        from scipy.sparse import csc_matrix, identity
        from scipy.sparse.linalg import splu

        pattern = csc_matrix((np.ones(row.size), (row, column)), shape=(size, size))
        # Pivots on the diagonal: only the pattern counts.
        strong = pattern + pattern.T + 2.0 * row.size * identity(size)
        self.turn = splu(strong.tocsc(), permc_spec="MMD_AT_PLUS_A").perm_c.astype(np.intp)
        # Column by column, rows rising, each place once: how sparse matrices are stored.
        place, slot = np.unique(self.turn[column] * size + self.turn[row], return_inverse=True)
        self.rows = (place % size).astype(np.intc)
        self.starts = np.searchsorted(place, size * np.arange(size + 1)).astype(np.intc)
        self.sums = Sums(slot, place.size, variants)

    def factor(self, values: Array) -> Factor:
        """Eliminate once for `values` (entries, variants); several right sides may follow."""
        filled = self.sums(values)
        if self.dense:
            return DenseFactor(filled.reshape(len(filled), self.size, self.size))
        return SparseFactor(self, filled)


class Factor(Protocol):
    """An eliminated system; a singular variant gives NaN, the others go on."""

    def solve(self, right: Array) -> Array:
        """Solve for `right` (size, variants)."""
        ...


class DenseFactor:
    """Inverses of a stack of small matrices."""

    def __init__(self, stack: Array) -> None:
        self.inverse: Array = np.full_like(stack, np.nan)
        try:
            self.inverse[:] = np.linalg.inv(stack)
        except np.linalg.LinAlgError:
            for k, matrix in enumerate(stack):
                with suppress(np.linalg.LinAlgError):
                    self.inverse[k] = np.linalg.inv(matrix)

    def solve(self, right: Array) -> Array:
        """See :class:`Factor`."""
        x: Array = np.matmul(self.inverse, right.T[:, :, None])[:, :, 0].T
        return x


class SparseFactor:
    """Sparse factors, variant by variant."""

    def __init__(self, linear: Linear, filled: Array) -> None:
        from scipy.sparse import csc_matrix
        from scipy.sparse.linalg import splu

        size = (linear.size, linear.size)
        self.turn = linear.turn
        self.factors = []
        for data in filled:
            matrix = csc_matrix((data, linear.rows, linear.starts), shape=size)
            try:
                self.factors.append(splu(matrix, permc_spec="NATURAL", panel_size=1, relax=1))
            except RuntimeError:
                self.factors.append(None)

    def solve(self, right: Array) -> Array:
        """See :class:`Factor`."""
        x = np.full_like(right, np.nan)
        turned = np.empty_like(right)
        turned[self.turn] = right
        for k, factor in enumerate(self.factors):
            if factor is not None:
                x[:, k] = factor.solve(turned[:, k])[self.turn]
        return x
