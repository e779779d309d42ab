"""What the study of shares hands over: frozen and plain."""

from __future__ import annotations

from dataclasses import dataclass

SILL_ERROR = 0.005
"""Error of one sill [m] whose effect is shown."""

NOZZLE_ERROR = 0.02
"""Error of one nozzle's bore, as a share of it [-], whose effect is shown."""


@dataclass(frozen=True)
class Share:
    """One element of a set: flow of one of its units [m3/s], its share of the mean [-].

    `sill` names the sill that was moved, and `error` is the change of its flow [-] with that
    sill set :data:`SILL_ERROR` low; None where it has no sill of its own. `nozzle` and
    `nozzle_error` say the same of nozzles that are :data:`NOZZLE_ERROR` wide.
    """

    element: str
    flow: float
    share: float
    sill: str | None
    error: float | None
    nozzle: str | None = None
    nozzle_error: float | None = None


@dataclass(frozen=True)
class ShareSet:
    """Like elements side by side in one duty state; `spread` is (most - least)/mean [-]."""

    kind: str
    state: str
    shares: tuple[Share, ...]
    spread: float
