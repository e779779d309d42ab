"""Fittings by name, and the sum of their local coefficients."""

from __future__ import annotations

import difflib
from functools import lru_cache
from typing import Any

from pydantic_core import PydanticCustomError

from loopplan.errors import UnitError
from loopplan.units import read_quantity

_MOST = 1000


_SIZED = ("contraction", "expansion", "conical expansion")
"""Fittings whose loss hangs on a size that a count cannot tell."""


def check_fittings(value: Any) -> Any:
    """Check names and numbers of a `fittings` entry; used as a field validator."""
    from loopplan.physics.fittings import FITTINGS

    if not isinstance(value, dict):
        raise PydanticCustomError(
            "quantity",
            "{message}",
            {
                "message": "a list of `fitting: how many` is due here",
                "cure": "write `fittings: {bend 90: 2}`",
            },
        )
    counted = {}
    known = [name for name in FITTINGS if name not in _SIZED]
    for name, number in value.items():
        if name in _SIZED:
            message = f"`{name}` needs a size of its own"
            cure = "give its loss coefficient in `k`, or describe two pipes of unlike diameter"
            raise PydanticCustomError("quantity", "{message}", {"message": message, "cure": cure})
        if name not in known:
            close = difflib.get_close_matches(str(name), known, 1, 0.5)
            cure = f"did you mean `{close[0]}`?" if close else "known: " + ", ".join(known)
            message = f"`{name}` is not a fitting that is known"
            raise PydanticCustomError("quantity", "{message}", {"message": message, "cure": cure})
        try:
            counted[name] = int(read_quantity(number, "count").value)
        except UnitError as error:
            raise PydanticCustomError(
                "quantity", "{message}", {"message": f"{name}: {error}", "cure": error.cure}
            ) from None
        if counted[name] > _MOST:
            message = f"{name}: more than {_MOST} of one fitting in a run"
            cure = "give how many there are in this run"
            raise PydanticCustomError("quantity", "{message}", {"message": message, "cure": cure})
    return counted


@lru_cache(maxsize=4096)
def _one(name: str) -> tuple[float, str, str]:
    from loopplan.physics.fittings import fitting_k

    found = fitting_k(name)
    return found.value, found.source, f"{name}: K {found.value:.3g} ({found.method})"


def sum_of_fittings(parts: dict[str, int]) -> tuple[float, tuple[str, ...], tuple[str, ...]]:
    """Return the sum of K [-], the sources, and a note on each fitting."""
    total = 0.0
    sources: list[str] = []
    notes = []
    for name, number in parts.items():
        value, source, note = _one(name)
        total += number * value
        if source not in sources:
            sources.append(source)
        notes.append(f"{number} x {note}" if number > 1 else note)
    return total, tuple(sources), tuple(notes)
