"""Cross-sections of open channels: rectangle, trapezoid, V and circle in one family.

A section is three arrays: bottom width, side slope and diameter. Where the diameter is above
zero the section is a circle and the other two are ignored; elsewhere it is a trapezoid, of which
the rectangle (side slope 0) and the V (width 0) are cases. Elementary geometry throughout.

A circle fuller than 0.95 of its diameter has no steady surface to speak of. So that the law goes
on without a jump, its top narrows from there into a vertical slot a thousandth of the diameter
wide (the slot of Preissmann, common in unsteady flow; the shape of the narrowing is ours): top
width and wetted perimeter run on cubics that match value and slope at 0.95, and end where the
area is that of the full circle and the perimeter that of the full circle. Depth above that stands
for pressure head. Whoever prints a result must say "runs full" for any depth above
`FULL_FRACTION` of the diameter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

FULL_FRACTION = 0.95
"""Depth over diameter [-] above which a circular section counts as running full."""

SLOT_FRACTION = 0.001
"""Width of the slot over the diameter [-]: narrow, so that it carries next to no flow."""

_SINE = 2.0 * math.sqrt(FULL_FRACTION * (1.0 - FULL_FRACTION))
_ANGLE = 2.0 * math.asin(math.sqrt(FULL_FRACTION))
_AREA = 0.25 * (_ANGLE - _SINE * math.cos(_ANGLE))
_MOMENT = (3.0 * _SINE - _SINE**3 - 3.0 * _ANGLE * math.cos(_ANGLE)) / 24.0
_TOP_RATE = 2.0 * math.cos(_ANGLE) / _SINE
_PERIMETER_RATE = 2.0 / _SINE
# Height of the narrowing, so that it holds just what is missing to the full circle: the cubic
# holds reach * (top + slot) / 2 + reach^2 * rate / 12.
_MISSING = 0.25 * math.pi - _AREA
_HALF = 0.5 * (_SINE + SLOT_FRACTION)
_REACH = 2.0 * _MISSING / (_HALF + math.sqrt(_HALF**2 + _TOP_RATE * _MISSING / 3.0))

CLOSED_FRACTION = FULL_FRACTION + _REACH
"""Depth over diameter [-] at which the narrowing ends and the slot proper begins."""


class Geometry(NamedTuple):
    """What a section measures at one depth.

    `area` [m2], `top_width` [m], `perimeter` [m], `perimeter_rate` (slope of the wetted
    perimeter with depth) [-]. The slope of the area with depth is the top width. What does not
    depend on depth keeps the shape of the section.
    """

    area: Array
    top_width: Array
    perimeter: Array
    perimeter_rate: Array


def _cubic(start: float, rate: float, end: float) -> tuple[float, float, float, float]:
    """Coefficients of the cubic on 0..1 from `start` with slope `rate` to `end` with slope 0."""
    rise = end - start
    return start, rate, 3.0 * rise - 2.0 * rate, rate - 2.0 * rise


_TOP = _cubic(_SINE, _TOP_RATE * _REACH, SLOT_FRACTION)
_WET = _cubic(_ANGLE, _PERIMETER_RATE * _REACH, math.pi)


@dataclass(frozen=True, eq=False)
class Section:
    """Cross-sections of an array of channels; the methods broadcast over depth.

    Args:
        width: bottom width [m], 0 and up.
        side_slope: horizontal run of the sides per unit of rise [m/m], 0 and up.
        diameter: diameter [m]; above 0 the section is a circle, and width and side slope are
            ignored; 0 otherwise.

    Raises:
        ValueError: if a dimension is negative or not finite, or all three are 0.
    """

    width: Array
    side_slope: Array
    diameter: Array
    circular: npt.NDArray[np.bool_] | None = field(init=False)
    rectangular: bool = field(init=False)
    _sides: Array = field(init=False)
    _bore: Array = field(init=False)

    def __post_init__(self) -> None:
        """Check the dimensions and settle once which sections are circles."""
        width, side_slope, diameter = np.broadcast_arrays(
            *(np.asarray(a, dtype=float) for a in (self.width, self.side_slope, self.diameter))
        )
        if not all(np.all(np.isfinite(a) & (a >= 0.0)) for a in (width, side_slope, diameter)):
            raise ValueError("width, side slope and diameter must be finite and not negative")
        if np.any((width == 0.0) & (side_slope == 0.0) & (diameter == 0.0)):
            raise ValueError("a section needs a width, a side slope or a diameter above 0")
        circles = diameter > 0.0
        some = bool(np.any(circles))
        put = object.__setattr__
        # Circles get a harmless trapezoid underneath, so that the unused branch stays finite.
        put(self, "width", np.where(circles, 1.0, width))
        put(self, "side_slope", np.where(circles, 0.0, side_slope))
        put(self, "diameter", diameter)
        put(self, "circular", circles if some else None)
        put(self, "rectangular", not some and not np.any(side_slope > 0.0))
        put(self, "_sides", 2.0 * np.sqrt(1.0 + self.side_slope**2))
        put(self, "_bore", np.where(circles, diameter, 1.0))

    def geometry(self, depth: Array) -> Geometry:
        """Return area [m2], top width [m], wetted perimeter [m] and its slope with depth [-].

        Args:
            depth: water depth above the bottom [m], above 0.
        """
        if self.rectangular:
            width = self.width
            return Geometry(width * depth, width, width + 2.0 * depth, self._sides)
        run = self.side_slope * depth
        half = self.width + run
        plain = Geometry(half * depth, half + run, self.width + self._sides * depth, self._sides)
        if self.circular is None:
            return plain
        bore = self._bore
        angle, sine, cosine, beyond, part = self._round(depth)
        top = _TOP[0] + part * (_TOP[1] + part * (_TOP[2] + part * _TOP[3]))
        held = part * (_TOP[0] + part * (_TOP[1] / 2 + part * (_TOP[2] / 3 + part * _TOP[3] / 4)))
        wet = part * (_WET[1] + part * (_WET[2] + part * _WET[3]))
        wet_rate = (_WET[1] + part * (2.0 * _WET[2] + part * 3.0 * _WET[3])) / _REACH
        above = beyond > 0.0
        slot = SLOT_FRACTION * np.maximum(beyond - _REACH, 0.0)
        area = bore**2 * (0.25 * (angle - sine * cosine) + _REACH * held + slot)
        round_ = Geometry(
            area,
            bore * np.where(above, top, sine),
            bore * (angle + wet),
            np.where(above, wet_rate, 2.0 / sine),
        )
        pairs = zip(round_, plain, strict=True)
        return Geometry(*(np.where(self.circular, one, other) for one, other in pairs))

    def _round(self, depth: Array) -> tuple[Array, Array, Array, Array, Array]:
        """Half angle, its sine and cosine, and how far the depth is beyond the full fraction."""
        share = depth / self._bore
        angle = 2.0 * np.arcsin(np.sqrt(np.clip(share, 1e-12, FULL_FRACTION)))
        beyond = share - FULL_FRACTION
        part = np.clip(beyond / _REACH, 0.0, 1.0)
        return angle, np.sin(angle), np.cos(angle), beyond, part

    def area(self, depth: Array) -> Array:
        """Return the wetted area [m2] at a depth [m]; its slope with depth is the top width."""
        return self.geometry(depth).area

    def top_width(self, depth: Array) -> Array:
        """Return the width of the free surface [m] at a depth [m]."""
        return self.geometry(depth).top_width + 0.0 * depth

    def wetted_perimeter(self, depth: Array) -> Array:
        """Return the wetted perimeter [m] at a depth [m]."""
        return self.geometry(depth).perimeter

    def hydraulic_radius(self, depth: Array) -> Array:
        """Return area over wetted perimeter [m] at a depth [m]."""
        here = self.geometry(depth)
        return here.area / here.perimeter

    def top_width_rate(self, depth: Array) -> Array:
        """Return the slope of the top width with depth [-] at a depth [m]."""
        plain = 2.0 * self.side_slope + 0.0 * depth
        if self.circular is None:
            return plain
        _, sine, cosine, beyond, part = self._round(depth)
        narrowing = (_TOP[1] + part * (2.0 * _TOP[2] + part * 3.0 * _TOP[3])) / _REACH
        round_ = np.where(beyond > 0.0, narrowing, 2.0 * cosine / sine)
        return np.where(self.circular, round_, plain)

    def first_moment(self, depth: Array) -> Array:
        """Return the first moment of the wetted area about the surface [m3] at a depth [m].

        Its slope with depth is the area; times density and gravity it is the pressure force.
        """
        plain = depth**2 * (0.5 * self.width + self.side_slope * depth / 3.0)
        if self.circular is None:
            return plain
        angle, sine, cosine, beyond, part = self._round(depth)
        below = (3.0 * sine - sine**3 - 3.0 * angle * cosine) / 24.0
        held = part**2 * (
            _TOP[0] / 2 + part * (_TOP[1] / 6 + part * (_TOP[2] / 12 + part * _TOP[3] / 20))
        )
        rise = np.maximum(beyond, 0.0)
        past = np.maximum(beyond - _REACH, 0.0)
        above = (
            _AREA * np.minimum(rise, _REACH)
            + _REACH**2 * held
            + 0.25 * math.pi * past
            + 0.5 * SLOT_FRACTION * past**2
        )
        round_ = self._bore**3 * (np.where(beyond > 0.0, _MOMENT, below) + above)
        return np.where(self.circular, round_, plain)
