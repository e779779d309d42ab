"""What the study of shares hands over: frozen and plain."""

from __future__ import annotations

from dataclasses import dataclass

SILL_ERROR = 0.005
"""Error of one sill [m] whose effect is shown."""


@dataclass(frozen=True)
class Share:
    """One element of a set: flow of one of its units [m3/s], its share of the mean [-].

    `sill` names the sill that was moved, and `error` is the change of its flow [-] with that
    sill set :data:`SILL_ERROR` low; None where it has no sill of its own.
    """

    element: str
    flow: float
    share: float
    sill: str | None
    error: float | None


@dataclass(frozen=True)
class ShareSet:
    """Like elements side by side in one duty state; `spread` is (most - least)/mean [-]."""

    kind: str
    state: str
    shares: tuple[Share, ...]
    spread: float


@dataclass(frozen=True)
class Cure:
    """One way to bring a spread to its limit, as solved again.

    `what` says what is done to a length of `elements`, alike in all of them; of the first it
    goes from `before` to `after` [m]. `spread` [-] is what is left; `head` [m] is the change of the
    total head of the lift: above zero it costs, below zero it saves.
    """

    elements: tuple[str, ...]
    what: str
    before: float
    after: float
    spread: float
    head: float


@dataclass(frozen=True)
class Cures:
    """Two cures of uneven shares along one dividing channel, in the first duty state.

    `lift` feeds the channel. A cure is None where it does not bring the spread [-] to the
    limit [-] within what is tried.
    """

    elements: tuple[str, ...]
    state: str
    channel: str
    lift: str
    spread: float
    limit: float
    widen: Cure | None
    throttle: Cure | None

    @property
    def cheaper(self) -> Cure | None:
        """The cure that asks for less head; None if neither helps."""
        found = [cure for cure in (self.widen, self.throttle) if cure is not None]
        return min(found, key=lambda cure: cure.head, default=None)
