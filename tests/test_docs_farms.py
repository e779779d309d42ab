"""Farms that the docs show are read and solved, and nothing severe is to be said about them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from loopplan.findings import Severity
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget

DOCS = Path(__file__).parent.parent / "docs"


@pytest.mark.parametrize("page", ["start.md", "scenario-file.md"])
def test_a_farm_in_the_docs_runs(page: str) -> None:
    blocks = re.findall(r"```yaml\n(.*?)```", (DOCS / page).read_text(encoding="utf-8"), re.S)
    whole = [block for block in blocks if block.startswith("loopplan: 1")]
    assert len(whole) == 1
    result = budget(read(whole[0].encode(), page))
    severe = [f.message for f in result.findings if f.severity is Severity.SEVERE]
    assert severe == []
