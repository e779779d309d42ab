"""House rules that a reader would else have to check by eye."""

from __future__ import annotations

import ast
import importlib.metadata
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import loopplan

ROOT = Path(__file__).resolve().parent.parent
LONGEST = 500
KEPT_FOLDERS = (".ci", "docs", "loopplan", "scenarios", "tests")
TEXT = {".json", ".md", ".py", ".toml", ".txt", ".yaml", ""}

# Folders that exist on the machine of whoever wrote the line, and on no other.
MACHINE_PATH = re.compile(r"(?<![\w.:/}-])/(?:work|tmp|home|root|opt|Users|mnt|srv)/|\b[A-Z]:\\\w")


def own_files() -> Iterator[Path]:
    """Yield the text files of the repository."""
    yield from (path for path in ROOT.iterdir() if path.is_file() and path.suffix in TEXT)
    for folder in KEPT_FOLDERS:
        for path in (ROOT / folder).rglob("*"):
            if path.is_file() and path.suffix in TEXT and "__pycache__" not in path.parts:
                yield path


def test_no_source_file_is_long() -> None:
    lengths = {
        path.relative_to(ROOT).as_posix(): len(path.read_text(encoding="utf-8").splitlines())
        for path in own_files()
        if path.suffix == ".py"
    }
    assert "loopplan/errors.py" in lengths
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST} == {}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("see /" + "home/me/farm.yaml", True),
        ("C:" + "\\farm.yaml", True),
        ("https://example.org/home/x", False),
        ("m3/h", False),
        ("docs/work/x", False),
    ],
)
def test_machine_path_is_told_apart(text: str, expected: bool) -> None:
    assert bool(MACHINE_PATH.search(text)) is expected


def test_no_file_names_a_machine_path() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()}"
        for path in own_files()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if MACHINE_PATH.search(line)
    ]
    assert found == []


def test_types_are_shipped() -> None:
    assert (ROOT / "loopplan" / "py.typed").is_file()


def test_there_is_one_version_and_it_is_a_literal() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["dynamic"] == ["version"]
    source = ROOT / project["tool"]["hatch"]["version"]["path"]
    assert source == ROOT / "loopplan" / "__init__.py"
    literals = [
        ast.literal_eval(node.value)
        for node in ast.parse(source.read_text(encoding="utf-8")).body
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__version__"
    ]
    assert literals == [loopplan.__version__]


def test_installed_version_is_that_of_the_source() -> None:
    try:
        installed = importlib.metadata.version("loopplan")
    except importlib.metadata.PackageNotFoundError:
        pytest.skip("loopplan is run from its source folder, not installed")
    assert installed == loopplan.__version__


def test_tested_versions_are_pinned_exactly() -> None:
    lines = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = [line for line in lines if line and not line.startswith("#")]
    assert [pin for pin in pins if not re.fullmatch(r"[\w.-]+==[\w.]+", pin)] == []
    pinned = {re.sub(r"[-_.]+", "-", pin.split("==")[0]).lower() for pin in pins}
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    asked = [
        *project["build-system"]["requires"],
        *project["project"]["dependencies"],
        *project["project"]["optional-dependencies"]["test"],
    ]
    names = {re.sub(r"[-_.]+", "-", re.split(r"[<>=~! ]", ask)[0]).lower() for ask in asked}
    assert names - pinned == set()


def test_public_names_exist() -> None:
    for name in getattr(loopplan, "__all__", []):
        assert hasattr(loopplan, name), name
