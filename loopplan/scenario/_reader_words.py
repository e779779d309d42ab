"""How the reader says what it found: names that were meant, what was read, where it stands."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import Any, get_args

from loopplan.declare import Declared
from loopplan.scenario._document_words import key_text

# Bounds on the search for a name that was meant, and on how many names a hint lists.
_LONGEST_NAME, _MOST_NAMES, _LISTED = 80, 500, 30


def nearest(word: str, words: Iterable[str]) -> str:
    """Return a hint that names the nearest known word, or lists them."""
    known = list(words)
    close = difflib.get_close_matches(word[:_LONGEST_NAME], known[:_MOST_NAMES], 1, 0.6)
    if close:
        return f"did you mean `{key_text(close[0])}`?"
    listed = ", ".join(key_text(k) for k in known[:_LISTED])
    return f"known here: {listed}{', ...' if len(known) > _LISTED else ''}"


def without_echoes(errors: Iterable[Any]) -> list[Any]:
    """Drop what is missing only because its name is written wrongly, and told as unknown."""
    found = list(errors)
    unknown: dict[tuple[Any, ...], list[str]] = {}
    for item in found:
        if item["type"] == "extra_forbidden":
            unknown.setdefault(item["loc"][:-1], []).append(str(item["loc"][-1])[:_LONGEST_NAME])
    return [
        item
        for item in found
        if item["type"] != "missing"
        or not difflib.get_close_matches(
            str(item["loc"][-1]), unknown.get(item["loc"][:-1], [])[:_MOST_NAMES], 1, 0.6
        )
    ]


def walk(cls: type[Declared], loc: list[str | int]) -> tuple[type[Declared], list[str | int]]:
    """Follow an error's place into nested declarations; drop the tags of choices."""
    done: list[str | int] = []
    rest = list(loc)
    while rest:
        key = rest.pop(0)
        done.append(key)
        info = {i.alias: i for i in cls.model_fields.values()}.get(str(key))
        if info is None or not rest:
            continue
        inner = {_tag(c): c for c in _declared_in(info.annotation)}
        if rest[0] in inner:
            cls = inner[str(rest.pop(0))]
        elif len(inner) == 1:
            (cls,) = inner.values()
    return cls, done


def _tag(cls: type[Declared]) -> str:
    """The word that `kind` takes for a declaration, or its own name where it needs none."""
    kind = cls.model_fields.get("kind")
    return str(get_args(kind.annotation)[0]) if kind is not None else cls.__name__


def _declared_in(annotation: Any) -> list[type[Declared]]:
    """All declarations named in an annotation."""
    if isinstance(annotation, type):
        return [annotation] if issubclass(annotation, Declared) else []
    return [c for part in get_args(annotation) for c in _declared_in(part)]


def short(value: object) -> str:
    """Return what was read as it would stand on one line of the file."""
    return "" if value is None else key_text(_flow(value))


def _flow(value: object) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(v)}" for key, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return "" if value is None else str(value)
