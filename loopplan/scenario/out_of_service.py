"""Taking units out of service: which counts fall by one, and which elements stand shut."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise

from loopplan.declare import Element


def take_out(
    elements: Mapping[str, Element],
    paths: Mapping[str, tuple[str, ...]],
    names: Iterable[str],
) -> tuple[dict[str, Element], frozenset[str]]:
    """Return the elements with one unit of each named one out of service, and those shut.

    A lone element is shut. Of a set of like units one goes out, and with it whatever stands
    next to it in a flow path with the same `count`: each unit has a line of its own there.
    """
    changed, shut = dict(elements), set()
    for name in names:
        if elements[name].count == 1:
            shut.add(name)
            continue
        for member in _line(elements, paths, name):
            left = changed[member].count - 1
            changed[member] = changed[member].model_copy(update={"count": left})
    return changed, frozenset(shut)


def _line(
    elements: Mapping[str, Element], paths: Mapping[str, tuple[str, ...]], name: str
) -> Iterable[str]:
    """A set and all that it joins, element by element, in the same number."""
    found, stack = {name: None}, [name]
    while stack:
        here = stack.pop()
        for members in paths.values():
            for a, b in pairwise(members):
                other = b if a == here else a if b == here else here
                like = other in elements and elements[other].count == elements[name].count
                if like and other not in found:
                    found[other] = None
                    stack.append(other)
    return found
