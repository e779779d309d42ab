"""The shape of a finding, and the table of declared kinds."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Any


class Severity(Enum):
    """How bad a finding is, the worst first."""

    SEVERE = "severe"
    """Not to be built or run like this."""
    WARNING = "warning"
    """Works, but outside good practice or what the sources bear."""
    NOTE = "note"
    """Worth knowing."""

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return list(Severity).index(self)

    def at_least(self, other: Severity) -> bool:
        """Tell whether this is as bad as `other`, or worse."""
        return self.rank <= other.rank


@dataclass(frozen=True)
class FindingKind:
    """What a kind of finding means, whatever the place.

    `source` says where the rule comes from.
    """

    code: str
    title: str
    severity: Severity
    cause: str
    effect: str
    cure: str
    source: str


@dataclass(frozen=True)
class Finding:
    """One thing that the user should know.

    `place` is the element (or the loop), `state` the duty state ("" for all of them), `also` the
    other states in which it holds less badly. `value` and `limit` are in `unit`, None where no
    number applies.
    """

    code: str
    severity: Severity
    place: str
    state: str
    value: float | None
    limit: float | None
    unit: str
    message: str
    cure: str
    source: str
    also: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return the finding as plain data, in the order of its fields."""
        return {**vars(self), "severity": self.severity.value, "also": list(self.also)}


FINDING_KINDS: dict[str, FindingKind] = {}
"""Every declared kind by its code."""

_CODE = re.compile(r"[a-z]+(?:-[a-z]+)*")


def declare_finding(
    code: str, title: str, severity: Severity, *, cause: str, effect: str, cure: str, source: str
) -> FindingKind:
    """Declare a kind of finding under `code`, plain words joined by hyphens.

    Raises ValueError for a code that is taken or not plain words, or for an empty text.
    """
    if not _CODE.fullmatch(code):
        raise ValueError(f"'{code}' is not plain words joined by hyphens")
    if code in FINDING_KINDS:
        raise ValueError(f"the finding '{code}' is declared already")
    kind = FindingKind(code, title, severity, cause, effect, cure, source)
    empty = [
        name for name, text in vars(kind).items() if isinstance(text, str) and not text.strip()
    ]
    if empty:
        raise ValueError(f"the finding '{code}' lacks {', '.join(empty)}")
    FINDING_KINDS[code] = kind
    return kind


def find(
    code: str,
    place: str,
    *,
    state: str = "",
    value: float | None = None,
    limit: float | None = None,
    unit: str = "",
    message: str = "",
    severity: Severity | None = None,
    cure: str = "",
    source: str = "",
) -> Finding:
    """Build a finding of the declared kind `code` at `place`.

    What is left out comes from the kind. Without a `message` the title and the numbers are given.

    Raises KeyError for a code that is not declared, ValueError for a number that is not finite.
    """
    if code not in FINDING_KINDS:
        raise KeyError(f"no finding '{code}' is declared")
    kind = FINDING_KINDS[code]
    for number in (value, limit):
        if number is not None and not math.isfinite(number):
            raise ValueError(f"finding '{code}' at '{place}' has {number!r} for a number")
    return Finding(
        code,
        severity or kind.severity,
        place,
        state,
        value,
        limit,
        unit,
        message or _say(kind.title, value, limit, unit),
        cure or kind.cure,
        source or kind.source,
    )


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """Return `findings` the worst first; among equals by place, code, state, message and value."""
    return sorted(findings, key=_order)


def worst(findings: Iterable[Finding]) -> Severity | None:
    """Return the severity of the worst finding; None if there are none."""
    return min((f.severity for f in findings), key=lambda s: s.rank, default=None)


def _order(finding: Finding) -> tuple[int, str, str, str, str, float]:
    value = -math.inf if finding.value is None else finding.value
    where = (finding.place, finding.code, finding.state, finding.message)
    return (finding.severity.rank, *where, value)


def _say(title: str, value: float | None, limit: float | None, unit: str) -> str:
    shown = [
        f"{word}{number:.3g} {unit}".rstrip()
        for word, number in (("", value), ("limit ", limit))
        if number is not None
    ]
    return f"{title}: {', '.join(shown)}" if shown else title
