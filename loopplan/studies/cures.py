"""Cures of uneven shares: a wider dividing channel against throttled inlets, priced in head.

Along a dividing channel the level rises where water slows down and falls by friction. A wider
channel takes that difference away; more head over each sill makes it matter less. Which size
would do is found by solving the loop again with several sizes side by side.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from loopplan.declare import Element, Passage
from loopplan.limits import Limits
from loopplan.loop.compile import Compiled
from loopplan.loop.solution import Solved
from loopplan.studies.share_results import Cure, Cures, ShareSet
from loopplan.studies.shares import flow_of
from loopplan.studies.variants import solve_changed

WIDEST, SHORTEST = 4.0, 0.2
"""Factors up to which a channel is widened and down to which inlets are throttled."""
_TRIED = 9
"""Sizes tried side by side in one solve."""
_ROUNDS = 3
"""Solves of one search: each narrows the bracket to one of its steps."""

Change = Callable[[float], dict[str, Element]]
"""What a factor makes of the elements that are changed."""


def share_cures(solved: Solved, sets: Sequence[ShareSet]) -> tuple[Cures, ...]:
    """Return the cures for each set whose spread in the first duty state is beyond its limit."""
    compiled = solved.compiled
    limits = compiled.scenario.limits
    assert isinstance(limits, Limits)
    found = []
    for shares in sets:
        names = tuple(share.element for share in shares.shares)
        if shares.state != compiled.names[0] or shares.spread <= limits.share_spread:
            continue
        ways = _ways(compiled, names) if alike(compiled, names) else None
        if ways is None:
            continue
        channel, chains = ways
        lift = _lift_before(compiled, channel)
        if lift is None:
            continue
        search = _Search(solved, names, lift, limits.share_spread)
        found.append(
            Cures(
                names,
                shares.state,
                channel,
                compiled.graph.branches[lift].element,
                shares.spread,
                limits.share_spread,
                search.widen(channel),
                search.throttle(chains),
            )
        )
    return tuple(found)


def alike(compiled: Compiled, names: Sequence[str]) -> bool:
    """Tell whether elements have the same sizes, so that equal shares may be asked of them.

    Levels, counts, and what stands at their inlets and outlets may differ.
    """

    def sizes(element: Element) -> dict[str, Any]:
        left = {"count", "inlet", "outlet", "floor", "wall_top", "crest", "invert"}
        return element.model_dump(exclude=left, warnings=False)

    elements = compiled.scenario.elements
    return all(sizes(elements[name]) == sizes(elements[names[0]]) for name in names)


def _ways(compiled: Compiled, names: tuple[str, ...]) -> tuple[str, list[list[str]]] | None:
    """The dividing channel that feeds each element from a place of its own, and the ways there."""
    for channel, element in compiled.scenario.elements.items():
        if element.kind != "dividing channel":
            continue
        ways: dict[str, list[list[str]]] = {name: [] for name in names}
        for place in getattr(element, "places", {}):
            for name, way in _ways_from(compiled, place).items():
                if name in ways:
                    ways[name].append(way)
        if all(len(found) == 1 for found in ways.values()):
            return channel, [found[0] for found in ways.values()]
    return None


def _ways_from(compiled: Compiled, place: str) -> dict[str, list[str]]:
    """A way to each element below a place, up to the next lift or collecting channel."""
    elements, graph = compiled.scenario.elements, compiled.graph.elements
    ways = {place: [place]}
    queue = [place]
    while queue:
        here = queue.pop(0)
        for after in graph.successors(here):
            ends = elements[after].role == "lift" or elements[after].tap(here) is not None
            if after not in ways and not ends:
                ways[after] = [*ways[here], after]
                queue.append(after)
    return ways


def _lift_before(compiled: Compiled, channel: str) -> int | None:
    """The branch of the nearest lift upstream of a channel."""
    elements, graph = compiled.scenario.elements, compiled.graph
    queue, seen = [channel], {channel}
    while queue:
        here = queue.pop(0)
        if elements[here].role == "lift":
            return next(j for j, b in enumerate(graph.branches) if b.element == here)
        for before in graph.elements.predecessors(here):
            if before not in seen:
                seen.add(before)
                queue.append(before)
    return None


class _Search:
    """Looks for the size at which a spread comes to its limit."""

    def __init__(self, solved: Solved, names: tuple[str, ...], lift: int, limit: float) -> None:
        self.solved, self.names, self.lift, self.limit = solved, names, lift, limit
        self.elements = solved.compiled.scenario.states[0].elements

    def widen(self, channel: str) -> Cure | None:
        """A wider channel of the same depth and slope."""
        width = getattr(self.elements[channel], "width", None)
        if not width:
            return None

        def change(factor: float) -> dict[str, Element]:
            return {channel: _scaled(self.elements[channel], "", factor)}

        return self._cure(change, WIDEST, (channel,), "widening the channel", width)

    def throttle(self, chains: Sequence[Sequence[str]]) -> Cure | None:
        """Shorter sills, or narrower openings, at the same levels."""
        found = [self._throttle_on(chain) for chain in chains]
        places = [place for place in found if place is not None]
        if len(places) < len(found):
            return None

        def change(factor: float) -> dict[str, Element]:
            return {name: _scaled(self.elements[name], at, factor) for name, at, _ in places}

        name, at, law = places[0]
        size = _width(self.elements[name], at)
        what = "shortening each sill" if law == "weir" else "narrowing each opening"
        return self._cure(change, SHORTEST, tuple(n for n, _, _ in places), what, size)

    def _throttle_on(self, chain: Sequence[str]) -> tuple[str, str, str] | None:
        """The first sill or opening on the way to a unit: its element, where on it, its law."""
        compiled = self.solved.compiled
        for name in chain:
            for part in compiled.parts[0][name]:
                if not isinstance(part, Passage) or part.law not in ("weir", "opening"):
                    continue
                at = part.name if part.name in ("inlet", "outlet") else ""
                known = at or self.elements[name].kind in ("weir", "opening")
                # A V-notch has no length to shorten.
                sized = known and _width(self.elements[name], at) > 0.0
                return (name, at, part.law) if sized else None
        return None

    def _cure(
        self, change: Change, last: float, elements: tuple[str, ...], what: str, size: float
    ) -> Cure | None:
        """Narrow a bracket of factors, from 1 to `last`, and keep its end that meets the limit."""
        start, end, reached = 1.0, last, None
        for _ in range(_ROUNDS):
            factors = np.geomspace(start, end, _TRIED + 1)[1:]
            spreads, heads = self._solve([change(float(f)) for f in factors])
            good = np.flatnonzero(spreads <= self.limit)
            if not good.size:
                return reached
            first = int(good[0])
            reached = Cure(
                elements,
                what,
                size,
                size * float(factors[first]),
                float(spreads[first]),
                float(heads[first]),
            )
            start, end = float(factors[first - 1]) if first else start, float(factors[first])
        return reached

    def _solve(self, changes: Sequence[dict[str, Element]]) -> tuple[Any, Any]:
        """Spreads [-], not a number where nothing was found, and changes of the lift's head [m]."""
        compiled = self.solved.compiled
        state = solve_changed(self.solved, changes)
        branch = compiled.graph.branches[self.lift]
        before = self.solved.heads[branch.down, 0] - self.solved.heads[branch.up, 0]
        heads = state.heads[branch.down] - state.heads[branch.up] - before
        spreads = np.full(len(changes), np.nan)
        for column in np.flatnonzero(state.converged):
            flows = [flow_of(compiled, state.flows[:, column], name, 0) for name in self.names]
            mean = sum(flows) / len(flows)
            # Where all water runs past them, nothing is shared.
            if mean > 1e-9 * state.circulation[column]:
                spreads[column] = (max(flows) - min(flows)) / mean
        return spreads, heads


def _width(element: Element, at: str) -> float:
    """Length of a sill or width of an opening, of an element or of its inlet or outlet [m]."""
    return float(getattr(getattr(element, at) if at else element, "width", None) or 0.0)


def _scaled(element: Element, at: str, factor: float) -> Element:
    """The element with that width times a factor."""
    if at:
        inner = getattr(element, at)
        return element.model_copy(update={at: _scaled(inner, "", factor)})
    return element.model_copy(update={"width": _width(element, "") * factor})
