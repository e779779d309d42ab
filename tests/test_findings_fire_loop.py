"""Findings that look at several elements at once: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS, Finding
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from tests.test_findings_fire import Pair
from tests.test_share_cures import text

SHARES = [
    # 1.232 m is where the spread comes to 10 %, as tests/test_share_cures.py finds it.
    Pair("shares-uneven", "feeder", "width: 0.8 m, floor", "width: 1.22 m, floor",
         "width: 1.24 m, floor"),
]  # fmt: skip
PAIRS = [*SHARES]


def findings(base: str, old: str, new: str) -> list[Finding]:
    assert base.count(old) == 1
    return list(budget(read(base.replace(old, new).encode(), "loop.yaml")).findings)


@pytest.mark.parametrize("pair", SHARES, ids=lambda p: f"{p.code} at {p.place}")
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert pair.code not in {f.code for f in findings(text(), pair.old, pair.quiet)}
    (found,) = [f for f in findings(text(), pair.old, pair.fires) if f.code == pair.code]
    assert (found.place, found.state) == (pair.place, "clean")
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.value is not None and found.limit is not None and found.value > found.limit
