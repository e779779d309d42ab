"""Is every group of levels fixed once? Decided before any number is solved.

Weirs, free falls and given-flow lifts cut the level tie. What is left of the loop between
cuts are groups; inside one, levels follow from flows and one datum. The groups' unknowns
(a datum each, the exchanges at outside levels, the flows that keep levels) are matched to
their equations (a water balance each, each given level, each stored volume) in a small
matrix of numbers that stand for "depends on". Its null vectors name the groups that nothing
fixes and the statements that fix something twice.
"""

from __future__ import annotations

import numpy as np

from loopplan.errors import Problem, Refused
from loopplan.laws import LAWS, Array
from loopplan.loop.compile import Compiled, System
from loopplan.loop.linear import DENSE

_TINY = 1e-8


def groups_of_levels(system: System, k: int = 0) -> list[int]:
    """Return the group number of each node in duty state `k`; the outside is last and alone."""
    parent = list(range(system.nodes + 1))

    def find(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for group in system.groups:
        if LAWS[group.law].tie != "level":
            continue
        for j, a, b in zip(group.index, group.up, group.down, strict=True):
            if system.closed is not None and system.closed[j, k]:
                continue
            if a < system.nodes and b < system.nodes:
                parent[find(int(b))] = find(int(a))
    roots: dict[int, int] = {}
    return [roots.setdefault(find(i), len(roots)) for i in range(system.nodes + 1)]


class _Matrix:
    """Rows are equations, columns unknowns; each has a tag that says what it is.

    A datum for each group, an exchange for each outside level and stored volume, a flow for
    each branch that keeps a level; a water balance for each group, a row for each given level
    and each stored volume. Entries are fixed random numbers: only who depends on whom counts.
    In duty state `k`, nothing is asked of what is shut or cut off from the loop.
    """

    def __init__(self, system: System, group: list[int], apart: set[int], k: int) -> None:
        self.rows: list[tuple[str, int]] = []
        self.columns: list[tuple[str, int]] = []
        self.entries: list[tuple[int, int, float]] = []
        self.system, self.group, self.outside = system, group, group[-1]
        # Fixed numbers, so that the answer never depends on a seed from outside.
        self.rng = np.random.default_rng(20)
        closed = system.closed
        self.closed = set() if closed is None else set(np.flatnonzero(closed[:, k]).tolist())
        self.apart = apart
        skip = {self.outside} | {group[node] for node in apart}
        numbers = [g for g in range(max(group) + 1) if g not in skip]
        self.datum = {g: self._column("datum", g) for g in numbers}
        self.balance = {g: self._row("balance", g) for g in numbers}
        self.inner: dict[int, list[int]] = {}
        self._cuts()
        self._kept_levels()
        self._exchanges()
        self._given_levels()
        self._volumes()

    def _row(self, kind: str, number: int) -> int:
        self.rows.append((kind, number))
        return len(self.rows) - 1

    def _column(self, kind: str, number: int) -> int:
        self.columns.append((kind, number))
        return len(self.columns) - 1

    def _flow(self, column: int, up: int, down: int, size: float) -> None:
        for node, sign in ((up, -1.0), (down, 1.0)):
            if self.group[node] in self.balance:
                self.entries.append((self.balance[self.group[node]], column, sign * size))

    def _cuts(self) -> None:
        for laws in self.system.groups:
            if LAWS[laws.law].tie != "cut":
                continue
            for j, a, b in zip(laws.index, laws.up, laws.down, strict=True):
                if int(j) not in self.closed and self.group[a] != self.outside:
                    column = self.datum[self.group[a]]
                    self._flow(column, int(a), int(b), self.rng.uniform(0.5, 1.5))

    def _kept_levels(self) -> None:
        for j in self.system.free:
            up, down = int(self.system.up[j]), int(self.system.down[j])
            column = self._column("kept", int(j))
            self._flow(column, up, down, 1.0)
            for number in {self.group[up], self.group[down]} - {self.outside}:
                self.inner.setdefault(number, []).append(column)

    def _exchanges(self) -> None:
        given = (int(n) for n in np.flatnonzero(self.system.outside[:-1]))
        places = [("exchange", n, n) for n in given if n not in self.apart]
        places += [("stored", v.closure, int(v.nodes[0])) for v in self.system.volumes]
        for kind, number, node in places:
            column = self._column(kind, number)
            self.entries.append((self.balance[self.group[node]], column, 1.0))
            self.inner.setdefault(self.group[node], []).append(column)

    def _given_levels(self) -> None:
        for node in (int(i) for i in np.flatnonzero(self.system.fixed[:-1])):
            if node in self.apart:
                continue
            row = self._row("level", node)
            self.entries.append((row, self.datum[self.group[node]], 1.0))
            for column in self.inner.get(self.group[node], []):
                self.entries.append((row, column, self.rng.uniform(0.1, 0.5)))

    def _volumes(self) -> None:
        for volume in self.system.volumes:
            row = self._row("volume", volume.closure)
            for node in volume.nodes:
                column = self.datum[self.group[node]]
                self.entries.append((row, column, self.rng.uniform(0.5, 1.5)))

    def dense(self) -> Array:
        """Return the matrix as an array."""
        matrix = np.zeros((len(self.rows), len(self.columns)))
        for i, j, value in self.entries:
            matrix[i, j] += value
        return matrix


def check_structure(compiled: Compiled) -> None:
    """Refuse a loop whose levels are fixed twice, or by nothing, in any duty state.

    Raises :class:`Refused` naming each group, what is wrong with it, and what would do.
    """
    closed = compiled.system.closed
    if closed is None:
        _check_state(compiled, 0, "")
        return
    # One check for each pattern of what is shut; what is shut in none is told without a state.
    done: set[bytes] = set()
    for k in sorted(range(closed.shape[1]), key=lambda k: bool(closed[:, k].any())):
        pattern = closed[:, k].tobytes()
        if pattern not in done:
            done.add(pattern)
            _check_state(compiled, k, compiled.names[k] if closed[:, k].any() else "")


def _check_state(compiled: Compiled, k: int, state: str) -> None:
    system = compiled.system
    group = groups_of_levels(system, k)
    apart = {n for n in range(system.nodes) if compiled.is_isolated(n, k)}
    m = _Matrix(system, group, apart, k)
    if _is_regular(m):
        return
    matrix = m.dense()
    u, s, vt = np.linalg.svd(matrix)
    rank = int((s > _TINY * max(s.max(initial=0.0), 1.0)).sum())
    if rank == max(matrix.shape):
        return
    twice = np.abs(u[:, rank:]).max(axis=1) > 1e-6 if rank < matrix.shape[0] else []
    under = [
        ([m.columns[j][1] for j in block if m.columns[j][0] == "datum"], missing)
        for block, missing in _loose(vt[rank:])
    ]
    over = [m.rows[i] for i in np.flatnonzero(twice)]
    problems = _words(compiled, group, under, over)
    if state:
        problems = [_in_state(compiled, state, problem) for problem in problems]
    raise Refused(problems)


def _in_state(compiled: Compiled, state: str, problem: Problem) -> Problem:
    """Tell a problem where it arises: in the duty state that shuts something."""
    place = ("duty states", state, "out of service")
    message = f"in the state '{state}' {problem.message}"
    return compiled.scenario.problem(place, message, problem.cure)


def _loose(null: Array) -> list[tuple[list[int], int]]:
    """Unknowns that nothing fixes, by sets that hang together; how many each set lacks."""
    shared = null.T @ null
    left = np.flatnonzero(np.abs(null).max(axis=0, initial=0.0) > 1e-6).tolist()
    found = []
    while left:
        block = [left.pop(0)]
        for i in block:
            more = [j for j in left if abs(shared[i, j]) > 1e-6]
            block += more
            left = [j for j in left if j not in more]
        found.append((sorted(block), round(float(shared.diagonal()[block].sum()))))
    return found


def _is_regular(m: _Matrix) -> bool:
    if len(m.rows) != len(m.columns):
        return False
    if not m.rows:
        return True
    scale = np.zeros(len(m.rows))
    for i, _, value in m.entries:
        scale[i] = max(scale[i], abs(value))
    if not scale.all():
        return False
    if len(m.rows) <= DENSE:
        try:
            inverse = np.linalg.inv(m.dense() / scale[:, None])
        except np.linalg.LinAlgError:
            return False
        return bool(np.abs(inverse).max() < 1.0 / _TINY)
    return _has_pivots(m, scale)


def _has_pivots(m: _Matrix, scale: Array) -> bool:
    """Whether elimination of a large matrix meets no pivot near zero."""
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    i, j, value = (np.array(part) for part in zip(*m.entries, strict=True))
    try:
        factor = splu(csc_matrix((value / scale[i], (i, j)), shape=(scale.size, scale.size)))
    except RuntimeError:
        return False
    return bool(np.abs(factor.U.diagonal()).min() > _TINY)


def _members(compiled: Compiled, group: list[int], number: int) -> str:
    names = [compiled.graph.nodes[i].name for i, g in enumerate(group) if g == number]
    basins = [
        compiled.graph.nodes[i].name
        for i, g in enumerate(group)
        if g == number and compiled.graph.nodes[i].basin is not None
    ]
    shown = basins or names
    text = ", ".join(shown[:4])
    return f"{{{text}{', ...' if len(shown) > 4 else ''}}}"


def _first_element(compiled: Compiled, group: list[int], number: int) -> str:
    for i, g in enumerate(group):
        node = compiled.graph.nodes[i]
        if g == number and node.basin is not None:
            return node.basin[0]
    branches = compiled.graph.branches
    return next(b.element for b in branches if number in (group[b.up], group[b.down]))


def _words(
    compiled: Compiled,
    group: list[int],
    under: list[tuple[list[int], int]],
    over: list[tuple[str, int]],
) -> list[Problem]:
    scenario = compiled.scenario
    problems = []
    for loose, missing in under:
        # Where each lacks a closure of its own, each is told by itself.
        sets = [[number] for number in loose] if missing >= len(loose) else [loose]
        problems += [_open_groups(compiled, group, members, missing) for members in sets]
    given = [number for kind, number in over if kind == "level"]
    for node in given:
        found = compiled.graph.nodes[node].basin
        assert found is not None
        names = _members(compiled, group, group[node])
        others = [n for kind, n in over if kind == "balance"]
        partner = ", ".join(_members(compiled, group, n) for n in others)
        through = f"; the given flows through {partner} fix it already" if partner else ""
        problems.append(
            scenario.problem(
                _closure_path(compiled, found[0]),
                f"the level of the group {names} is fixed twice: it is given at "
                f"'{found[0]}'{through}",
                "drop this level, or let the lift keep it, or let the lift's flow be "
                "found from a curve",
            )
        )
    if not problems:
        balances = [n for kind, n in over if kind == "balance"] or [0]
        names = ", ".join(_members(compiled, group, n) for n in balances)
        problems.append(
            scenario.problem(
                ("elements", _first_element(compiled, group, balances[0])),
                f"the flows in and out of {names} are all given: nothing is left to close "
                "its water balance",
                "leave one of them free: an overflow, an outside level, a lift that keeps a "
                "level or one with a curve",
            )
        )
    return problems


def _open_groups(compiled: Compiled, group: list[int], loose: list[int], missing: int) -> Problem:
    """Say of one group that nothing fixes it, or of several that they lack some closures."""
    names = ", ".join(_members(compiled, group, number) for number in loose)
    which = "give one of its basins"
    fault = (
        f"the level of the group {names} is fixed by nothing: weirs, falls and given flows cut it "
        "off from every level that is known"
    )
    if len(loose) > 1:
        which = f"close {missing} of these groups, not all: {which}"
        fault = (
            f"the levels of the groups {names} hang together by the flows between them, and "
            f"{missing} of them {'is' if missing == 1 else 'are'} left open: nothing says how much "
            "water stands in them"
        )
    return compiled.scenario.problem(
        ("elements", _first_element(compiled, group, loose[0])),
        fault,
        f"{which} an outside level, a kept level or a stored volume under `levels`, or let it run "
        "over an overflow",
    )


def _closure_path(compiled: Compiled, name: str) -> tuple[str | int, ...]:
    for number, closure in enumerate(compiled.scenario.closures):
        if closure.at == name:
            return ("levels", number, "at")
    return ("elements", name)
