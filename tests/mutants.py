"""Mutants of the shipped scenarios, by seed: what a designer's next draft may look like.

An element is taken out and bridged in its flow paths, or doubled; a size or a flow moves by
30 %, a level by 0.3 m. Each mutant is written as a scenario file of its own.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

from loopplan._generate.catalogue import details
from loopplan.declare import Declared, as_written, spec_of
from loopplan.elements import KINDS
from loopplan.scenario.document import load

FOLDER = Path(__file__).resolve().parent.parent / "scenarios"
NAMES = ("teaching-loop", "trout-channel", "smolt-hall", "large-farm")
ALL = 500

Tree = dict[str, Any]
Place = tuple[Tree, str, str]
"""What holds a field, the key of the field, and how the field is told of."""

_SHARE, _RISE = 0.3, 0.3
"""By how much a size or a flow [share], and a level [m], moves."""
_SIZES = ("length", "area")
_HOW_MANY = (1, 1, 1, 2, 2, 3, 4)
"""Changes of one mutant, each as likely as the others."""


@dataclass(frozen=True)
class Mutant:
    """A changed scenario: what was changed, in words, and the file."""

    seed: int
    scenario: str
    changes: tuple[str, ...]
    tree: Tree

    @property
    def name(self) -> str:
        """Name of the file."""
        return f"mutant-{self.seed}.yaml"

    @property
    def text(self) -> str:
        """The scenario file, one element and one flow path a line."""
        return written(self.tree)


def mutant(seed: int) -> Mutant:
    """Make the mutant of a seed."""
    r = Random(seed)
    scenario = NAMES[seed % len(NAMES)]
    tree = scenario_tree(scenario)
    kinds = [_remove, _double, _size, _size, _level, _level, _flow]
    changes: list[str] = []
    for _ in range(r.choice(_HOW_MANY)):
        changes.append(r.choice(kinds)(r, tree))
    return Mutant(seed, scenario, tuple(changes), tree)


@cache
def _tree(scenario: str) -> Tree:
    return dict(load(FOLDER / f"{scenario}.yaml").tree)


def scenario_tree(name: str) -> Tree:
    """Return a shipped scenario as nested text, to be changed at will."""
    return copy.deepcopy(_tree(name))


def written(tree: Tree) -> str:
    """Write a tree as a scenario file."""
    lines = []
    for key, value in tree.items():
        if isinstance(value, dict) and value:
            lines.append(f"{key}:")
            lines += [f"  {json.dumps(k)}: {_inline(v)}" for k, v in value.items()]
        elif isinstance(value, list) and value:
            lines.append(f"{key}:")
            lines += [f"  - {_inline(v)}" for v in value]
        else:
            lines.append(f"{key}: {_inline(value)}")
    return "\n".join([*lines, ""])


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)}: {_inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_inline(v) for v in value) + "]"
    return str(value)


def _size(r: Random, tree: Tree) -> str:
    return _moved(r, fields(tree, _SIZES), _scaled)


def _flow(r: Random, tree: Tree) -> str:
    return _moved(r, fields(tree, ("flow",)), _scaled)


def _level(r: Random, tree: Tree) -> str:
    given = [(entry, "level", f"level given at {entry['at']}") for entry in tree.get("levels", [])]
    return _moved(r, [*fields(tree, ("level",)), *given], _shifted)


def _scaled(number: float, up: bool) -> float:
    return number * (1.0 + (_SHARE if up else -_SHARE))


def _shifted(number: float, up: bool) -> float:
    return number + (_RISE if up else -_RISE)


def _moved(r: Random, places: Iterable[Place], move: Callable[[float, bool], float]) -> str:
    """Move one number, and say which."""
    holder, key, words = r.choice(list(places))
    was = holder[key]
    number, unit = was.split(" ", 1)
    holder[key] = f"{move(float(number), r.random() < 0.5):.9g} {unit}"
    return f"{words}: {was} -> {holder[key]}"


def fields(tree: Tree, dimensions: tuple[str, ...]) -> Iterator[Place]:
    """Yield each written field of the elements, and of their ports, that has a dimension."""
    for name, element in tree["elements"].items():
        yield from _fields(element, name, dimensions)


_DECLARED: dict[str, type[Declared]] = {**KINDS, **{cls.word: cls for cls in details()}}
"""What may stand in a file, by the word under its `kind`."""


def _fields(holder: Tree, words: str, dimensions: tuple[str, ...]) -> Iterator[Place]:
    dimension_of = {
        info.alias or as_written(field): spec.dimension
        for field, info in _DECLARED[holder["kind"]].model_fields.items()
        if (spec := spec_of(info)) is not None
    }
    for key, value in holder.items():
        if key == "places":
            if "length" not in dimensions or isinstance(value, list):
                continue
            yield from ((value, place, f"{words}, place of {place}") for place in value)
        elif isinstance(value, dict) and "kind" in value:
            yield from _fields(value, f"{words}, {key}", dimensions)
        elif dimension_of.get(key) in dimensions and isinstance(value, str):
            yield holder, key, f"{words}, {key}"


def _remove(r: Random, tree: Tree) -> str:
    name = r.choice(list(tree["elements"]))
    before, after = _neighbours(tree, name)
    del tree["elements"][name]
    for channel, fields_ in tree["elements"].items():
        places = fields_.get("places", {})
        if name in places:
            beside = after if channel in before else before
            if isinstance(places, list):
                at = places.index(name)
                places[at : at + 1] = beside
                continue
            distance = places.pop(name)
            places.update(dict.fromkeys(beside, distance))
    for path, names in list(tree["flow paths"].items()):
        bridged = [n for n in names if n != name]
        if names[0] == name and names[-1] == name and len(bridged) > 1:
            bridged.append(bridged[0])
        elif names[0] == name and before:
            bridged.insert(0, before[0])
        elif names[-1] == name and after:
            bridged.append(after[0])
        bridged = bridged[:1] + [b for a, b in pairwise(bridged) if a != b]
        if len(bridged) > 1:
            tree["flow paths"][path] = bridged
        else:
            del tree["flow paths"][path]
    kept = [e for e in tree.get("levels", []) if name not in (e.get("at"), e.get("by"))]
    if kept:
        tree["levels"] = kept
    else:
        tree.pop("levels", None)
    for state in tree.get("duty states", {}).values():
        out = state.get("out of service", [])
        if name in out:
            out.remove(name)
        state.get("change", {}).pop(name, None)
    for header in tree.get("air supply", {}).values():
        header["users"].pop(name, None)
    return f"{name} removed"


def _double(r: Random, tree: Tree) -> str:
    name = r.choice(list(tree["elements"]))
    element = tree["elements"][name]
    how = r.random()
    if how < 0.4:
        element["count"] = str(int(element.get("count", "1")) + 1)
        return f"{name}, count {element['count']}"
    line = _line(tree, name) if how < 0.8 else [name]
    twins = {n: _twin(tree, n) for n in line}
    joins = {
        (a, b)
        for n in line
        for a, b in [
            *((a, n) for a in _neighbours(tree, n)[0]),
            *((n, b) for b in _neighbours(tree, n)[1]),
        ]
    }
    for fields_ in tree["elements"].values():
        places = fields_.get("places", {})
        if isinstance(places, list):
            places += [twins[n] for n in line if n in places]
        else:
            places.update({twins[n]: places[n] for n in line if n in places})
    for n in line:
        tree["elements"][twins[n]] = copy.deepcopy(tree["elements"][n])
    for number, (a, b) in enumerate(sorted(joins)):
        tree["flow paths"][f"{twins[name]} {number}"] = [twins.get(a, a), twins.get(b, b)]
    return f"{', '.join(line)} doubled side by side"


def _line(tree: Tree, name: str) -> list[str]:
    """Return an element with the passages and lifts that part it from the basins beside it."""
    line = [name]
    for side in (0, 1):
        edge = [name]
        for at in edge:
            for found in _neighbours(tree, at)[side]:
                fields_ = tree["elements"][found]
                parts = KINDS[fields_["kind"]].role in ("passage", "lift")
                if parts and "places" not in fields_ and found not in line:
                    edge.append(found)
                    line.append(found)
    return line


def _twin(tree: Tree, name: str) -> str:
    twin = f"{name} twin"
    while twin in tree["elements"]:
        twin += " twin"
    return twin


def _neighbours(tree: Tree, name: str) -> tuple[list[str], list[str]]:
    """Return what stands before an element and what stands after it, in its flow paths."""
    before: dict[str, None] = {}
    after: dict[str, None] = {}
    for names in tree["flow paths"].values():
        for a, b in pairwise(names):
            if b == name:
                before[a] = None
            if a == name:
                after[b] = None
    return list(before), list(after)
