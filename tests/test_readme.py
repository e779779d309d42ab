"""What README.md shows is what happens."""

from __future__ import annotations

import re

import pytest

from tests.readme_blocks import FIRST_SCENARIO, README, Block, blocks, loopplan, shown

needs_first_scenario = pytest.mark.skipif(
    not FIRST_SCENARIO.exists(), reason=f"{FIRST_SCENARIO.name} is not written yet"
)


def readme() -> str:
    return README.read_text(encoding="utf-8")


def test_two_commands_in_the_order_of_need() -> None:
    assert [block.name for block in blocks("command", readme())] == ["first", "test"]


def test_first_command_and_its_output_start_before_line_30() -> None:
    first = blocks("command", readme())[0]
    assert first.line < 30
    assert blocks("output", readme())[0].line < 30


def test_each_command_sets_up_all_that_it_needs() -> None:
    for block in blocks("command", readme()):
        words = block.text.split()
        assert words[:4] == ["python3", "-m", "venv", ".venv"], block.name
        assert ".ci/constraints.txt" in words, block.name


def test_first_output_is_that_of_the_first_command() -> None:
    said = re.search(r"\.venv/bin/loopplan (.+)$", blocks("command", readme())[0].text.strip())
    assert said is not None
    assert said[1] == blocks("output", readme())[0].name


def test_every_marker_has_its_block() -> None:
    markers = re.findall(r"^<!-- (?:command|output): .+ -->$", readme(), re.MULTILINE)
    found = blocks("command", readme()) + blocks("output", readme())
    assert len(markers) == len(found)


@needs_first_scenario
@pytest.mark.parametrize("block", blocks("output", readme()), ids=lambda block: block.name)
def test_output_is_real(block: Block) -> None:
    run = loopplan(*block.name.split())
    assert run.returncode == 0, run.stderr
    assert shown(run.stdout) == block.text, (
        "README.md is stale: run `python tests/readme_blocks.py`"
    )


def test_links_lead_somewhere() -> None:
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", readme()):
        if "://" not in target:
            assert (README.parent / target).exists(), target
