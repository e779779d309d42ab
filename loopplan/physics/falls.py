"""Free falls: what happens at the lip, in the air and below."""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.channels import BRINK_RATIO
from loopplan.physics.constants import GRAVITY

NAPPE_GAP = 0.05
"""Least distance [m] of the water below a sharp crest, so that air gets under the nappe.

ISO 1438, from memory.
"""


def brink_depth(flow: Numbers, width: Numbers) -> Array:
    """Depth at the free end of a level rectangular channel.

    Args:
        flow: flow [m3/s], 0 and up.
        width: width [m], above 0.

    Returns:
        Depth at the brink [m], 0.715 of the critical depth; within 2 % for a mild or level floor.

    Raises:
        ValueError: outside the range.

    Source: `rouse-1936`.
    """
    q = within("flow", flow, 0.0, 1e4, "m3/s") / positive("width", width, "m")
    return np.asarray(BRINK_RATIO * np.cbrt(q * q / GRAVITY))[()]


def pool_depth(flow: Numbers, width: Numbers, drop: Numbers) -> Array:
    """Depth of the pool that stands under a falling nappe on a level floor.

    Below it the crest must stay clear: the nappe is free while this depth plus `NAPPE_GAP` is
    less than the drop.

    Args:
        flow: flow [m3/s], 0 and up.
        width: width of the fall [m], above 0.
        drop: crest above the floor below [m], above 0.

    Returns:
        Depth behind the nappe [m].

    Raises:
        ValueError: outside the range.

    Source: `rand-1955`, drop z, z (q^2 / g z^3)^0.22.
    """
    z = positive("drop", drop, "m")
    q = within("flow", flow, 0.0, 1e4, "m3/s") / positive("width", width, "m")
    return np.asarray(z * (q * q / (GRAVITY * z**3)) ** 0.22)[()]


def needed_drop(tail_depth: Numbers, gap: Numbers = NAPPE_GAP) -> Array:
    """Least height of a crest above the floor below for a fall that stays free.

    Args:
        tail_depth: depth of water below the fall, or `pool_depth` if that is more [m], 0 and up.
        gap: air between that water and the crest [m], 0 and up.

    Returns:
        Height of the crest above the floor [m].

    Raises:
        ValueError: outside the range.

    Source: closed form; the default gap `iso-1438`.
    """
    return np.asarray(
        within("tail depth", tail_depth, 0.0, 100.0, "m") + within("gap", gap, 0.0, 10.0, "m")
    )[()]


def fall_velocity(drop: Numbers, velocity: Numbers = 0.0) -> Array:
    """Velocity with which falling water meets the surface below, without drag.

    Args:
        drop: height fallen [m], 0 and up.
        velocity: velocity at the lip [m/s], 0 and up.

    Returns:
        Velocity [m/s].

    Raises:
        ValueError: outside the range.

    Source: closed form.
    """
    z = within("drop", drop, 0.0, 1e3, "m")
    v = within("velocity", velocity, 0.0, 1e3, "m/s")
    return np.asarray(np.sqrt(v * v + 2.0 * GRAVITY * z))[()]
