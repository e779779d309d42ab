"""The catalogue: every kind, section, finding and source as plain data."""

from __future__ import annotations

import json
import types
from collections.abc import Iterable
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from loopplan.declare import Declared, Detail, FieldSpec, as_written, spec_of
from loopplan.elements import KINDS
from loopplan.findings import FINDING_KINDS
from loopplan.limits import Limits
from loopplan.scenario.air import AirHeader
from loopplan.scenario.models import Closure, DutyState, Farm, Prices, Stock, Water, WaterLost
from loopplan.sources import SOURCES
from loopplan.units import allowed_units

SECTIONS: dict[str, tuple[type[Declared], str]] = {
    "farm": (Farm, "what the farm is"),
    "water": (Water, "the water that goes round"),
    "stock": (Stock, "the fish"),
    "water lost": (WaterLost, "water that leaves by no exit: into the air, into the ground"),
    "levels": (Closure, "what closes the levels: a list of entries with these fields"),
    "air supply": (AirHeader, "headers that blowers feed with air, each with these fields"),
    "duty states": (DutyState, "named conditions of the loop, each with these fields"),
    "prices": (Prices, "what energy costs"),
    "limits": (Limits, "what findings and the choice of a lift's device are judged by"),
}
"""Sections of a scenario file that have fields, with what each is."""

NAMED = {
    "loopplan": "version of the file's format: `loopplan: 1`",
    "elements": "what the farm is made of, by name: `tank: {kind: round tank, ...}`",
    "flow paths": "how water runs: named lists of elements in order of travel, such as "
    "`loop: [tank, channel, sump, pump, tank]`; two paths meet where they name the same element, "
    "and between two basins stands a passage",
}
"""Sections whose keys are names of the user's own, with what each is."""

WORDS, PARTS = "word", "part"
"""Dimensions of fields that are no quantity."""


def catalogue_text() -> str:
    """Return the text of ``loopplan/catalogue.json``."""
    return json.dumps(catalogue(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def catalogue() -> dict[str, Any]:
    """Return all that `explain` and the reference pages know."""
    return {
        "kinds": {
            kind: {"title": cls.title, "role": cls.role, "fields": list(fields_of(cls))}
            for kind, cls in KINDS.items()
        },
        "details": {
            cls.word: {"title": cls.title, "fields": list(fields_of(cls))} for cls in details()
        },
        "sections": {
            name: {"title": title, "fields": list(fields_of(cls))}
            for name, (cls, title) in SECTIONS.items()
        }
        | {name: {"title": title, "fields": []} for name, title in NAMED.items()},
        "findings": {
            code: {**vars(kind), "severity": kind.severity.value}
            for code, kind in sorted(FINDING_KINDS.items())
        },
        "sources": {
            key: {"text": source.text, "evidence": source.evidence}
            for key, source in sorted(SOURCES.items())
        },
    }


def details() -> list[type[Detail]]:
    """Return what stands within kinds and sections, each once, in the order it is met."""
    found: dict[type[Detail], None] = {}
    todo: list[type[Declared]] = [*KINDS.values(), *(cls for cls, _ in SECTIONS.values())]
    for cls in todo:
        for info in cls.model_fields.values():
            inner = [c for c in declared_in(info) if issubclass(c, Detail) and c not in found]
            found |= dict.fromkeys(inner)
            todo += inner
    return list(found)


def fields_of(cls: type[Declared]) -> Iterable[dict[str, Any]]:
    """Yield each field of a declaration, as it is written in a file."""
    for name, info in cls.model_fields.items():
        spec = spec_of(info)
        if spec is not None:
            yield _field(info.alias or as_written(name), info, spec)


def _field(name: str, info: FieldInfo, spec: FieldSpec) -> dict[str, Any]:
    plain = spec.dimension in (WORDS, PARTS)
    choices = choices_of(info.annotation)
    return {
        "name": name,
        "meaning": spec.meaning,
        "dimension": "choice" if choices else spec.dimension,
        "units": [] if plain else list(allowed_units(spec.dimension)),
        "limits": spec.limits(),
        "choices": choices or [choice_of(cls) for cls in declared_in(info)],
        "required": info.is_required(),
        "default": _default(info, spec),
        "source": spec.source,
    }


def _default(info: FieldInfo, spec: FieldSpec) -> str | None:
    value = info.default
    if info.is_required() or value is None or value in ("", [], {}) or spec.dimension == PARTS:
        return None
    return spec.show(value) if isinstance(value, float | int) else str(value)


def choices_of(annotation: Any) -> list[str]:
    """Return the words that a field takes, none if it is not a choice."""
    for kind in alternatives(annotation):
        if get_origin(kind) is Literal:
            return [str(word) for word in get_args(kind)]
    return []


def declared_in(info: FieldInfo) -> list[type[Declared]]:
    """Return the declarations that may stand in a field."""
    return [
        kind
        for kind in alternatives(info.annotation)
        if isinstance(kind, type) and issubclass(kind, Declared)
    ]


def choice_of(cls: type[Declared]) -> str:
    """Return the word for an element or a detail that stands within another."""
    if issubclass(cls, Detail):
        return cls.word
    return next(kind for kind, known in KINDS.items() if known is cls)


def alternatives(annotation: Any) -> list[Any]:
    """Return the types of a union, without None and without what is annotated."""
    if get_origin(annotation) is Annotated:
        return alternatives(get_args(annotation)[0])
    if get_origin(annotation) is dict:
        # Declarations by name: what stands under each of the names.
        return alternatives(get_args(annotation)[1])
    if get_origin(annotation) in (Union, types.UnionType):
        return [found for part in get_args(annotation) for found in alternatives(part)]
    return [] if annotation is type(None) else [annotation]
