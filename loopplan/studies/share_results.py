"""What the study of shares hands over: frozen and plain."""

from __future__ import annotations

from dataclasses import dataclass

SILL_ERROR = 0.005
"""Error of one sill [m] whose effect is shown where its tolerance is not stated."""


@dataclass(frozen=True)
class Share:
    """One element of a set: flow of one of its units [m3/s], its share of the mean [-].

    `of_usual` is its flow as a share of that in the first duty state [-]; None where it had none.
    `sill` names the sill that was moved, and `error` is the change of its flow [-] with that
    sill set `sill_low` [m] too low: its stated tolerance, else :data:`SILL_ERROR`. None where it
    has no sill of its own.
    """

    element: str
    flow: float
    share: float
    sill: str | None
    error: float | None
    sill_low: float = SILL_ERROR
    of_usual: float | None = None


@dataclass(frozen=True)
class ShareSet:
    """Like elements side by side in one duty state; `spread` is (most - least)/mean [-].

    Those that are `out` of service have no share; `fewer` run with a unit less.
    """

    kind: str
    state: str
    shares: tuple[Share, ...]
    spread: float
    out: tuple[str, ...] = ()
    fewer: tuple[str, ...] = ()
