"""What the study of the sump's swing hands over: frozen and plain, SI units throughout."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SumpLevel:
    """The sump in one duty state, the loop's water unchanged.

    Its `level` [m], and what it has `given` up since the first state [m3], less than zero if it
    took.
    """

    state: str
    level: float
    given: float


@dataclass(frozen=True)
class SumpSwing:
    """Levels of one suction basin over all duty states, the water of the loop being constant.

    `usual` [m] is the level in the first state. `need` [m] is the least level that its lifts
    draw from, or the floor; `overflow` [m] the lowest sill out of it, None without one.
    `spilled` [m3] is what leaves over that sill in the highest state, and `refilled` [m] the
    lowest level once that is missing. `unsolved` are states that no level of the sump carries.
    """

    element: str
    lifts: tuple[str, ...]
    usual: float
    levels: tuple[SumpLevel, ...]
    floor: float
    need: float
    wall_top: float
    overflow: float | None
    spilled: float
    refilled: float
    unsolved: tuple[str, ...]

    @property
    def low(self) -> SumpLevel:
        """The lowest level."""
        return min(self.levels, key=lambda s: s.level)

    @property
    def high(self) -> SumpLevel:
        """The highest level."""
        return max(self.levels, key=lambda s: s.level)

    @property
    def swing(self) -> float:
        """How far the level swings [m]."""
        return self.high.level - self.low.level
