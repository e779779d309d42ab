"""The referee's solver: chains of laws walked upstream, and halving for what they share."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tests.referee.laws import Head, halve


def walk(chain: Sequence[Head], q: float, below: float) -> list[float]:
    """Heads before each passage of a chain in flow order, for one flow and the level below."""
    heads: list[float] = []
    for law in reversed(chain):
        below = law(q, below)
        heads.insert(0, below)
    return heads


def top(chain: Sequence[Head], q: float, below: float) -> float:
    """Head before the first passage of a chain."""
    return walk(chain, q, below)[0]


def carried(chain: Sequence[Head], above: float, below: float, low: float, high: float) -> float:
    """Flow that a chain carries between two levels; `low` where they are too low for any."""
    if top(chain, low, below) >= above:
        return low
    return halve(lambda q: top(chain, q, below) - above, low, high)


def shared(
    arms: Sequence[Sequence[Head]], total: float, below: float, low: float, high: float
) -> tuple[float, list[float]]:
    """Head before arms side by side, and the flow of each, for their total."""

    def flows(above: float) -> list[float]:
        return [
            carried(arm, above, below, 1e-9, total) if top(arm, total, below) > above else total
            for arm in arms
        ]

    above = halve(lambda h: sum(flows(h)) - total, low, high)
    return above, flows(above)


def lifted(
    chain: Sequence[Head], gain: Callable[[float], float], below: float, low: float, high: float
) -> float:
    """Flow at which a lift's curve adds what a chain back to its sump takes."""
    return halve(lambda q: top(chain, q, below) - below - gain(q), low, high)
