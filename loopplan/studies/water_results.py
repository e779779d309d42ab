"""What the water balance hands over: flows [m3/s], volumes [m3], areas [m2], masses [kg]."""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.declare import DAY


@dataclass(frozen=True)
class WaterLoss:
    """Water that leaves the loop and is no surplus, at one place in one duty state.

    `what` is wash water, purge, sludge, evaporation or leakage. `flow` is the mean of a day
    where `averaged` is True; else it is the solved flow of an exit of the loop.
    """

    place: str
    what: str
    flow: float
    averaged: bool


@dataclass(frozen=True)
class WaterBalance:
    """Water in, round and out in one duty state.

    `circulation` is the greatest flow through one place of the loop. `replacement` is what
    enters: `make_up`, and what comes in at outside levels. `discharge` is what leaves by the
    exits of the solved loop, and `exchanges` lists them as (place, flow that leaves). `losses`
    are told apart in :class:`WaterLoss`. `volume` is the water of the system: in basins (open
    water apart), channels and pipes. `yielding` is what leaves by exits that give way: overflows
    and outside levels. `feed` [kg/s] and `production` [kg/s] are as stated.
    """

    circulation: float
    make_up: float
    discharge: float
    replacement: float
    exchanges: tuple[tuple[str, float], ...]
    losses: tuple[WaterLoss, ...] = ()
    volume: float = 0.0
    yielding: float = 0.0
    feed: float | None = None
    production: float | None = None

    @property
    def passes(self) -> float | None:
        """Circulation over replacement [-]."""
        return _over(self.circulation, self.replacement)

    @property
    def reused_share(self) -> float | None:
        """Share of the circulation that is not new: (circulation - replacement)/circulation.

        Circulation counts the new water where that joins the main flow. Without it, it is the
        internal flow of handbooks, so that this is their internal/(internal + new) as well.
        """
        return _over(self.circulation - self.replacement, self.circulation)

    @property
    def exchanged_a_day(self) -> float | None:
        """Replacement of a day over the water of the system [-]."""
        return _over(DAY * self.replacement, self.volume)

    @property
    def water_per_feed(self) -> float | None:
        """Replacement for each kilogram of feed [m3/kg]."""
        return _over(self.replacement, self.feed)

    @property
    def feed_per_water(self) -> float | None:
        """Feed given to each cubic metre of replacement [kg/m3]."""
        return None if self.feed is None else _over(self.feed, self.replacement)

    @property
    def water_per_fish(self) -> float | None:
        """Replacement for each kilogram of fish grown [m3/kg]."""
        return _over(self.replacement, self.production)

    @property
    def lost(self) -> float:
        """All losses together [m3/s]."""
        return sum(loss.flow for loss in self.losses)

    @property
    def averaged(self) -> float:
        """Those losses that are no exit of the solved loop, together [m3/s]."""
        return sum(loss.flow for loss in self.losses if loss.averaged)

    @property
    def surplus(self) -> float:
        """Replacement less all losses [m3/s]: what is left to drain as surplus."""
        return self.replacement - self.lost

    @property
    def shortfall(self) -> float:
        """Losses that the exits which give way cannot make room for [m3/s]; none if zero."""
        return max(self.averaged - self.yielding, 0.0)


def _over(part: float, whole: float | None) -> float | None:
    return part / whole if whole is not None and whole > 0.0 else None
