"""How one header's air divides between users of unlike back-pressure.

Air takes the easy way: the shallow user and the clean diffuser get more. Each user sees the same
header pressure; what is left of it over the pressure at its depth drives air through its branch
pipe and diffusers. Users stand on the first axis of all arrays, variants on the others.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within
from loopplan.physics._roots import bracketed_root
from loopplan.physics.air import STANDARD, dry_density
from loopplan.physics.air_pipes import AirPipe, pressure_before

Supply = Callable[[Array], Array]
"""Free air that the blowers give [m3/s at `STANDARD`] at an absolute delivery pressure [Pa].

Must not rise with pressure; a given total is a function that returns it whatever the pressure.
"""


@dataclass(frozen=True)
class AirUsers:
    """Users of air on one header.

    Attributes:
        back_pressure: absolute pressure of the water at the diffusers [Pa].
        diffuser_k: loss of the diffusers at 1 m3/s of free air [Pa].
        diffuser_exponent: power of the flow with which it goes [-], 1 (fine) to 2 (holes).
        branch: pipe from header to diffusers.
    """

    back_pressure: Array
    diffuser_k: Numbers
    diffuser_exponent: Numbers
    branch: AirPipe


@dataclass(frozen=True)
class AirSplit:
    """How the air divides.

    Attributes:
        flow: free air of each user [m3/s at `STANDARD`]; 0 where the header pressure does not
            reach its depth (its non-return valve holds).
        header_pressure: absolute pressure in the header [Pa].
        delivery_pressure: absolute pressure at the blower [Pa].
        total: free air of all [m3/s at `STANDARD`].
    """

    flow: Array
    header_pressure: Array
    delivery_pressure: Array
    total: Array


def diffuser_coefficient(loss: Numbers, flow: Numbers, exponent: Numbers) -> Array:
    """Coefficient of a diffuser from its loss at one flow.

    Args:
        loss: pressure lost there [Pa], 0 and up.
        flow: free air at which it is stated [m3/s], above 0.
        exponent: power of the flow [-], 1 to 2.

    Returns:
        Loss at 1 m3/s [Pa].

    Raises:
        ValueError: outside the range.

    Source: closed form.
    """
    lost = within("diffuser loss", loss, 0.0, 1e6, "Pa")
    n = within("diffuser exponent", exponent, 1.0, 2.0)
    return np.asarray(lost / positive("flow", flow, "m3/s") ** n)[()]


def pressure_for(flow: Numbers, users: AirUsers) -> Array:
    """Header pressure that drives a flow to each user.

    Args:
        flow: free air of each user [m3/s at `STANDARD`], 0 and up.
        users: the users.

    Returns:
        Absolute pressure [Pa].

    Source: closed form, with `isothermal-pipe`.
    """
    q = np.asarray(flow, dtype=np.float64)
    loss = np.asarray(users.diffuser_k) * q ** np.asarray(users.diffuser_exponent)
    return pressure_before(q * dry_density(STANDARD), users.back_pressure + loss, users.branch)


def flow_to(header_pressure: Numbers, users: AirUsers) -> Array:
    """Flow that a header pressure drives to each user.

    Args:
        header_pressure: absolute pressure in the header [Pa].
        users: the users.

    Returns:
        Free air of each [m3/s at `STANDARD`]; 0 where the pressure does not reach its depth.

    Raises:
        ValueError: a user with no loss at all, whose flow nothing would limit.

    Source: root as in `chandrupatla-1997`.
    """
    header = np.asarray(header_pressure, dtype=np.float64)
    shape = np.broadcast_shapes(np.shape(users.back_pressure), header.shape)
    target = np.maximum(np.broadcast_to(header, shape), users.back_pressure)
    low, high = np.zeros(shape), np.full(shape, 1e-3)
    for _ in range(80):
        short = pressure_for(high, users) < target
        if not short.any():
            break
        high = np.where(short, 2.0 * high, high)
    else:
        raise ValueError("an air user has no loss in branch or diffuser; allowed: above 0 Pa")
    found = bracketed_root(lambda q: pressure_for(q, users) - target, low, high)
    return np.asarray(np.where(target > users.back_pressure, found, 0.0))[()]


def split_air(users: AirUsers, supply: Supply, main: AirPipe | None = None) -> AirSplit:
    """Find the header pressure at which the users take what the blowers give.

    Args:
        users: the users, on the first axis.
        supply: what the blowers give at their delivery pressure.
        main: pipe from the blowers to the header; its loss is left out where none is given.

    Returns:
        The split; it closes to 1e-9 of the total.

    Raises:
        ValueError: a user with no loss at all, or blowers that give nothing at the depth of the
            shallowest user.

    Source: closed form; root as in `chandrupatla-1997`.
    """

    def total_at(header: Array) -> Array:
        return np.asarray(flow_to(header, users).sum(axis=0))

    def delivery(header: Array, total: Array) -> Array:
        if main is None:
            return header
        return np.asarray(pressure_before(total * dry_density(STANDARD), header, main))

    def excess(header: Array) -> Array:
        total = total_at(header)
        return np.asarray(total - supply(delivery(header, total)))

    low = np.asarray(np.min(users.back_pressure, axis=0), dtype=np.float64)
    start = excess(low)
    if np.any(start >= 0.0):
        raise ValueError(
            "air supply of 0 m3/s at the depth of the shallowest user; allowed: above 0 m3/s"
        )
    low = np.array(np.broadcast_to(low, start.shape))
    high = 1.5 * low
    for _ in range(40):
        short = excess(high) < 0.0
        if not short.any():
            break
        high = np.where(short, 2.0 * high, high)
    header = bracketed_root(excess, low, high)
    flow = flow_to(header, users)
    total = flow.sum(axis=0)
    return AirSplit(flow, header[()], delivery(header, total)[()], total[()])
