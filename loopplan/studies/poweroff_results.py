"""What the power-off study hands over: frozen and plain, SI units throughout.

Levels [m above the farm datum], volumes [m3], times [s].
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PlaceAtRest:
    """A basin or a channel before and after all lifts have stopped, all its units together.

    `over_wall` is what runs over its wall top, `freeboard` what is left of it at rest, and
    `oxygen` the shortest and longest time that the fish's oxygen lasts, for fish tanks of a
    farm whose biomass is given.
    """

    element: str
    kind: str
    units: float
    running_level: float
    stop_level: float
    running_volume: float
    stop_volume: float
    wall_top: float | None
    freeboard: float | None
    over_wall: float
    oxygen: tuple[float, float] | None

    @property
    def drained(self) -> float:
        """What it gave more than it took [m3], less than zero if it took more."""
        return self.running_volume - self.stop_volume


@dataclass(frozen=True)
class Suction:
    """Where a lift draws from, at rest: `least_level` is what it needs to start again."""

    lift: str
    basin: str
    stop_level: float
    least_level: float


@dataclass(frozen=True)
class PowerCase:
    """All lifts stopped in one duty state, all flaps working or one stuck open.

    `over_walls` is lost over wall tops, `leaves` lists what runs out over overflows and into
    open water, `pipes` is the water of pipes that ran empty; `start` is what brings every
    place back to its running level, `held` what stands ready for it.
    """

    state: str
    stuck: str
    places: tuple[PlaceAtRest, ...]
    over_walls: float
    leaves: tuple[tuple[str, float], ...]
    pipes: float
    start: float
    held: float
    suctions: tuple[Suction, ...]

    @property
    def lost(self) -> float:
        """All that leaves the loop [m3]."""
        return self.over_walls + sum(volume for _, volume in self.leaves)

    @property
    def short(self) -> float:
        """What is missing to start again [m3], zero if nothing is."""
        return max(self.start - self.held, 0.0)


@dataclass(frozen=True)
class PowerOff:
    """What happens when every lift stops.

    `cases` are the duty states with all flaps working; `stuck` those with one flap stuck open.
    `worst` is the case of `cases` to look at first, `worst_stuck` that of `stuck`. Oxygen lasts
    as long as `usable_oxygen` [kg/m3] does at the least and greatest `consumption` [kg/(kg s)].
    """

    cases: tuple[PowerCase, ...]
    stuck: tuple[PowerCase, ...]
    worst: PowerCase
    worst_stuck: PowerCase | None
    usable_oxygen: float
    consumption: tuple[float, float]
