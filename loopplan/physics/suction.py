"""The suction side of pumps: NPSH, bells, suction pipes.

The submergence of a bell is `loopplan.physics.submergence.inlet_submergence`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers, positive
from loopplan.physics.constants import GRAVITY

NPSH_MARGIN = 0.9
"""Least NPSH available less NPSH required in general service [m] (`npsh-margin`)."""

NPSH_RATIO = 1.1
"""Least NPSH available over NPSH required in general service [-] (`npsh-margin`)."""

SUCTION_SPEED = 180.0
"""Suction specific speed n_ss [1/min] of usual impellers (`gulich-suction`: 160 to 220)."""

SUCTION_VELOCITY = 2.4
"""Most velocity in a suction pipe [m/s] (`hi-9-6-6`); 1.5 to 2.0 m/s is common practice."""

BELL_VELOCITY = 1.7
"""Velocity to aim at in the mouth of a suction bell [m/s] (`hi-9-8-bell`)."""

BELL_LIMITS: tuple[tuple[float, float, float], ...] = (
    (0.315, 0.6, 2.7), (1.260, 0.9, 2.4), (float("inf"), 1.2, 2.1),
)  # fmt: skip
"""Flow up to which the row holds [m3/s], least and most velocity [m/s] (`hi-9-8-bell`)."""


@dataclass(frozen=True)
class BellClearances:
    """Room that a suction bell needs in its sump, in diameters of the bell [-].

    Attributes:
        floor: least and most distance to the floor.
        back_wall: distance to the wall behind.
        bay_width: clear width of its bay.
    """

    floor: tuple[float, float] = (0.3, 0.5)
    back_wall: float = 0.25
    bay_width: float = 2.0


BELL_CLEARANCES = BellClearances()
"""Clearances of a bell (`hi-9-8-bell`)."""

APPROACH_VELOCITY = 0.5
"""Most velocity toward a suction bell [m/s] (`hi-9-8-bell`)."""


def npsh_available(
    surface_pressure: Numbers,
    vapour_pressure: Numbers,
    height: Numbers,
    loss: Numbers,
    density: Numbers,
) -> Array:
    """Head over vapour pressure that the suction side offers at the impeller.

    Args:
        surface_pressure: absolute pressure on the water surface [Pa].
        vapour_pressure: vapour pressure of the water [Pa].
        height: surface above the impeller [m]; below zero where the pump sucks up.
        loss: head lost up to the pump [m].
        density: density [kg/m3], above 0.

    Returns:
        NPSH [m].

    Raises:
        ValueError: density that is not above zero.

    Source: closed form.
    """
    over = np.asarray(surface_pressure) - np.asarray(vapour_pressure)
    return np.asarray(over / (GRAVITY * positive("density", density, "kg/m3")) + height - loss)[()]


def npsh_required(speed: Numbers, flow: Numbers, suction_speed: Numbers = SUCTION_SPEED) -> Array:
    """NPSH that a pump requires at its best point, where its maker does not tell it.

    Args:
        speed: speed [1/min], above 0.
        flow: flow at the best point, of one side of a double-entry impeller [m3/s], above 0.
        suction_speed: suction specific speed n_ss [1/min], above 0.

    Returns:
        NPSH at 3 % loss of head [m], (n sqrt(Q) / n_ss)^(4/3); it can be out by a third.

    Raises:
        ValueError: if an argument is not above zero.

    Source: `gulich-suction`.
    """
    n, q = positive("speed", speed, "1/min"), positive("flow", flow, "m3/s")
    n_ss = positive("suction specific speed", suction_speed, "1/min")
    return np.asarray((n * np.sqrt(q) / n_ss) ** (4.0 / 3.0))[()]


def npsh_needed(required: Numbers) -> Array:
    """NPSH that must be available, with its margin.

    Args:
        required: NPSH that the maker states, at 3 % loss of head [m], above 0.

    Returns:
        The larger of `NPSH_MARGIN` more and `NPSH_RATIO` times as much [m].

    Raises:
        ValueError: if it is not above zero.

    Source: `npsh-margin`.
    """
    r = positive("required NPSH", required, "m")
    return np.asarray(np.maximum(r + NPSH_MARGIN, r * NPSH_RATIO))[()]


def most_suction_lift(
    surface_pressure: Numbers,
    vapour_pressure: Numbers,
    needed: Numbers,
    loss: Numbers,
    density: Numbers,
) -> Array:
    """Height above the water surface at which a pump still gets its NPSH.

    Args:
        surface_pressure: absolute pressure on the water surface [Pa].
        vapour_pressure: vapour pressure of the water [Pa].
        needed: NPSH that must be available [m].
        loss: head lost up to the pump [m].
        density: density [kg/m3], above 0.

    Returns:
        Impeller above the surface [m]; below zero where it must stand under it.

    Raises:
        ValueError: density that is not above zero.

    Source: closed form.
    """
    offered = npsh_available(surface_pressure, vapour_pressure, 0.0, loss, density)
    return np.asarray(offered - needed)[()]


def bell_velocity_limits(flow: float) -> tuple[float, float]:
    """Least and most velocity in the mouth of a suction bell.

    Args:
        flow: flow [m3/s], above 0.

    Returns:
        Least and most velocity [m/s].

    Raises:
        ValueError: flow that is not above zero.

    Source: `hi-9-8-bell`.
    """
    q = float(positive("flow", flow, "m3/s"))
    row = next(row for row in BELL_LIMITS if q <= row[0])
    return row[1], row[2]


def bell_diameter(flow: Numbers, velocity: Numbers = BELL_VELOCITY) -> Array:
    """Diameter of the mouth of a suction bell.

    Args:
        flow: flow [m3/s], above 0.
        velocity: velocity in its mouth [m/s], above 0.

    Returns:
        Diameter [m].

    Raises:
        ValueError: if an argument is not above zero.

    Source: closed form.
    """
    q, v = positive("flow", flow, "m3/s"), positive("velocity", velocity, "m/s")
    return np.asarray(np.sqrt(4.0 * q / (np.pi * v)))[()]
