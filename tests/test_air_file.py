"""The section `air supply` of a file: what is refused, where, and what would do."""

from __future__ import annotations

import json

import jsonschema
import pytest

from loopplan._generate.schema import schema
from loopplan.errors import BadFile, Problem
from loopplan.scenario.document import load
from loopplan.scenario.reader import read
from tests.air_loop import LOOP, scenario, text

AT = "air supply: header: "
SHAFT = LOOP[LOOP.index("    airlift:\n") : LOOP.index("  head box: {kind")]

CASES = [
    ("    blower:\n", "    blowers:\n", "air supply: header: blowers", "not known", "blower"),
    ("air: 1200 m3/h", "air: 1200", AT + "blower: air", "no unit", "m3/h"),
    ("air: 1200 m3/h", "air: 0 m3/h", AT + "blower: air", "out of range", "above"),
    ("class: rotary lobe", "class: rotary", AT + "blower: class", "not one of", "rotary screw"),
    ("rated pressure: 45 kPa", "rated pressure: 45 m3/h", AT + "blower: rated pressure",
     "is a flow", "kPa"),
    ("standby: 1", "standby: 0.5", AT + "blower: standby", "part of a blower", "whole"),
    ("running: 1", "running: 0", AT + "blower: running", "not a whole number", "plain digits"),
    ("{diameter: 200 mm, length", "{length", AT + "main pipe: diameter", "missing", "size"),
    ("{diameter: 200 mm,", "{diameter: 200 mm, size: PE 225 SDR 17,", AT + "main pipe: diameter",
     "given twice", "size"),
    ("{diameter: 200 mm,", "{size: steel 201 x 3,", AT + "main pipe: size", "steel", "219.1"),
    ("rise: 0.4 m}", "material: copper}", AT + "main pipe: material", "not one of", "steel"),
    ("rise: 0.4 m}", "fittings: {knee: 2}}", AT + "main pipe: fittings", "not a fitting", "known"),
    ("        level: -1.0 m\n", "        level: -1.0 m\n        depth: 1 m\n",
     AT + "users: head box: level", "placed twice", "depth"),
    ("        level: -1.0 m\n", "", AT + "users: head box", "how deep", "depth"),
    ("        depth: 1.2 m\n", "        level: 0 m\n", AT + "users: wash: level", "no element",
     "depth"),
    ("        air: 150 m3/h\n", "", AT + "users: wash", "how much air", "air:"),
    ("      airlift:\n        branch", "      airlift:\n        air: 5 m3/h\n        branch",
     AT + "users: airlift: air", "stated twice", "one of them"),
    ("      airlift:\n        branch", "      airlift:\n        depth: 2 m\n        branch",
     AT + "users: airlift: depth", "as drawn", "leave it out"),
    ("takes air: at times", "takes air: at times\n        in states: [fouled]",
     AT + "users: wash: in states", "said twice", "takes air"),
    ("takes air: at times", "in states: [flood]", AT + "users: wash: in states",
     "not a duty state", "clean, fouled"),
    ("loss exponent: 1.3", "loss exponent: 3", AT + "users: head box: loss exponent",
     "out of range", "at most 2"),
    ("length: 12 m}", "length: 12 m, bore: 3 cm}", AT + "users: head box: branch: bore",
     "not known", "known here"),
    (LOOP[LOOP.index("      airlift:\n        branch") : LOOP.index("      wash:\n")], "",
     AT + "users", "first duty state", "be on"),
    (SHAFT, "    flow: 500 m3/h\n", AT + "users: airlift", "no airlift is drawn", "airlift:"),
]  # fmt: skip


def problems(old: str, new: str) -> list[Problem]:
    with pytest.raises(BadFile) as caught:
        scenario((old, new))
    return list(caught.value.problems)


@pytest.mark.parametrize(("old", "new", "key", "message", "cure"), CASES)
def test_what_is_wrong_is_told_with_its_place_and_cure(
    old: str, new: str, key: str, message: str, cure: str
) -> None:
    found = problems(old, new)
    (one,) = [p for p in found if p.key == key]
    assert message in one.message
    assert cure in one.cure
    assert one.line > 0


def test_all_that_is_wrong_is_told_at_once() -> None:
    with pytest.raises(BadFile) as caught:
        scenario(
            ("standby: 1", "standby: 0.5"),
            ("rise: 0.4 m}", "material: copper}"),
            ("class: rotary lobe", "class: bellows"),
            ("sump: {kind: sump, area: 2 m2", "sump: {kind: sump, area: 2"),
        )
    keys = {p.key for p in caught.value.problems}
    assert len(keys) >= 3
    assert {AT + "blower: class", AT + "main pipe: material"} <= keys


def test_no_user_hangs_on_two_headers() -> None:
    twice = text() + (
        "  other:\n    blower: {air: 100 m3/h, rated pressure: 30 kPa}\n    users:\n"
        "      head box: {air: 10 m3/h, depth: 1 m}\n"
    )
    with pytest.raises(BadFile) as caught:
        read(twice.encode())
    (one,) = caught.value.problems
    assert one.key == "air supply: other: users: head box"
    assert "`header`" in one.message


def test_a_user_without_any_loss_is_refused() -> None:
    old = LOOP[LOOP.index("        diffuser loss: 1 kPa") :]
    (one,) = problems(old, "        diffuser loss: 0 kPa\n        takes air: at times\n")
    assert "no loss at all" in one.message


@pytest.mark.parametrize("section", ["air supply: []", "air supply: yes", "air supply: {}"])
def test_headers_have_names(section: str) -> None:
    with pytest.raises(BadFile) as caught:
        read((LOOP.split("air supply:")[0] + section).encode())
    assert "headers" in caught.value.problems[0].message


def test_defaults_are_told_as_assumed() -> None:
    from loopplan.scenario.air import supply_assumed

    told = {(place, field) for place, field, _, _ in supply_assumed(scenario().air_supply)}
    assert ("header", "blower.filter loss") in told
    assert ("header", "blower.motor.reserve") in told
    assert ("header", "head box.branch.roughness") in told
    assert ("header", "blower.inlet temperature") not in told


def test_the_schema_takes_it() -> None:
    checker = jsonschema.Draft202012Validator(schema())
    tree = json.loads(json.dumps(load(text().encode(), "test.yaml").tree))
    assert [e.message for e in checker.iter_errors(tree)] == []
    tree["air supply"]["header"]["blower"]["colour"] = "red"
    assert [e.message for e in checker.iter_errors(tree)] != []
