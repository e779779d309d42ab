"""Openings between two levels, orifices and jets.

`opening_flow` runs inside the solver and does not check its arguments.
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics.constants import GRAVITY

SMALL_DIFFERENCE = 1e-4
"""Difference of levels [m] below which the drowned flow is a straight line to zero."""

_ROOT_2G = float(np.sqrt(2.0 * GRAVITY))


def _root(difference: Array) -> tuple[Array, Array]:
    """Return the square root and its slope; a straight line below SMALL_DIFFERENCE.

    The line keeps the slope finite at equal levels. Value and order are kept where it meets the
    root, the slope halves there: concave still, which Newton's method takes without cycling.
    """
    edge = SMALL_DIFFERENCE**0.5
    root = np.sqrt(np.maximum(difference, SMALL_DIFFERENCE))
    small = difference < SMALL_DIFFERENCE
    return np.where(small, difference / edge, root), np.where(small, 1.0 / edge, 0.5 / root)


def opening_flow(
    head_up: Numbers,
    head_down: Numbers,
    invert: Numbers,
    soffit: Numbers,
    width: Numbers,
    cd: Numbers,
) -> tuple[Array, Array, Array]:
    """Flow through a rectangular opening, slot or gate, and its slopes with both levels.

    No checks. Above the tailwater each strip of the opening runs free under its own head; below
    it all runs under the difference of levels; one coefficient serves both. Covers dry, part-full
    and full, free and drowned, without a jump; runs backward where the tail stands higher.
    Differences of level below 0.1 mm: see `SMALL_DIFFERENCE`.

    Args:
        head_up: level on the upstream side [m above datum].
        head_down: level on the downstream side [m above datum].
        invert: lower edge [m above datum].
        soffit: upper edge [m above datum], above the invert.
        width: width [m], above 0.
        cd: coefficient of discharge [-].

    Returns:
        Flow [m3/s], d flow / d head_up [m2/s], d flow / d head_down [m2/s].

    Source: `split-opening`.
    """
    up = np.asarray(head_up, dtype=np.float64)
    down = np.asarray(head_down, dtype=np.float64)
    forward = up >= down
    high, low = np.maximum(up, down), np.minimum(up, down)
    tail = np.minimum(np.maximum(low, invert), soffit)
    above_tail = np.maximum(high - tail, 0.0)
    above_soffit = np.maximum(high - soffit, 0.0)
    root_tail, root_soffit = np.sqrt(above_tail), np.sqrt(above_soffit)
    drowned = tail - invert
    root, rise = _root(high - low)
    rate = cd * width * _ROOT_2G
    free = 2.0 / 3.0 * (above_tail * root_tail - above_soffit * root_soffit)
    flow = rate * (free + drowned * root)
    by_high = rate * (root_tail - root_soffit + drowned * rise)
    moves = (low > invert) & (low < soffit)
    by_low = rate * (np.where(moves, root - root_tail, 0.0) - drowned * rise)
    return (
        np.asarray(np.where(forward, flow, -flow))[()],
        np.asarray(np.where(forward, by_high, -by_low))[()],
        np.asarray(np.where(forward, by_low, -by_high))[()],
    )


def orifice_k(cd: Numbers) -> Array:
    """Loss coefficient of an orifice on the velocity head through its gross area.

    Head lost is K v^2/2g with v = flow over area; the head is the difference of levels where the
    orifice is drowned, and the level above its centre where it runs free.

    Args:
        cd: coefficient of discharge [-], above 0 to 1.

    Returns:
        K [-], 1/cd^2.

    Raises:
        ValueError: outside the range.

    Source: `orifice` (closed form).
    """
    return np.asarray(within("coefficient of discharge", cd, 1e-6, 1.0) ** -2.0)[()]


def jet_velocity(head: Numbers, cv: Numbers = 1.0) -> Array:
    """Velocity of a jet under a head.

    Args:
        head: head before the nozzle above the point of exit [m], 0 and up.
        cv: velocity coefficient [-], above 0 to 1.

    Returns:
        Velocity [m/s].

    Raises:
        ValueError: outside the range.

    Source: `nozzle` (closed form).
    """
    h = within("head", head, 0.0, 1e4, "m")
    return np.asarray(within("velocity coefficient", cv, 1e-6, 1.0) * _ROOT_2G * np.sqrt(h))[()]


def nozzle_head(velocity: Numbers, cv: Numbers = 1.0) -> Array:
    """Head that a nozzle needs for a jet velocity.

    Args:
        velocity: velocity of the jet [m/s], 0 and up.
        cv: velocity coefficient [-], above 0 to 1.

    Returns:
        Head [m].

    Raises:
        ValueError: outside the range.

    Source: `nozzle` (closed form).
    """
    v = within("velocity", velocity, 0.0, 1e3, "m/s")
    c = within("velocity coefficient", cv, 1e-6, 1.0)
    return np.asarray((v / c) ** 2 / (2.0 * GRAVITY))[()]


def pipe_orifice_flow(
    head_difference: Numbers, bore: Numbers, diameter: Numbers, cd: Numbers = 0.61
) -> Array:
    """Flow by the reading of an orifice plate in a pipe.

    Args:
        head_difference: difference of head across the plate [m of the water], 0 and up.
        bore: bore of the plate [m].
        diameter: inside diameter of the pipe [m], above the bore.
        cd: coefficient of discharge [-], above 0 to 1.

    Returns:
        Flow [m3/s].

    Raises:
        ValueError: outside the range.

    Source: `orifice` (Bernoulli and continuity, closed form).
    """
    h = within("head difference", head_difference, 0.0, 1e4, "m")
    d = positive("bore", bore, "m")
    beta = within("bore over diameter", d / positive("diameter", diameter, "m"), 0.0, 0.999)
    c = within("coefficient of discharge", cd, 1e-6, 1.0)
    return np.asarray(c * np.pi / 4.0 * d**2 * _ROOT_2G * np.sqrt(h / (1.0 - beta**4)))[()]
