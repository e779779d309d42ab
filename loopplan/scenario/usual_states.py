"""Duty states that a file asks for without naming them: low water and high water."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from loopplan.declare import Element, as_written
from loopplan.scenario.models import Closure, State

_MARGINS = (
    ("low water", "lowest_level", "least_volume"),
    ("high water", "highest_level", "most_volume"),
)


def low_and_high_water(
    clean: State, elements: Mapping[str, Element], closures: tuple[Closure, ...]
) -> Iterable[State]:
    """Yield the clean state with every given level or volume at its stated low, then high."""
    for name, level_field, volume_field in _MARGINS:
        levels, volumes = dict(clean.levels), dict(clean.volumes)
        for number, closure in enumerate(closures):
            level, volume = getattr(closure, level_field), getattr(closure, volume_field)
            if level is not None and closure.at is not None:
                levels[closure.at] = level
            if volume is not None:
                volumes[number] = volume
        for basin, element in elements.items():
            level = getattr(element, level_field, None)
            if level is not None:
                levels[basin] = level
        if levels != clean.levels or volumes != clean.volumes:
            yield replace(clean, name=name, levels=levels, volumes=volumes, added=True)


def misplaced_margins(closure: Closure) -> Iterable[tuple[str, str]]:
    """Yield (key, message) of margins that lie on the wrong side of what is given."""
    for key, given, side in (
        ("lowest_level", closure.level, -1.0),
        ("highest_level", closure.level, 1.0),
        ("least_volume", closure.volume, -1.0),
        ("most_volume", closure.volume, 1.0),
    ):
        margin = getattr(closure, key)
        if margin is not None and given is not None and side * (margin - given) < 0.0:
            word = "above" if side < 0.0 else "below"
            yield as_written(key), f"it lies {word} what is given as the usual"
