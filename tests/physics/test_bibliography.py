"""The bibliography holds every key that the physics floor names."""

from __future__ import annotations

import re
import typing
from pathlib import Path

import pytest

import loopplan.physics
from loopplan.physics.fittings import FITTINGS
from loopplan.sources import SOURCES, Evidence, source

FILES = sorted(Path(loopplan.physics.__path__[0]).glob("*.py"))
# In docstrings `Source:` starts a paragraph; keys have a hyphen or are one plain word there.
PARAGRAPH = re.compile(r"^ *Source: (.*?)(?:\n *\n|\"\"\")", re.MULTILINE | re.DOTALL)


def keys_in(text: str) -> set[str]:
    """Return the names in back quotes of the paragraphs on sources."""
    found = {key for part in PARAGRAPH.findall(text) for key in re.findall(r"`([^`]+)`", part)}
    return {key for key in found if not key.startswith("loopplan.") and "_" not in key}


def test_the_reader_finds_keys() -> None:
    text = (Path(loopplan.physics.__path__[0]) / "water.py").read_text(encoding="utf-8")
    assert {"eos-80", "iapws-sr6", "sharqawy-2010"} <= keys_in(text)


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_keys_of_the_docstrings_exist(file: Path) -> None:
    assert keys_in(file.read_text(encoding="utf-8")) - SOURCES.keys() == set()


def test_every_source_says_how_it_was_had() -> None:
    allowed = set(typing.get_args(Evidence))
    for key, found in SOURCES.items():
        assert found.key == key
        assert found.text
        assert found.evidence in allowed


def test_a_source_is_found_and_a_near_one_is_named() -> None:
    assert source("eos-80") is SOURCES["eos-80"]
    with pytest.raises(KeyError, match="near names: iso-1438"):
        source("iso-1439")
    assert {fitting.source for fitting in FITTINGS.values()} <= SOURCES.keys()
