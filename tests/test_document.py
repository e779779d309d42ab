"""Scenario files as text: what is read, what is refused and where, and that nothing takes long."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopplan.errors import BadFile, Problem
from loopplan.scenario.document import LARGEST_FILE, Document, load

FARM = """\
# a farm
site:
  name: Åsvik
  level: 2.10 m

elements:
  tank:
    kind: tank
    count: 8
  sump: {kind: sump, floor: -1.5 m}
paths:
  - [tank, sump]
  - - sump
    - tank
"""


def problems(source: Path | str | bytes) -> list[Problem]:
    with pytest.raises(BadFile) as caught:
        load(source, "farm.yaml")
    for problem in caught.value.problems:
        assert problem.file == "farm.yaml"
        assert problem.message
        assert problem.cure
        assert len(str(problem)) < 600
    return caught.value.problems


def only(source: Path | str | bytes) -> Problem:
    found = problems(source)
    assert len(found) == 1, found
    return found[0]


def test_every_value_is_its_text() -> None:
    read = load(FARM, "farm.yaml")
    assert read.name == "farm.yaml"
    assert read.tree == {
        "site": {"name": "Åsvik", "level": "2.10 m"},
        "elements": {
            "tank": {"kind": "tank", "count": "8"},
            "sump": {"kind": "sump", "floor": "-1.5 m"},
        },
        "paths": [["tank", "sump"], ["sump", "tank"]],
    }


@pytest.mark.parametrize(
    "text",
    ["no", "yes", "on", "true", "1:30", "2024-01-01", "1_000", "0x1F", "0o7", "012", "1e3", ".inf",
     ".nan", "12,5 m", "40 %", "<<", "=", "-1.5 m", "1.10"],
)  # fmt: skip
def test_nothing_is_guessed(text: str) -> None:
    assert load(f"key: {text}\n").tree == {"key": text}


def test_nothing_written_is_none_and_quotes_are_text() -> None:
    read = load("a:\nb: ~\nc: null\nd: ''\ne: 'null'\nf: []\ng: {}\n")
    assert read.tree == {"a": None, "b": None, "c": None, "d": "", "e": "null", "f": [], "g": {}}


def test_lines_are_those_of_the_keys() -> None:
    read = load(FARM)
    expected = {
        ("site",): 2,
        ("site", "level"): 4,
        ("elements", "tank"): 7,
        ("elements", "tank", "count"): 9,
        ("elements", "sump", "floor"): 10,
        ("paths",): 11,
        ("paths", 0): 12,
        ("paths", 1, 1): 14,
    }
    assert {path: read.lines[path] for path in expected} == expected


def test_line_falls_back_to_the_nearest_parent() -> None:
    read = load(FARM)
    assert read.line(("elements", "tank", "levle")) == 7
    assert read.line(("elements", "tank", "count", 3, "x")) == 9
    assert read.line(("nothing",)) == read.line(()) == 2


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_byte_order_mark_change_nothing(line_end: str, mark: bytes) -> None:
    plain = load(FARM)
    other = load(mark + FARM.replace("\n", line_end).encode())
    assert (other.tree, other.lines) == (plain.tree, plain.lines)


def test_file_is_read_from_its_path(tmp_path: Path) -> None:
    path = tmp_path / "farm.yaml"
    path.write_text(FARM, encoding="utf-8")
    read = load(path)
    assert read.tree == load(FARM).tree
    assert read.name == str(path)
    assert load(path, "shown").name == "shown"


def test_double_key_names_both_lines() -> None:
    problem = only("site: 1\nelements:\n  tank: a\n  sump: b\n  tank: c\n")
    assert problem.line == 5
    assert "line 3 and 5" in problem.message
    assert problem.key == "elements: tank"


def test_all_problems_come_at_once() -> None:
    found = problems("a: &x 1\nb: *x\nc: !t 2\nd: 3\nd: 4\n")
    assert [problem.line for problem in found] == [1, 2, 3, 5]
    words = ("anchor (&x)", "alias (*x)", "tag (!t)", "stands twice")
    assert all(word in problem.message for word, problem in zip(words, found, strict=True))


@pytest.mark.parametrize(
    ("text", "line", "word"),
    [
        ("a: !!str b\n", 1, "tag"),
        ("a: ! b\n", 1, "tag"),
        ("--- !x\na: b\n", 1, "tag"),
        ("a: &x [1]\n", 1, "anchor"),
        ("&x a: b\n", 1, "anchor"),
        ("a: b\n---\nc: d\n", 2, "second document"),
        ("%YAML 1.1\n---\na: b\n", 1, "directive"),
        ("%TAG ! tag:x,2000:\n---\na: b\n", 1, "directive"),
        ("", 0, "empty"),
        ("# nothing\n\n", 0, "empty"),
        ("- a\n- b\n", 1, "keys are due"),
        ("just words\n", 1, "keys are due"),
        ("a:\n  ? [x]\n  : y\n", 2, "not plain text"),
        ("a: 1\n: 2\n", 2, "key is empty"),
        ("a: 1\n~: 2\n", 2, "key is empty"),
        ("a: 1\nb: x: y\n", 2, "':' stands where no key can be"),
        ("a:\n\tb: c\n", 2, "tab"),
        ("a: 1\nb: @x\n", 2, "meaning of its own"),
        ("a: 1\nb: 'x\nc: 2\n", 2, "never closed"),
        ("a: 1\nb: [x, y\nc: 2\n", 2, "bracket"),
        ("a: {b: 1\n", 1, "bracket"),
        ("a: 1\n  b: 2\n", 2, "':' stands where no key can be"),
        ("a:\n    b: 1\n  c: 2\n", 3, "indent"),
        ("a: - b\n", 1, "'-' stands"),
        ("a: 1\nwater\nb: 2\n", 2, "has no ':'"),
        ('a: "\\q"\n', 1, "backslash"),
        ("a: 1\nb: x\x07\n", 2, "U+0007"),
        ("a: 1\nb: x\x00\n", 2, "U+0000"),
        ("a: 1\nb: x\u202ey\n", 2, "U+202E"),
        ("a: 1\nb: x\u2028c: 2\n", 2, "U+2028"),
        ('a: 1\nb: "x\\0"\n', 2, "U+0000"),
        ('a: 1\n"b\\e": 1\n', 2, "U+001B"),
        ('a: "\\ud800"\n', 1, "U+D800"),
        ('a: "\\UFFFFFFFF"\n', 0, "not YAML"),
        ("a: \ud800\n", 1, "not UTF-8"),
    ],
)
def test_refuses_in_plain_words(text: str, line: int, word: str) -> None:
    problem = only(text)
    assert (word in problem.message, problem.line) == (True, line), problem


def test_other_encodings_are_told_by_byte_and_line() -> None:
    problem = only(b"a: 1\nb: \xe9\n")
    assert problem.line == 2
    assert "byte 9" in problem.message
    assert "0xe9" in problem.message
    assert "UTF-8" in problem.cure
    assert "byte 12" in only(b"\xef\xbb\xbfa: 1\nb: \xe9\n").message
    assert "byte 1 " in only("a: 1\n".encode("utf-16")).message


def test_missing_folder_pipe_and_locked_file(tmp_path: Path) -> None:
    assert "no such file" in only(tmp_path / "none.yaml").message
    assert "folder" in only(tmp_path).message
    assert "cannot be read" in only(tmp_path / "a\0b").message
    assert only(tmp_path / "a.yaml" / "b.yaml").line == 0
    os.mkfifo(tmp_path / "pipe")
    assert "ordinary" in only(tmp_path / "pipe").message


def test_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "farm.yaml"
    path.write_text(FARM, encoding="utf-8")

    def denied(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    # Not by rights: whoever may read everything would read it all the same.
    monkeypatch.setattr(Path, "open", denied)
    assert "Permission denied" in only(path).message


def test_nesting_is_bounded() -> None:
    deep = "{a: " * 19 + "x" + "}" * 19
    assert load(f"a: {deep}\n").tree
    assert "within one another" in only(f"a: {{b: {deep}}}\n").message


def quick(source: Path | str | bytes, seconds: float = 10.0) -> list[Problem]:
    start = time.perf_counter()
    found = problems(source)
    assert time.perf_counter() - start < seconds
    return found


@pytest.mark.parametrize("source", ["[" * 100_000, "{" * 100_000, "- " * 50_000, "? " * 50_000,
                                    "a: " + "[" * 100_000])  # fmt: skip
def test_deep_nesting_is_refused_at_once(source: str) -> None:
    quick(source)


def test_alias_bomb_is_refused_at_once() -> None:
    rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    for i in range(1, 60):
        rows.append(f"a{i}: &a{i} [" + ", ".join([f"*a{i - 1}"] * 9) + "]")
    assert len(quick("\n".join(rows))) == 50


def test_large_file_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "large.yaml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    monkeypatch.setattr(Path, "open", None)
    assert "too large" in quick(path, 1.0)[0].message


@pytest.mark.parametrize("source", [b"a" * (LARGEST_FILE + 1), "a" * (LARGEST_FILE + 1),
                                    "é" * (LARGEST_FILE // 2 + 1)])  # fmt: skip
def test_long_text_is_refused(source: str | bytes) -> None:
    assert "too large" in quick(source, 1.0)[0].message


@pytest.mark.slow
def test_too_many_values_are_refused() -> None:
    assert "more than 200000" in quick("a:\n" + "- b\n" * 300_000, 60.0)[0].message


@given(st.text(max_size=60) | st.text(alphabet="ab:-?[]{}&*!|>%@\"'\\#~ \n\t,01", max_size=40))
def test_any_text_is_a_document_or_a_bad_file(text: str) -> None:
    try:
        read = load(text, "x")
    except BadFile as error:
        assert error.problems
        str(error).encode()
    else:
        assert isinstance(read, Document)
        assert isinstance(read.tree, dict)
        last = text.count("\n") + text.count("\r") + 1
        assert all(1 <= line <= last for line in read.lines.values())


@given(st.binary(max_size=60))
def test_any_bytes_are_a_document_or_a_bad_file(data: bytes) -> None:
    try:
        load(data, "x")
    except BadFile as error:
        str(error).encode()


@pytest.mark.bench
def test_usual_file_is_read_fast() -> None:
    text = "elements:\n" + "".join(
        f"  e{i}:\n    kind: tank\n    level: 2.10 m\n" for i in range(50)
    )
    load(text)
    start = time.perf_counter()
    load(text)
    assert time.perf_counter() - start < 0.040
