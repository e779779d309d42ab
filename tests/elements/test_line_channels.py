"""Dividing and collecting channels: level and momentum along them, shares of what they feed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from loopplan.physics.channels import critical_depth
from loopplan.physics.sections import Section
from loopplan.physics.thrust import depth_from_still, still_depth
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult

SILLS = [f"sill {i}" for i in range(1, 9)]


def farm(
    width: float = 0.8,
    crest: float = 1.235,
    sill_width: float = 1.155,
    manning: float = 0.013,
    flow: float = 1152.0,
    collector: str = "width: 1.2 m, floor up: 0.0 m, floor down: 0.0 m",
    count: int = 1,
) -> BudgetResult:
    """A head box, a dividing channel of 20 m over eight sills, a collecting channel, a sump."""
    places = ", ".join(f"{name}: {2.5 * i} m" for i, name in enumerate(SILLS, 1))
    sills = "\n".join(
        f"  {name}: {{kind: weir, form: coefficient, discharge coefficient: 0.62, "
        f"crest: {crest} m, width: {sill_width} m, count: {count}}}"
        for name in SILLS
    )
    paths = "\n".join(f"  {name}: [dividing, {name}, collecting]" for name in SILLS)
    text = f"""
loopplan: 1
farm: {{name: eight sills}}
water: {{temperature: 12 degC}}
elements:
  head box: {{kind: box, area: 3 m2, floor: 0 m, wall top: 3 m}}
  dividing: {{kind: dividing channel, count: {count}, length: 20 m, width: {width} m,
    floor up: 0.5 m, floor down: 0.5 m, wall top: 3 m, manning: {manning}, places: {{{places}}}}}
{sills}
  collecting: {{kind: collecting channel, count: {count}, length: 22 m, {collector}, wall top: 3 m,
    manning: {manning}, places: {{{places}}}}}
  sump: {{kind: sump, area: 5 m2, floor: -1 m, wall top: 2 m}}
  pump: {{kind: lift, flow: {flow} m3/h}}
flow paths:
  feed: [head box, dividing]
{paths}
  back: [collecting, sump, pump, head box]
levels:
  - {{way: outside level, at: sump, level: 0.80 m}}
duty states: {{clean: {{}}}}
"""
    return budget(read(text.encode()))


def shares(result: BudgetResult) -> list[float]:
    """Flow over each sill [m3/s], in order of travel."""
    rows = {row.element: row.flow for row in result.states[0].rows}
    return [rows[name] for name in SILLS]


def spread(result: BudgetResult) -> float:
    flows = shares(result)
    return (max(flows) - min(flows)) / (sum(flows) / len(flows))


def first_reach(result: BudgetResult) -> tuple[float, float]:
    """Velocity in the first reach [m/s] and head over the first sill [m]."""
    rows = result.states[0].rows
    reach = next(r for r in rows if r.name == "dividing, reach 1")
    sill = next(r for r in rows if r.element == SILLS[0])
    return reach.velocity or 0.0, sill.head_before


def test_the_last_sill_gets_about_a_quarter_more() -> None:
    """The level rises by the velocity head that is recovered, less friction: with Q ~ h^1.5 the
    spread is 1.5 times that rise over the head. Closed form, friction from Manning."""
    result = farm()
    speed, level = first_reach(result)
    flows = shares(result)
    head = sum((q / 1.155 / (2 / 3 * 0.62 * math.sqrt(2 * 9.80665))) ** (2 / 3) for q in flows) / 8
    assert speed == pytest.approx(0.5, abs=0.04)
    assert head == pytest.approx(0.071, abs=0.002)
    last = next(r.head_before for r in result.states[0].rows if r.element == SILLS[-1])
    assert spread(result) == pytest.approx(1.5 * (last - level) / head, rel=0.03)
    # Frictionless, the whole velocity head but that of the last reach comes back.
    smooth = farm(manning=0.005)
    speed, level = first_reach(smooth)
    last = next(r.head_before for r in smooth.states[0].rows if r.element == SILLS[-1])
    gain = speed**2 / (2 * 9.80665) * (1 - 1 / 64)
    assert last - level == pytest.approx(gain, rel=0.05)
    assert 0.19 < spread(result) < 0.30
    assert flows == sorted(flows)


def test_widening_the_channel_or_throttling_the_sills_shrinks_the_spread() -> None:
    base = spread(farm())
    assert spread(farm(width=1.2)) < 0.6 * base
    assert spread(farm(sill_width=0.6, crest=1.195)) < 0.8 * base


def test_two_channels_carry_half_each() -> None:
    one, two = shares(farm()), shares(farm(count=2, flow=2304.0))
    assert two == pytest.approx([2.0 * q for q in one], rel=1e-6)


def test_collecting_channel_rises_by_momentum() -> None:
    """Frictionless, from a free brink at critical depth: the still depth at its head is sqrt(3)
    of it (closed form), where energy alone would say 1.5."""
    result = farm(
        collector="width: 0.5 m, floor up: 0.9 m, floor down: 0.9 m", manning=0.005, crest=1.75
    )
    rows = result.states[0].rows
    top = next(r for r in rows if r.name == "collecting, reach 1")
    critical = (0.32**2 / 0.5**2 / 9.80665) ** (1 / 3)
    assert (top.head_before - 0.9) / critical == pytest.approx(math.sqrt(3.0), rel=0.02)
    assert (top.head_before - 0.9) / critical > 1.6


def test_still_depth_of_critical_flow_in_a_rectangle() -> None:
    section = Section(np.array([[0.8]]), np.array([[0.0]]), np.array([[0.0]]))
    flow = np.array([[0.3]])
    critical = critical_depth(flow, section)
    found = still_depth(flow, critical, section)
    assert found.depth / critical == pytest.approx(math.sqrt(3.0), rel=1e-12)


@pytest.mark.parametrize(
    ("width", "side", "diameter"), [(0.8, 0.0, 0.0), (0.5, 1.5, 0.0), (0.0, 0.0, 0.9)]
)
def test_still_depth_and_back(width: float, side: float, diameter: float) -> None:
    section = Section(np.array([[width]]), np.array([[side]]), np.array([[diameter]]))
    flow, depth = np.array([[0.15]]), np.array([[0.45]])
    critical = critical_depth(flow, section)
    there = still_depth(flow, depth, section)
    back = depth_from_still(there.depth, flow, section, critical)
    assert back.depth == pytest.approx(depth, rel=1e-10)
    step = 1e-6
    up, down = (still_depth(flow, depth + s, section).depth for s in (step, -step))
    assert there.slope == pytest.approx((up - down) / (2 * step), rel=1e-6)
    up, down = (still_depth(flow + s, depth, section).depth for s in (step, -step))
    assert there.d_flow == pytest.approx((up - down) / (2 * step), rel=1e-6)
    up, down = (
        depth_from_still(there.depth + s, flow, section, critical).depth for s in (step, -step)
    )
    assert back.slope == pytest.approx((up - down) / (2 * step), rel=1e-5)


def test_rows_round_the_loop_close() -> None:
    result = farm()
    left = result.states[0].residuals
    assert left.water_balance <= 1e-9
    assert left.head_budget <= 2e-4
    assert max(abs(r.mismatch) for r in result.states[0].rows) <= 1e-4
