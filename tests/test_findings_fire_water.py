"""Findings about the water balance: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS
from tests.test_findings_fire import Pair, at
from tests.treatment_loop import solved

SLUDGE = "sludge flow: 12 m3/d"
"""What the settling basin of the loop loses, of 144 m3/d that are new."""
NOTCH = "crest: 0.50 m}"


def sewer(flow: str) -> str:
    return (
        f"  sewer: {{kind: discharge, flow: {flow}}}\nflow paths:\n  to the sewer: [sump, sewer]\n"
    )


PAIRS = [
    Pair("wash-beyond-replacement", "farm", SLUDGE, "sludge flow: 145 m3/d",
         "sludge flow: 143 m3/d"),
    # 80 % of 144 m3/d are 115.2 m3/d.
    Pair("wash-takes-replacement", "farm", SLUDGE, "sludge flow: 116 m3/d",
         "sludge flow: 115 m3/d"),
    Pair("make-up-short", "farm", "flow paths:\n", sewer("133 m3/d"), sewer("131 m3/d")),
    Pair("water-counted-twice", "spillway", NOTCH, "crest: 0.50 m, carries: sludge}",
         "crest: 0.50 m, carries: purge}"),
]  # fmt: skip


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p.code)
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert at(list(solved((pair.old, pair.quiet)).findings), pair) == []
    (found,) = at(list(solved((pair.old, pair.fires)).findings), pair)
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.state == "clean"
    assert found.cure and found.source and found.message
    assert found.value != found.limit


def test_the_limit_of_most_is_the_farms_own() -> None:
    limits = ("duty states", "limits: {lost share most: 8 %}\nduty states")
    assert "wash-takes-replacement" in {f.code for f in solved(limits).findings}
    assert "wash-takes-replacement" not in {f.code for f in solved().findings}


def test_the_worst_of_them_is_told_alone() -> None:
    codes = {f.code for f in solved((SLUDGE, "sludge flow: 145 m3/d")).findings}
    assert codes.isdisjoint({"wash-takes-replacement", "make-up-short"})
