"""Flaps and check valves: water passes one way, and no water the other, or what leaks."""

from __future__ import annotations

import numpy as np

from loopplan.laws.base import (
    EASE_HEAD,
    Array,
    FlowLaw,
    Params,
    Residual,
)
from loopplan.physics.constants import GRAVITY
from loopplan.physics.openings import SMALL_DIFFERENCE


class OneWayLaw(FlowLaw):
    """Forward Ha - Hb = opening head + K v^2/2g; backward no flow, or what leaks.

    `opening_head` [m] is what lifts the flap off its seat; `leak` [-] the share of the bore that
    stays open when it is shut. Differences below 0.1 mm run on a straight line, as in openings.
    """

    name = "one-way"
    fields = ("k", "diameter", "opening_head", "leak")

    def flow(self, p: Params, ha: Array, hb: Array) -> tuple[Array, Array, Array]:
        """See :meth:`FlowLaw.flow`."""
        rate = self._rate(p)
        drive, back = ha - hb - p["opening_head"], hb - ha
        opened, by_drive = _root(np.maximum(drive, 0.0))
        leaked, by_back = _root(np.maximum(back, 0.0))
        leak = rate * p["leak"]
        slope = np.where(drive > 0.0, rate * by_drive, 0.0)
        slope = slope + np.where(back > 0.0, leak * by_back, 0.0)
        return rate * opened - leak * leaked, slope, -slope

    def tangent(self, p: Params, q: Array, ha: Array, hb: Array, at: Residual) -> Residual:
        """See :meth:`Law.tangent`; only where it is shut and said to carry water, at that flow."""
        rate = self._rate(p)
        shut = (ha - hb <= p["opening_head"]) & (q > 1e-5 * rate)
        carried = np.maximum(q / rate, 0.0)
        edge = SMALL_DIFFERENCE**0.5
        drive = np.where(carried < edge, carried * edge, carried**2)
        slope = rate * np.where(carried < edge, 1.0 / edge, 0.5 / np.maximum(carried, edge))
        value = slope * (ha - hb - p["opening_head"] - drive)
        return (
            np.where(shut, value, at[0]),
            at[1],
            np.where(shut, slope, at[2]),
            np.where(shut, -slope, at[3]),
        )

    def start(self, p: Params, q: Array) -> tuple[Array, Array]:
        """See :meth:`Law.start`."""
        loss = p["opening_head"] + (q / self._rate(p)) ** 2
        return np.full_like(loss, -np.inf), np.where(q > 0.0, loss, 0.0)

    def ease(self, p: Params, like: Array) -> Array:
        """See :meth:`Law.ease`."""
        return np.broadcast_to(self._rate(p) * np.sqrt(EASE_HEAD), like.shape)

    @staticmethod
    def _rate(p: Params) -> Array:
        """Flow [m3/s] at one metre of head beyond that of opening."""
        return np.asarray(np.pi / 4.0 * p["diameter"] ** 2 * np.sqrt(2.0 * GRAVITY / p["k"]))


def _root(drive: Array) -> tuple[Array, Array]:
    """Return the square root and its slope; a straight line below SMALL_DIFFERENCE."""
    edge = SMALL_DIFFERENCE**0.5
    root = np.sqrt(np.maximum(drive, SMALL_DIFFERENCE))
    small = drive < SMALL_DIFFERENCE
    return np.where(small, drive / edge, root), np.where(small, 1.0 / edge, 0.5 / root)
