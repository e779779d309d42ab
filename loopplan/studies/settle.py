"""How standing water comes to rest: stores that drain into each other by volume alone.

Nothing is stepped in time. Water only moves down. The lowest store that can still drain
does so first, slowly, so that everything below it stays at rest: what it gives passes on
over every sill that is full, and raises the first water that can rise. Levels move in
straight lines from one event (a sill falls dry, two waters meet, a store is empty or full
to a sill) to the next.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

_NEAR = 1e-11
"""Levels [m] that lie closer together count as one."""
_LOWEST = float("-inf")


@dataclass(frozen=True)
class Store:
    """Standing water with a free surface, in slices of one plan area each.

    `bottoms` [m] rise, the first is the floor; `areas` [m2] are those above each bottom, the
    last without end.
    """

    bottoms: tuple[float, ...]
    areas: tuple[float, ...]

    def volume(self, level: float) -> float:
        """Return the volume [m3] below a level [m]."""
        total = 0.0
        for k, area in enumerate(self.areas):
            top = self.bottoms[k + 1] if k + 1 < len(self.bottoms) else level
            total += area * max(min(level, top) - self.bottoms[k], 0.0)
        return total

    def level(self, volume: float) -> float:
        """Return the level [m] of a volume [m3]."""
        left = max(volume, 0.0)
        for (low, high), area in zip(pairwise(self.bottoms), self.areas, strict=False):
            if left <= area * (high - low):
                return low + left / area
            left -= area * (high - low)
        return self.bottoms[-1] + left / self.areas[-1]

    def area(self, level: float, falling: bool) -> float:
        """Return the plan area [m2] just below (`falling`) or just above a level [m]."""
        at = level - _NEAR if falling else level + _NEAR
        for k in range(len(self.bottoms) - 1, 0, -1):
            if at > self.bottoms[k]:
                return self.areas[k]
        return self.areas[0]


@dataclass(frozen=True)
class Way:
    """A way that water can take downward, one direction of it.

    From store `start` to store `end`, or out of the loop by the name `out`, as long as the
    level at the start is above both `control` [m] and the level at the end. Where several
    ways are open at once they share by `weight`.
    """

    start: int
    end: int | None
    control: float
    weight: float = 0.0
    out: str = ""


@dataclass(frozen=True)
class Rest:
    """Where the water comes to rest: levels [m], and what left the loop [m3] by name."""

    levels: tuple[float, ...]
    left: dict[str, float]


def settle(stores: Sequence[Store], levels: Sequence[float], ways: Iterable[Way]) -> Rest:
    """Let the water of all stores run down until none can flow.

    `levels` [m] are those to start from. Raises ArithmeticError if it does not come to rest,
    which no loop is known to bring about.
    """
    return _Settling(stores, levels, list(ways)).run()


class _Settling:
    def __init__(self, stores: Sequence[Store], levels: Sequence[float], ways: list[Way]) -> None:
        # Reckoned from the lowest floor, so that a high datum costs no digits.
        self.base = min((s.bottoms[0] for s in stores), default=0.0)
        self.stores = [Store(tuple(b - self.base for b in s.bottoms), s.areas) for s in stores]
        self.z = [
            max(level - self.base, s.bottoms[0])
            for level, s in zip(levels, self.stores, strict=True)
        ]
        self.out_of: list[list[Way]] = [[] for _ in stores]
        self.into: list[list[Way]] = [[] for _ in stores]
        self.left: dict[str, float] = {}
        for way in ways:
            floor = self.stores[way.start].bottoms[0]
            low = Way(way.start, way.end, max(way.control - self.base, floor), way.weight, way.out)
            self.out_of[way.start].append(low)
            if way.end is not None:
                self.into[way.end].append(low)
        self.most = 1000 + 200 * (len(self.stores) + len(ways))

    def run(self) -> Rest:
        sources, looked_at = set[int](), set(range(len(self.z)))
        for _ in range(self.most):
            for i in looked_at:
                if any(map(self._runs, self.out_of[i])):
                    sources.add(i)
                else:
                    sources.discard(i)
            if not sources:
                return Rest(tuple(z + self.base for z in self.z), self.left)
            moved = self._drain(min(sources, key=lambda i: (self.z[i], i)))
            # Only what moved, and what may run into it, can have begun or ceased to run.
            looked_at = moved | {way.start for i in moved for way in self.into[i]}
        raise ArithmeticError("the standing water does not come to rest")

    def _end(self, way: Way) -> float:
        return _LOWEST if way.end is None else self.z[way.end]

    def _runs(self, way: Way) -> bool:
        return self.z[way.start] > max(way.control, self._end(way)) + _NEAR

    def _drain(self, source: int) -> set[int]:
        """Lower one water up to the next event; return what moved."""
        pool = self._falls_with(source)
        open_ways = [w for i in pool for w in self.out_of[i] if w.end not in pool and self._runs(w)]
        rates: dict[int, float] = {}
        area = sum(self.stores[i].area(self.z[i], True) for i in pool)
        for i in pool:
            rates[i] = -1.0 / area
        gone: dict[str, float] = {}
        for members, share in self._receivers(open_ways, gone):
            room = sum(self.stores[i].area(self.z[i], False) for i in members)
            for i in members:
                rates[i] = rates.get(i, 0.0) + share / room
        amount = min(self._events(rates))
        for i, rate in rates.items():
            self.z[i] += rate * amount
        for name, share in gone.items():
            self.left[name] = self.left.get(name, 0.0) + share * amount
        return set(rates)

    def _falls_with(self, source: int) -> dict[int, None]:
        """All water at the same level that sinks as this one does."""
        # A dict keeps the order, so that sums do not hang on how a set is laid out.
        pool, stack = {source: None}, [source]
        while stack:
            here = stack.pop()
            for way in self.into[here]:
                z = self.z[way.start]
                if way.start not in pool and abs(z - self.z[here]) <= _NEAR < z - way.control:
                    pool[way.start] = None
                    stack.append(way.start)
        return pool

    def _rises_with(self, store: int) -> dict[int, None]:
        """All water at the same level that rises as this one does."""
        pool, stack = {store: None}, [store]
        while stack:
            here = stack.pop()
            for way in self.out_of[here]:
                z = self.z[here]
                if (
                    way.end is not None
                    and way.end not in pool
                    and abs(self.z[way.end] - z) <= _NEAR
                    and way.control <= z + _NEAR
                ):
                    pool[way.end] = None
                    stack.append(way.end)
        return pool

    def _receivers(
        self, open_ways: list[Way], gone: dict[str, float]
    ) -> Iterable[tuple[dict[int, None], float]]:
        """Yield the waters that take what comes, with their shares; `gone` takes the rest."""
        coming: dict[int, float] = {}
        self._share(open_ways, 1.0, coming, gone)
        while coming:
            # From the highest down: what is full to a sill passes its share on.
            here = max(coming, key=lambda i: (self.z[i], -i))
            share = coming.pop(here)
            pool = self._rises_with(here)
            full = [
                way
                for i in pool
                for way in self.out_of[i]
                if way.control <= self.z[i] + _NEAR and self._end(way) < self.z[i] - _NEAR
            ]
            if full:
                self._share(full, share, coming, gone)
            else:
                yield pool, share

    @staticmethod
    def _share(
        ways: list[Way], amount: float, coming: dict[int, float], gone: dict[str, float]
    ) -> None:
        total = sum(way.weight for way in ways)
        for way in ways:
            part = amount * (way.weight / total if total > 0.0 else 1.0 / len(ways))
            if part <= 0.0:
                continue
            if way.end is None:
                gone[way.out] = gone.get(way.out, 0.0) + part
            else:
                coming[way.end] = coming.get(way.end, 0.0) + part

    def _events(self, rates: dict[int, float]) -> Iterable[float]:
        """Yield the amounts [m3] after which something changes for a water that moves."""
        for i, rate in rates.items():
            z = self.z[i]
            marks = [*self.stores[i].bottoms, *(way.control for way in self.out_of[i])]
            for mark in marks:
                gap = mark - z
                if abs(gap) > _NEAR and gap * rate > 0.0:
                    yield gap / rate
            others = [way.end for way in self.out_of[i]] + [way.start for way in self.into[i]]
            for other in others:
                if other is None:
                    continue
                gap, closing = self.z[other] - z, rate - rates.get(other, 0.0)
                if abs(gap) > _NEAR and gap * closing > 0.0:
                    yield gap / closing
