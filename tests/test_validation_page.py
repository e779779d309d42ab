"""The page of published checks: what passes, what it shows, and when it is stale."""

from __future__ import annotations

import dataclasses
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.validation_page import TESTS, WEAK, Row, files_with_checks, page

ROW = Row("a/test_b.py", "X1", "Someone 1900", "head", 2.0, 2.004, "0.5 %", "m", "read")

INNER = """
def test_one({fixture}):
    {fixture}("X1", "Someone 1900", "head", 2.0, {computed}, 0.01, "m", "read")
"""


@pytest.mark.parametrize(
    ("tolerance", "computed", "passes"),
    [
        ("0.5 %", 2.0099, True),
        ("0.5 %", 2.0101, False),
        (0.01, 1.9901, True),
        (0.01, 1.9899, False),
        (0.01, float("nan"), False),
        (0.0, 2.0, False),
        ("half", 2.0, False),
    ],
)
def test_a_row_passes_within_its_tolerance(
    tolerance: float | str, computed: float, passes: bool
) -> None:
    row = dataclasses.replace(ROW, tolerance=tolerance, computed=computed)
    if passes:
        row.check()
    else:
        with pytest.raises(AssertionError):
            row.check()


def test_evidence_is_of_a_known_sort() -> None:
    with pytest.raises(AssertionError, match="evidence"):
        dataclasses.replace(ROW, evidence="hearsay").check()


def test_the_page_shows_rows_and_weaknesses() -> None:
    text = page([ROW, dataclasses.replace(ROW, file="a/test_a.py", quantity="flow")])
    assert text.index("## a/test_a.py") < text.index("## a/test_b.py")
    line = "| X1 | head [m] | 2 | 2.004 | 0.004 | 0.5 % | Someone 1900 | read |"
    assert line in text.splitlines()
    assert all(words in text for words in WEAK)


def test_noise_of_rounding_does_not_change_the_page() -> None:
    assert page([ROW]) == page([dataclasses.replace(ROW, computed=ROW.computed + 1e-13)])


def test_files_are_told_by_their_tests_not_by_their_text() -> None:
    found = {path.relative_to(TESTS).as_posix() for path in files_with_checks()}
    assert "physics/test_water_properties.py" in found
    # This file writes such a test as text, and has none.
    assert "test_validation_page.py" not in found


@pytest.mark.slow
def test_a_stale_page_fails_a_full_run_and_only_that(tmp_path: Path) -> None:
    tests = tmp_path / "tests"
    tests.mkdir()
    for name in ("__init__.py", "conftest.py", "validation_page.py"):
        shutil.copy(TESTS / name, tests / name)
    (tmp_path / "docs").mkdir()
    (tmp_path / "pytest.ini").write_text(
        "[pytest]\naddopts = --import-mode=importlib\npythonpath = .\n", encoding="utf-8"
    )
    inner = tests / "test_inner.py"
    plain = tests / "test_plain.py"
    plain.write_text("def test_two():\n    pass\n", encoding="utf-8")

    def run(computed: float, *options: str) -> int:
        inner.write_text(INNER.format(fixture="published", computed=computed), encoding="utf-8")
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *options]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, check=False).returncode

    page_file = tmp_path / "docs" / "validation.md"
    assert run(2.001) == 1  # missing
    assert run(2.001, "--write-validation") == 0
    assert "2.001" in page_file.read_text(encoding="utf-8")
    assert run(2.001) == 0
    assert run(2.002) == 1  # stale
    # A part of the tests neither fails for the page nor may write it.
    assert run(2.002, "tests/test_plain.py") == 0
    assert run(2.002, "tests/test_inner.py::test_one") == 0
    assert run(2.002, "-k", "two") == 0
    assert run(2.002, "-k", "two", "--write-validation") == 4
    assert run(3.0, "--write-validation") == 1
    assert "2.001" in page_file.read_text(encoding="utf-8")
