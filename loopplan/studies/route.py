"""Which parts of an element a flow path passes."""

from __future__ import annotations

from collections.abc import Sequence

from loopplan.declare import Basin, Element, Part, Passage


def parts_passed(
    element: Element, parts: Sequence[Part], before: str | None, after: str | None
) -> list[int]:
    """Return the numbers of the parts that a path passes between two neighbours.

    A tank in the middle of a collecting channel sees only the reaches below it; the branch
    to a tank from a dividing channel only those above. `before` and `after` are the names on
    either side, None at an end of the path: a path that starts or ends at a basin does so at
    its level. Bypasses that no path names are told with the whole element.
    """
    surface = _surface(parts)
    start = (element.tap(before) if before else surface) or 0
    end = element.tap(after) if after else surface
    sides = {
        part.span[1]: (number, part.span[0])
        for number, part in enumerate(parts)
        if isinstance(part, Passage) and part.span is not None and part.beside is not None
    }
    found: list[int] = []
    if end in sides:
        number, end = sides[end]
        found = [number]
    position = 0
    passed = []
    for number, part in enumerate(parts):
        if not isinstance(part, Passage):
            continue
        if part.span is not None:
            if part.beside is None and start == 0 and end is None:
                passed.append(number)
            continue
        if position >= start and (end is None or position < end):
            passed.append(number)
        position += 1
    return passed + found


def _surface(parts: Sequence[Part]) -> int | None:
    """How many passages of an element lie before its basin, None without a basin."""
    for number, part in enumerate(parts):
        if isinstance(part, Basin):
            return sum(isinstance(p, Passage) and p.span is None for p in parts[:number])
    return None
