"""The JSON schema (2020-12) of a scenario file, for editors."""

from __future__ import annotations

import json
from typing import Any, get_origin

from pydantic.fields import FieldInfo

from loopplan._generate.catalogue import (
    PARTS,
    SECTIONS,
    WORDS,
    choice_of,
    choices_of,
    declared_in,
    details,
)
from loopplan.declare import Declared, Detail, FieldSpec, as_written, spec_of
from loopplan.elements import KINDS
from loopplan.physics.fittings import FITTINGS
from loopplan.scenario.models import FORMAT
from loopplan.scenario.reader import NEEDED as REQUIRED_SECTIONS
from loopplan.units import unit_pattern

Schema = dict[str, Any]

_POINT: Schema = {
    "type": "array",
    "prefixItems": [
        {"type": "string", "pattern": unit_pattern("flow")},
        {"type": "string", "pattern": unit_pattern("head")},
    ],
    "items": False,
    "minItems": 2,
}
_LENGTHS: Schema = {
    "type": "object",
    "additionalProperties": {"type": "string", "pattern": unit_pattern("length")},
}
_SHARE_POINT: Schema = {
    **_POINT,
    "prefixItems": [
        {"type": "string", "pattern": unit_pattern("flow")},
        {"type": "string", "pattern": unit_pattern("share")},
    ],
}
# Fields that hold more than a quantity, a word or a declaration, by the name in the file.
_SHAPES: dict[str, Schema] = {
    "points": {"type": "array", "items": _POINT, "minItems": 2},
    "curve": {"type": "array", "items": _POINT, "minItems": 2},
    "efficiency": {"type": "array", "items": _SHARE_POINT, "minItems": 2},
    "fittings": {
        "type": "object",
        "propertyNames": {"enum": sorted(FITTINGS)},
        "additionalProperties": {"type": ["integer", "string"], "pattern": unit_pattern("count")},
    },
    "in": {"type": "array", "items": {"type": "string"}, "minItems": 1},
    "out of service": {"type": "array", "items": {"type": "string"}},
    "in states": {"type": "array", "items": {"type": "string"}, "minItems": 1},
    "levels": {
        "type": "object",
        "additionalProperties": {"type": "string", "pattern": unit_pattern("level")},
    },
    "places": {
        "type": ["object", "array"],
        "minProperties": 1,
        "minItems": 1,
        "items": {"type": "string"},
        "additionalProperties": {"type": "string", "pattern": unit_pattern("length")},
    },
    "branch diameters": _LENGTHS,
    "orifices": _LENGTHS,
    "branch ks": {
        "type": "object",
        "additionalProperties": {
            "type": ["number", "string"],
            "minimum": 0.0,
            "pattern": unit_pattern("number"),
        },
    },
    "change": {"type": "object", "additionalProperties": {"type": "object"}},
}


def schema_text() -> str:
    """Return the text of ``loopplan/schema.json``."""
    return json.dumps(schema(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def schema() -> Schema:
    """Return the schema of a scenario file."""
    named = {name: _section(name) for name in SECTIONS}
    properties: Schema = {
        "loopplan": {
            "enum": [FORMAT, str(FORMAT)],
            "description": "Version of the scenario format.",
        },
        **{name: named[name] for name in ("farm", "water", "stock", "water lost")},
        "elements": {
            "type": "object",
            "description": "What the farm is made of, by name.",
            "minProperties": 1,
            "additionalProperties": {"$ref": "#/$defs/element"},
        },
        "flow paths": {
            "type": "object",
            "description": "How water runs: ordered runs of elements.",
            "additionalProperties": {
                "type": "array",
                "items": {"type": "string"},
                "minItems": 2,
            },
        },
        **{
            name: named[name]
            for name in ("levels", "air supply", "duty states", "prices", "limits")
        },
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "loopplan scenario",
        "type": "object",
        "properties": properties,
        "required": list(REQUIRED_SECTIONS),
        "additionalProperties": False,
        "$defs": {
            "element": _element(),
            **{kind: _object(cls) for kind, cls in KINDS.items()},
            **{cls.word: _object(cls) for cls in details()},
        },
    }


def _section(name: str) -> Schema:
    cls, title = SECTIONS[name]
    body = _object(cls)
    if name == "levels":
        body = {"type": ["array", "null"], "items": body}
    elif name == "air supply":
        by_name = {"type": "object", "minProperties": 1, "additionalProperties": body}
        body = {**by_name, "type": ["object", "null"]}
    elif name == "duty states":
        # A state that changes nothing has nothing after its colon.
        body["type"] = ["object", "null"]
        body = {"type": "object", "minProperties": 1, "additionalProperties": body}
    elif name not in REQUIRED_SECTIONS:
        body["type"] = ["object", "null"]
    return {"description": f"{title[0].upper()}{title[1:]}.", **body}


def _element() -> Schema:
    """One element: its `kind` picks the fields."""
    return {
        "type": "object",
        "properties": {"kind": {"enum": list(KINDS), "description": "Kind of the element."}},
        "required": ["kind"],
        "allOf": [
            {
                "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
                "then": {"$ref": f"#/$defs/{kind}"},
            }
            for kind in KINDS
        ],
    }


def _object(cls: type[Declared]) -> Schema:
    properties: Schema = {}
    required = []
    for name, info in cls.model_fields.items():
        written = info.alias or as_written(name)
        properties[written] = _field(written, info)
        if info.is_required():
            required.append(written)
    found: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
    if title := getattr(cls, "title", ""):
        found["description"] = f"{title[0].upper()}{title[1:]}."
    return found | ({"required": required} if required else {})


def _field(written: str, info: FieldInfo) -> Schema:
    spec = spec_of(info)
    if spec is None:
        return {"enum": choices_of(info.annotation)}
    return {"description": _description(spec), **_value(written, info, spec)}


def _value(written: str, info: FieldInfo, spec: FieldSpec) -> Schema:
    choices = choices_of(info.annotation)
    if choices:
        return {"enum": choices}
    kinds = declared_in(info)
    if kinds:
        words = [choice_of(cls) for cls in kinds]
        if issubclass(kinds[0], Detail):
            bodies: list[Schema] = [{"$ref": f"#/$defs/{word}"} for word in words]
            if get_origin(info.annotation) is dict:
                return {"type": "object", "minProperties": 1, "additionalProperties": bodies[0]}
            return bodies[0] if len(bodies) == 1 else {"oneOf": bodies}
        body: Schema = {"$ref": "#/$defs/element"}
        return {**body, "properties": {"kind": {"enum": words}}}
    if written in _SHAPES and spec.dimension in (WORDS, PARTS):
        return _SHAPES[written]
    if spec.dimension == WORDS:
        return {"type": "string"}
    if spec.dimension == PARTS:
        raise TypeError(f"the schema does not know the shape of '{written}'")
    return _quantity(spec)


def _quantity(spec: FieldSpec) -> Schema:
    pattern = unit_pattern(spec.dimension)
    if spec.dimension not in ("number", "count"):
        return {"type": "string", "pattern": pattern}
    limits = {
        "exclusiveMinimum": spec.above,
        "minimum": spec.least,
        "exclusiveMaximum": spec.below,
        "maximum": spec.most,
    }
    kind = "integer" if spec.dimension == "count" else "number"
    bounds = {key: limit for key, limit in limits.items() if limit is not None}
    return {"type": [kind, "string"], "pattern": pattern, **bounds}


def _description(spec: FieldSpec) -> str:
    limits = spec.limits()
    return f"{spec.meaning} Must be {limits}." if limits else spec.meaning
