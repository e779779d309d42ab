"""Passages that stand dry and basins that no water reaches: the rest of the loop must not mind.

Expected levels are closed statements; the loop is invented.
"""

from __future__ import annotations

import pytest

from loopplan.loop.solution import Solved, solve_scenario
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.recheck import again

LOOP = """\
loopplan: 1
farm: {name: Invented loop}
water: {temperature: 12 degC}
elements:
  head: {kind: box, area: 4 m2, floor: 0 m, wall top: 3 m}
  drain: {kind: pipe, length: 10 m, diameter: 250 mm}
  channel: {kind: channel, length: 10 m, width: 0.5 m, floor up: 1.50 m, floor down: 1.45 m}
  high gate: {kind: opening, invert: 1.60 m, height: 200 mm, width: 0.4 m}
  spare tank: {kind: box, area: 9 m2, floor: 0 m, wall top: 2 m}
  sill: {kind: weir, crest: 1.20 m, width: 1 m, crest height: 1.2 m}
  sump: {kind: sump, area: 5 m2, floor: -1 m, wall top: 1 m}
  lift: {kind: lift, flow: 150 m3/h}
flow paths:
  loop: [sump, lift, head, drain, sump]
  side: [head, channel, sump]
  spare: [head, high gate, spare tank, sill, sump]
levels: [{way: outside level, at: sump, level: 0.0 m}]
duty states: {clean: {}}
"""
"""The water stands too low in the head box for the channel and for the gate of the spare tank."""


def solved(text: str = LOOP) -> Solved:
    return solve_scenario(read(text.encode(), "invented.yaml"))


def level(found: Solved, basin: str) -> float:
    nodes = found.compiled.graph.nodes
    (i,) = [i for i, n in enumerate(nodes) if n.basin is not None and n.basin[0] == basin]
    return float(found.heads[i, 0])


def without(*parts: str) -> str:
    """The loop with some lines left out."""
    return "\n".join(
        x for x in LOOP.splitlines() if not x.startswith(tuple(f"  {p}" for p in parts))
    )


SPARE = ("high gate:", "spare", "sill:")
CHANNEL = ("channel:", "side:")


@pytest.mark.parametrize(
    "text",
    [without(*SPARE), without(*CHANNEL), LOOP],
    ids=["channel", "spare tank", "both"],
)
def test_what_is_dry_carries_nothing_and_changes_nothing(text: str) -> None:
    found = solved(text)
    for branch, flow in zip(found.compiled.graph.branches, found.flows[:, 0], strict=True):
        due = 150.0 / 3600.0 if branch.element in ("lift", "drain") else 0.0
        assert flow == pytest.approx(due, abs=1e-9), branch.element
    bare = solved(without(*SPARE, *CHANNEL))
    assert level(found, "head") == pytest.approx(level(bare, "head"), abs=1e-9)


def test_head_budget_closes_past_a_dry_channel() -> None:
    (state,) = budget(read(without(*SPARE).encode(), "invented.yaml")).states
    assert state.residuals.head_budget <= 1e-6
    assert max(abs(row.mismatch) for row in state.rows) <= 1e-6


def test_basin_that_is_cut_off_stands_at_its_sill() -> None:
    assert level(solved(without(*CHANNEL)), "spare tank") == pytest.approx(1.20, abs=1e-6)


@pytest.mark.parametrize(
    "flow",
    [
        0.0,
        1e-13,
        -3.3e-11,
    ],
)
def test_row_of_a_dry_sill_hands_no_head_on(flow: float) -> None:
    # Flows close to 5e-10 of the circulation: at 0.1 m3/s, 5e-11 m3/s is as good as none.
    sill = {
        "crest": 0.475, "c0": 1.8, "c1": 0.0, "kh": 0.0, "exponent": 1.5, "modular_limit": 0.0,
        "drown_exponent": 1.5,
    }  # fmt: skip
    assert again("weir", sill, flow, 0.429, 0.462).head_up == pytest.approx(0.462, abs=1e-6)
