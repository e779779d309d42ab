"""What is fouled is not cleaner than what is clean."""

from __future__ import annotations

from collections.abc import Iterable


def check_blinding(clean: float, fouled: float) -> Iterable[tuple[str, str, str]]:
    """Yield a refusal where more is closed when clean than when fouled (shares, [-])."""
    if fouled < clean:
        yield (
            "blinded fouled",
            f"less is closed when fouled ({100.0 * fouled:g} %) than when clean "
            f"({100.0 * clean:g} %)",
            "give a `blinded fouled` of at least `blinded`",
        )
