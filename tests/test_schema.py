"""The JSON schema for editors agrees with what the reader takes."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest

from loopplan._generate.schema import schema
from loopplan.elements import KINDS
from loopplan.errors import BadFile
from loopplan.scenario.document import load
from loopplan.scenario.reader import SECTIONS, read
from loopplan.shipped import names, scenario_path

CHECKER = jsonschema.Draft202012Validator(schema())


def tree(name: str = "teaching-loop") -> Any:
    return copy.deepcopy(load(scenario_path(name)).tree)


def wrong(document: Any) -> list[str]:
    return [f"{list(e.absolute_path)}: {e.message}" for e in CHECKER.iter_errors(document)]


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())


def test_all_sections_are_known() -> None:
    assert set(schema()["properties"]) == set(SECTIONS)


def test_there_are_scenarios() -> None:
    assert "teaching-loop" in names()


@pytest.mark.parametrize("name", names())
def test_every_shipped_scenario_is_valid(name: str) -> None:
    assert wrong(tree(name)) == []


BAD: dict[str, Callable[[Any], object]] = {
    "unknown section": lambda t: t.update(pumps={}),
    "unknown kind": lambda t: t["elements"]["sump"].update(kind="smup"),
    "unknown field": lambda t: t["elements"]["sump"].update(colour="red"),
    "field of another kind": lambda t: t["elements"]["sump"].update(crest="1 m"),
    "no kind": lambda t: t["elements"]["sump"].pop("kind"),
    "no unit": lambda t: t["elements"]["sump"].update(area="5"),
    "decimal comma": lambda t: t["elements"]["sump"].update(area="5,5 m2"),
    "wrong unit": lambda t: t["elements"]["sump"].update(area="5 m"),
    "missing field": lambda t: t["elements"]["sump"].pop("area"),
    "missing section": lambda t: t.pop("water"),
    "count of half": lambda t: t["elements"]["tank"].update(count="1.5"),
    "unknown fitting": lambda t: t["elements"]["drain pipe"].update(fittings={"knee": "1"}),
    "unknown form": lambda t: t["elements"]["tank"]["outlet"].update(form="jagged"),
    "outlet of a wrong kind": lambda t: t["elements"]["tank"].update(outlet={"kind": "sump"}),
    "path of one": lambda t: t["flow paths"].update(short=["tank"]),
    "another version": lambda t: t.update(loopplan="7"),
    "unknown condition": lambda t: t.update({"duty states": {"x": {"condition": "dirty"}}}),
    "unknown limit": lambda t: t.update(limits={"noise": "1 m"}),
}


@pytest.mark.parametrize("case", BAD)
def test_what_the_schema_refuses_the_reader_refuses_too(case: str) -> None:
    document = tree()
    BAD[case](document)
    assert wrong(document)
    with pytest.raises(BadFile):
        read(json.dumps(document).encode())


GOOD: dict[str, Callable[[Any], object]] = {
    "superscript": lambda t: t["elements"]["sump"].update(area="5 m\u00b2"),
    "no blank": lambda t: t["elements"]["sump"].update(area="5m2"),
    "count as text": lambda t: t["elements"]["tank"].update(count="2"),
    "count as a number": lambda t: t["elements"]["tank"].update(count=2),
    "number as a number": lambda t: t["elements"]["drain pipe"].update(k=0.5),
    "state without changes": lambda t: t.update({"duty states": {"clean": None}}),
    "change in a state": lambda t: t.update(
        {"duty states": {"x": {"change": {"sump": {"area": "6 m2"}}}}}
    ),
    "points": lambda t: t["elements"].update(
        filter={"kind": "loss", "points": [["0 m3/h", "0 m"], ["120 m3/h", "0.1 m"]]}
    ),
    "limit": lambda t: t.update(limits={"freeboard": "5 cm"}),
}


@pytest.mark.parametrize("case", GOOD)
def test_what_the_schema_takes_the_reader_takes_too(case: str) -> None:
    document = tree()
    GOOD[case](document)
    assert wrong(document) == []
    read(json.dumps(document).encode())


def test_every_kind_has_its_fields() -> None:
    found = schema()["$defs"]
    for kind, cls in KINDS.items():
        assert len(found[kind]["properties"]) == len(cls.model_fields)
        assert found[kind]["additionalProperties"] is False
