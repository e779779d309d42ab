"""What a channel names along its length must be what stands next to it in the flow paths."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise

from loopplan.declare import Element
from loopplan.scenario._reader_words import nearest


def misplaced(
    elements: Mapping[str, Element], paths: Mapping[str, tuple[str, ...]]
) -> Iterable[tuple[tuple[str, ...], str, str]]:
    """Yield where in the file a place is wrong or left out, what is wrong, and what would do."""
    joins = [join for names in paths.values() for join in pairwise(names)]
    for name, element in elements.items():
        places: Mapping[str, float] = getattr(element, "places", {})
        if not places or not any(name in names for names in paths.values()):
            continue
        feeds = element.kind == "dividing channel"
        beside = dict.fromkeys((b if feeds else a) for a, b in joins if name == (a if feeds else b))
        word = "after" if feeds else "before"
        for place in places:
            if place not in beside:
                known = f"name what stands right {word} it, or lead a flow path that way"
                cure = known if place in elements or not beside else nearest(place, beside)
                message = f"no flow path has '{place}' right {word} '{name}'"
                yield ("elements", name, "places", place), message, cure
        if not set(places) <= set(beside):
            # A name that is written wrongly is told once.
            continue
        kinds = {elements[place].kind for place in places if place in elements}
        for other in beside:
            if other not in places and other in elements and elements[other].kind in kinds:
                yield (
                    ("elements", name, "places"),
                    f"'{other}' stands right {word} '{name}' in a flow path and has no place here",
                    f"add `{other}: ...`, its distance from the upstream end",
                )
