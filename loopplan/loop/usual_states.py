"""Duty states of a file that names none, which hang on what stands side by side.

One unit out of service, and sills out of level. Both are added to the usual ones, and left out
where the loop has no such set or cannot be solved with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from loopplan.loop.alike import side_by_side
from loopplan.loop.graph import Graph
from loopplan.scenario.models import Scenario, State
from loopplan.scenario.out_of_service import take_out


def with_usual_states(scenario: Scenario, graph: Graph) -> Scenario:
    """Return the scenario with such states added, itself where none are to be."""
    if not scenario.adds_states:
        return scenario
    sets = side_by_side(scenario, graph)
    added = [*_one_out(scenario, sets), *_out_of_level(scenario, sets)]
    return replace(scenario, states=(*scenario.states, *added), adds_states=False)


def _one_out(scenario: Scenario, sets: list[tuple[str, ...]]) -> Iterator[State]:
    """Yield the state with one unit of the set that misses it most out of service.

    Treatment comes before tanks; then the set of fewest units, whose others carry most more.
    """
    clean = scenario.states[0]
    alone = [(n,) for n in scenario.elements if not any(n in names for names in sets)]
    found: list[tuple[bool, float, str]] = []
    for names in (*sets, *alone):
        element = scenario.elements[names[0]]
        units = sum(scenario.elements[n].count for n in names)
        fish = bool(getattr(element, "fish", False))
        if units > 1 and (element.treats or fish):
            found.append((fish, units, names[0]))
    if not found:
        return
    name = min(found, key=lambda item: item[:2])[2]
    elements, shut = take_out(clean.elements, scenario.paths, [name])
    yield replace(clean, name=f"one out: {name}", elements=elements, shut=shut, added=True)


def _out_of_level(scenario: Scenario, sets: list[tuple[str, ...]]) -> Iterator[State]:
    """Yield the state with every sill that has siblings, or a stated tolerance, out of level.

    Of siblings the first stands high by its tolerance and the others low, which leaves it the
    least share; a sill without siblings stands high, which raises what is before it.
    """
    clean = scenario.states[0]
    low = {n for names in _sill_sets(scenario, sets) for n in names[1:]}
    high = {names[0] for names in _sill_sets(scenario, sets)}
    high |= {n for n, e in scenario.elements.items() if n not in low and e.states_tolerance()}
    changed = {}
    for name in (*sorted(high), *sorted(low)):
        element = scenario.elements[name]
        tolerance = element.sill_tolerance() or 0.0
        moved = element.with_sill_raised(tolerance if name in high else -tolerance)
        if tolerance:
            changed[name] = moved
    if changed:
        elements = {**clean.elements, **changed}
        yield replace(clean, name="sills out of level", elements=elements, added=True)


def _sill_sets(scenario: Scenario, sets: Iterable[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Sets of which every element has a sill of its own."""
    return [
        names
        for names in sets
        if all(scenario.elements[n].sill_tolerance() is not None for n in names)
    ]
