"""Each public function of the physics floor gives the unit of every number."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
import types
import typing
from collections.abc import Callable
from typing import Any

import pytest

import loopplan.physics

UNIT = r"\[[^\]\n]+\]"


def physics_functions() -> list[Callable[..., object]]:
    """Return every public function of the physics floor, each once."""
    found: list[Callable[..., object]] = []
    for info in pkgutil.walk_packages(loopplan.physics.__path__, "loopplan.physics."):
        module = importlib.import_module(info.name)
        for name, member in inspect.getmembers(module, inspect.isfunction):
            if not name.startswith("_") and member.__module__ == module.__name__:
                found.append(member)
    return found


def is_number(hint: Any) -> bool:
    """Tell whether a value of this type carries a unit.

    Counts, words, switches, functions and the project's own classes do not; the classes
    give the units of their fields.
    """
    if isinstance(hint, types.UnionType) or typing.get_origin(hint) is typing.Union:
        return any(is_number(part) for part in typing.get_args(hint))
    if isinstance(hint, type) and not typing.get_args(hint):
        plain = hint in (int, str, bool, type(None))
        return not plain and not hint.__module__.startswith(("loopplan", __name__))
    return typing.get_origin(hint) not in (Callable, typing.Literal)


def entries(doc: str, names: list[str]) -> dict[str, str]:
    """Return the text of each argument out of the list of arguments of a docstring.

    A text runs from the line that starts with the name to the next name, blank line or
    section.
    """
    found: dict[str, str] = {}
    now: list[str] = []
    for line in doc.splitlines():
        start = re.match(r"\s*\**`*(\w+(?:\s*,\s*\w+)*)`*(?:\s*\([^)]*\))?\s*:", line)
        heads = re.split(r"\s*,\s*", start[1]) if start else []
        if heads and all(head in names for head in heads):
            now = heads
            found.update(dict.fromkeys(heads, ""))
        elif not line.strip() or re.match(r"(Returns|Raises|Yields)\b", line):
            now = []
        for head in now:
            found[head] += line + "\n"
    return found


def has_unit(name: str, doc: str, listed: dict[str, str], names: list[str]) -> bool:
    """Tell whether a unit stands with the name: in its entry, or next to it in a sentence."""
    if name in listed:
        return re.search(UNIT, listed[name]) is not None
    others = "|".join(re.escape(other) for other in names if other != name) or r"(?!)"
    between = rf"(?:(?!\b(?:{others})\b)[^\[.])*"
    return re.search(rf"\b{re.escape(name)}\b{between}{UNIT}", doc) is not None


def returns_unit(doc: str) -> bool:
    """Tell whether a unit stands in the section on what is returned, or in the summary."""
    section = re.search(r"^Returns\b.*", doc, re.MULTILINE | re.DOTALL)
    return re.search(UNIT, section[0] if section else doc.split("\n\n")[0]) is not None


def wrong_in(function: Callable[..., object]) -> list[str]:
    """Return what the docstring of a function leaves unsaid."""
    names = list(inspect.signature(function).parameters)
    hints = typing.get_type_hints(function)
    doc = inspect.getdoc(function) or ""
    listed = entries(doc, names)
    wrong = [f"{name} is not described" for name in names if not re.search(rf"\b{name}\b", doc)]
    wrong += [
        f"{name} has no [unit]"
        for name in names
        if is_number(hints[name]) and not has_unit(name, doc, listed, names)
    ]
    if is_number(hints["return"]) and not returns_unit(doc):
        wrong.append("what it returns has no [unit]")
    return wrong


@pytest.mark.parametrize(
    "function", physics_functions(), ids=lambda f: f"{f.__module__.split('.')[-1]}.{f.__name__}"
)
def test_docstring_gives_units(function: Callable[..., object]) -> None:
    assert wrong_in(function) == []


def in_a_list(flow: float, width: float, steps: int) -> float:
    """Divide.

    Args:
        flow: flow [m3/s].
        width: a long
            description [m].
        steps: how many.

    Returns:
        Flow per width [m2/s].
    """
    return flow / width / steps


def in_a_sentence(flow: float, width: float) -> float:
    """Return the flow per width [m2/s] of a flow [m3/s] over a width [m]."""
    return flow / width


def list_with_gaps(flow: float, width: float, steps: int) -> float:
    """Divide.

    Args:
        flow: flow, no unit.
        width: width [m].
    """
    return flow / width / steps


def sentence_with_gap(flow: float, width: float) -> float:
    """Return the ratio [m2/s] of flow to width [m]."""
    return flow / width


@pytest.mark.parametrize("function", [in_a_list, in_a_sentence])
def test_good_docstring_passes(function: Callable[..., object]) -> None:
    assert wrong_in(function) == []


@pytest.mark.parametrize(
    ("function", "gaps"),
    [
        (
            list_with_gaps,
            ["steps is not described", "flow has no [unit]", "what it returns has no [unit]"],
        ),
        (sentence_with_gap, ["flow has no [unit]"]),
    ],
)
def test_bad_docstring_is_seen(function: Callable[..., object], gaps: list[str]) -> None:
    assert wrong_in(function) == gaps
