"""Local losses of fittings: K on the velocity head v^2/2g.

Compile time only. v is the mean velocity of the pipe; where the pipe changes size it is that of
the smaller one. Published coefficients of one fitting differ by half and more between books and
makers: take a maker's figure where there is one.

This file loads neither numpy nor fluids; `FITTINGS` serves the parser and the help.
"""

from __future__ import annotations

import difflib
import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache


@dataclass(frozen=True)
class FittingK:
    """Loss coefficient of one fitting.

    Attributes:
        value: K on v^2/2g [-].
        method: how it was had, in words.
        source: key of the source.
    """

    value: float
    method: str
    source: str


@dataclass(frozen=True)
class Argument:
    """One size of a fitting.

    Attributes:
        meaning: what it is.
        unit: its unit.
        default: value that is taken where none is stated [unit].
        low, high: range that is accepted [unit].
    """

    meaning: str
    unit: str
    default: float
    low: float
    high: float


@dataclass(frozen=True)
class Fitting:
    """A kind of fitting.

    Attributes:
        meaning: what it is, in words.
        source: key of the source.
        arguments: its sizes by name.
        rule: gives K and the method from the sizes.
    """

    meaning: str
    source: str
    arguments: dict[str, Argument]
    rule: Callable[..., tuple[float, str]]


def _between(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Interpolate on straight lines; the ends hold beyond the table."""
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    i = bisect_right(xs, x)
    share = (x - xs[i - 1]) / (xs[i] - xs[i - 1])
    return ys[i - 1] + share * (ys[i] - ys[i - 1])


def _table(value: float, words: str) -> Callable[[], tuple[float, str]]:
    return lambda: (value, words)


def _rounded_entrance(rounding: float) -> tuple[float, str]:
    from fluids.fittings import entrance_rounded

    k = entrance_rounded(Di=1.0, rc=rounding, method="Idelchik")
    return float(k), f"Idelchik, edge radius {rounding:g} diameters"


def _bend(turn: float) -> Callable[[float, float], tuple[float, str]]:
    def rule(radius: float, friction_factor: float) -> tuple[float, str]:
        from fluids.fittings import bend_rounded

        k = bend_rounded(Di=1.0, angle=turn, rc=radius, fd=friction_factor, method="Rennels")
        return float(k), f"Rennels, radius {radius:g} diameters, friction of the arc included"

    return rule


_MITRE_SMOOTH = {45.0: 0.236, 90.0: 1.129}
_MITRE_ROUGH = {45.0: 0.320, 90.0: 1.265}


def _mitre(turn: float) -> Callable[[float], tuple[float, str]]:
    def rule(wall: float) -> tuple[float, str]:
        k = _MITRE_SMOOTH[turn] + wall * (_MITRE_ROUGH[turn] - _MITRE_SMOOTH[turn])
        return k, f"table, one cut, wall {'smooth' if wall == 0.0 else 'rough'}"

    return rule


# The table runs from 0.1 to 0.9; its ends here are the limits of a very large and of no step
# (0.617 from memory).
_AREA_RATIO = tuple(i / 10.0 for i in range(11))
_JET_SHARE = (0.617, 0.624, 0.632, 0.643, 0.659, 0.681, 0.712, 0.755, 0.813, 0.892, 1.0)


def _contraction(diameter_ratio: float) -> tuple[float, str]:
    jet = _between(diameter_ratio**2, _AREA_RATIO, _JET_SHARE)
    return (1.0 / jet - 1.0) ** 2, f"Weisbach, sudden, to {diameter_ratio:g} of the diameter"


def _expansion(diameter_ratio: float) -> tuple[float, str]:
    return (1.0 - diameter_ratio**2) ** 2, f"Borda and Carnot, sudden, from {diameter_ratio:g}"


def _cone(diameter_ratio: float, angle: float) -> tuple[float, str]:
    from fluids.fittings import diffuser_conical

    k = diffuser_conical(Di1=diameter_ratio, Di2=1.0, angle=angle, fd=0.018, method="Rennels")
    return float(k), f"Rennels, from {diameter_ratio:g} of the diameter, full angle {angle:g} deg"


_GATE_CLOSED = (0.0, 0.25, 0.5, 0.75)
_GATE_LOG = tuple(math.log(k) for k in (0.15, 0.26, 2.1, 17.0))


def _gate(closed: float) -> tuple[float, str]:
    return math.exp(_between(closed, _GATE_CLOSED, _GATE_LOG)), f"table, {closed:.0%} closed"


_DISC_ANGLE = (5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0)
_DISC_LOG = tuple(math.log(k) for k in (0.24, 0.52, 1.54, 3.91, 10.8, 32.6, 118.0, 751.0))
_DISC_OPEN = 0.56


def _butterfly(angle: float) -> tuple[float, str]:
    # Weisbach's disc is thinner than that of a real valve, so K of the open valve is the least.
    k = math.exp(_between(angle, _DISC_ANGLE, _DISC_LOG))
    if k < _DISC_OPEN:
        return _DISC_OPEN, f"table, open valve, turned {angle:.0f} deg"
    return k, f"Weisbach, turned {angle:.0f} deg from open"


def _crane(name: str, **fixed: float | bool) -> Callable[[float], tuple[float, str]]:
    def rule(diameter: float) -> tuple[float, str]:
        from fluids import fittings

        k = getattr(fittings, name)(diameter, **fixed)
        return float(k), f"Crane, fully open, {1e3 * diameter:.0f} mm"

    return rule


def _ball(diameter: float) -> tuple[float, str]:
    from fluids.friction import ft_Crane

    return 3.0 * float(ft_Crane(diameter)), f"Crane, full bore, open, {1e3 * diameter:.0f} mm"


_SIZE = Argument("inside diameter", "m", 0.1, 0.02, 1.0)
_RADIUS = Argument("radius of the centre line over diameter", "-", 1.5, 0.5, 10.0)
_FRICTION = Argument("Darcy friction factor of the pipe", "-", 0.018, 0.006, 0.1)
_WALL = Argument("wall: 0 smooth, 1 rough", "-", 0.0, 0.0, 1.0)
_RATIO = Argument("smaller over larger diameter", "-", 0.8, 0.01, 1.0)
_BEND = {"radius": _RADIUS, "friction_factor": _FRICTION}

FITTINGS: dict[str, Fitting] = {
    "sharp entrance": Fitting(
        "flush entrance with a square edge", "ew-table-6-4", {}, _table(0.5, "table, flush")
    ),
    "rounded entrance": Fitting(
        "flush entrance with a rounded edge",
        "idelchik-3",
        {"rounding": Argument("radius of the edge over diameter", "-", 0.05, 0.0, 0.2)},
        _rounded_entrance,
    ),
    "bell-mouth entrance": Fitting(
        "flared entrance", "ew-table-6-4", {}, _table(0.04, "table, bell-mouth")
    ),
    "projecting entrance": Fitting(
        "pipe end that stands into the basin",
        "ew-table-6-4",
        {},
        _table(0.9, "table, middle of 0.8 to 1.0"),
    ),
    "exit": Fitting(
        "outlet into still water", "borda-carnot", {}, _table(1.0, "all of the velocity head")
    ),
    "bend 90": Fitting("smooth bend of 90 degrees", "rennels-2012", _BEND, _bend(90.0)),
    "bend 45": Fitting("smooth bend of 45 degrees", "rennels-2012", _BEND, _bend(45.0)),
    "mitre 90": Fitting(
        "bend of 90 degrees in one cut", "mitre-table-26-3", {"wall": _WALL}, _mitre(90.0)
    ),
    "mitre 45": Fitting(
        "bend of 45 degrees in one cut", "mitre-table-26-3", {"wall": _WALL}, _mitre(45.0)
    ),
    "tee run": Fitting(
        "tee, straight through, smooth bore", "munson-8-2", {}, _table(0.2, "table, flanged")
    ),
    "tee branch": Fitting(
        "tee, into or out of the branch, smooth bore",
        "munson-8-2",
        {},
        _table(1.0, "table, flanged"),
    ),
    "contraction": Fitting(
        "sudden step to a smaller pipe; K on the smaller",
        "weisbach-cc",
        {"diameter_ratio": _RATIO},
        _contraction,
    ),
    "expansion": Fitting(
        "sudden step to a larger pipe; K on the smaller",
        "borda-carnot",
        {"diameter_ratio": _RATIO},
        _expansion,
    ),
    "conical expansion": Fitting(
        "cone to a larger pipe; K on the smaller",
        "rennels-2012",
        {
            "diameter_ratio": Argument("smaller over larger diameter", "-", 0.8, 0.1, 1.0),
            "angle": Argument("full angle of the cone", "deg", 20.0, 2.0, 180.0),
        },
        _cone,
    ),
    "gate valve": Fitting(
        "gate valve",
        "gate-tables",
        {"closed": Argument("share of the stroke that is closed", "-", 0.0, 0.0, 0.75)},
        _gate,
    ),
    "butterfly valve": Fitting(
        "butterfly valve",
        "weisbach-butterfly",
        # A hair more than 70, for angles that come from radians.
        {"angle": Argument("angle of the disc from fully open", "deg", 0.0, 0.0, 70.01)},
        _butterfly,
    ),
    "ball valve": Fitting("ball valve with full bore", "crane-410", {"diameter": _SIZE}, _ball),
    "swing check": Fitting(
        "check valve with a hinged flap, opened fully by the flow",
        "crane-410",
        {"diameter": _SIZE},
        _crane("K_swing_check_valve_Crane", angled=True),
    ),
    "foot valve": Fitting(
        "foot valve with strainer and hinged flap",
        "crane-410",
        {"diameter": _SIZE},
        _crane("K_foot_valve_Crane", style=1),
    ),
}
"""Fittings by their name in the trade."""


@cache
def _find(name: str, sizes: tuple[tuple[str, float], ...]) -> FittingK:
    fitting = FITTINGS[name]
    value, method = fitting.rule(**dict(sizes))
    return FittingK(value, method, fitting.source)


def fitting_k(name: str, **geometry: float) -> FittingK:
    """Loss coefficient of a fitting.

    Args:
        name: name of the fitting, one of `FITTINGS`.
        geometry: its sizes [as stated in `FITTINGS`]; what is left out takes its default.

    Returns:
        K on v^2/2g, with method and source.

    Raises:
        ValueError: if the fitting or a size is not known, or a size is outside its range.

    Source: that of each fitting.
    """
    fitting = FITTINGS.get(name)
    if fitting is None:
        near = difflib.get_close_matches(name, FITTINGS, 1, 0.5)
        hint = f"did you mean '{near[0]}'?" if near else "known: " + ", ".join(FITTINGS)
        raise ValueError(f"'{name}' is not a fitting that is known; {hint}")
    for key in geometry:
        if key not in fitting.arguments:
            known = ", ".join(fitting.arguments) or "none"
            raise ValueError(f"'{name}' has no size '{key}'; its sizes: {known}")
    sizes = []
    for key, size in fitting.arguments.items():
        value = float(geometry.get(key, size.default))
        if not size.low <= value <= size.high:
            raise ValueError(
                f"{key} of '{name}' is {value:g} {size.unit}; "
                f"allowed: {size.low:g} to {size.high:g} {size.unit}"
            )
        sizes.append((key, value))
    return _find(name, tuple(sizes))
