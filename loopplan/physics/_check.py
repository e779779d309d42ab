"""Checks of arguments, for functions that run once and not inside the solver."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
"""Array of floats; a function that is given scalars returns a numpy scalar."""

Flags = npt.NDArray[np.bool_]
"""Array of yes and no."""

Numbers = float | Array
"""A float, or an array of floats that broadcasts with the others."""


def within(name: str, value: Numbers, low: float, high: float, unit: str = "") -> Array:
    """Return `value` as an array if all of it lies in a closed range.

    Args:
        name: what the value is, for the message.
        value: the value [as in `unit`].
        low: least that is allowed [as in `unit`].
        high: most that is allowed [as in `unit`].
        unit: unit for the message.

    Returns:
        The value [as in `unit`].

    Raises:
        ValueError: if any of it is not a number, or outside the range.
    """
    array = np.asarray(value, dtype=np.float64)
    inside = (array >= low) & (array <= high)
    if not inside.all():
        wrong = float(array[~inside].flat[0]) if array.ndim else float(array)
        raise ValueError(
            f"{name} is {wrong:g} {unit}".rstrip()
            + f"; allowed: {low:g} to {high:g} {unit}".rstrip()
        )
    return array


def positive(name: str, value: Numbers, unit: str = "") -> Array:
    """Return `value` as an array if all of it is finite and above zero.

    Args:
        name: what the value is, for the message.
        value: the value [as in `unit`].
        unit: unit for the message.

    Returns:
        The value [as in `unit`].

    Raises:
        ValueError: if any of it is not a number, not finite, zero or below.
    """
    array = np.asarray(value, dtype=np.float64)
    good = (array > 0.0) & np.isfinite(array)
    if not good.all():
        wrong = float(array[~good].flat[0]) if array.ndim else float(array)
        raise ValueError(
            f"{name} is {wrong:g} {unit}".rstrip() + f"; allowed: above 0 {unit}".rstrip()
        )
    return array
