"""Settling basins, plates, lamps, cones, siphons and standpipes, in one solved loop.

Expected values are closed forms worked by hand from the fields, unless said otherwise.
"""

from __future__ import annotations

import math

import pytest

from loopplan.elements import KINDS
from loopplan.errors import BadFile
from loopplan.scenario.reader import read
from tests.treatment_loop import TREATMENT, Q, level, row, solved

G2 = 2.0 * 9.80665


def jets(flow: float, holes: float, diameter: float) -> float:
    """Head on sharp-edged holes: (Q / (Cd A))^2 / 2g."""
    return (flow / (0.62 * holes * math.pi / 4.0 * diameter**2)) ** 2 / G2


def test_water_stands_on_the_plate_as_its_holes_ask() -> None:
    (state,) = solved().states
    assert level(state, "tower") == pytest.approx(6.0 + jets(Q, 200, 0.02), abs=1e-9)
    assert level(state, "oxygenator") == pytest.approx(2.6 + jets(Q, 250, 0.02), abs=1e-9)
    plate = row(state, "tower", "plate")
    assert plate.local == pytest.approx(jets(Q, 200, 0.02))
    assert plate.fall == pytest.approx(6.0 - level(state, "catch"))
    assert plate.useful == pytest.approx(1.0)


def test_fouling_closes_a_share_of_the_holes() -> None:
    (state,) = solved(("{clean: {}}", "{dirty: {condition: fouled}}")).states
    assert level(state, "tower") == pytest.approx(6.0 + jets(Q, 160, 0.02), abs=1e-9)


def test_the_level_below_reaches_up_only_when_it_drowns_the_plate() -> None:
    (low,) = solved().states
    (high,) = solved(
        (
            "crest: 4.95 m, priming: vacuum pump,\n    break level: 4.2 m}",
            "crest: 4.95 m, priming: vacuum pump, k: 5}",
        ),
        (
            "catch: {kind: box, area: 4 m2, floor: 3.6 m, wall top: 5.4 m}",
            "catch: {kind: box, area: 4 m2, floor: 3.6 m, wall top: 7.4 m}",
        ),
    ).states
    assert level(high, "catch") > level(low, "catch") + 0.3
    assert level(high, "tower") == pytest.approx(level(low, "tower"), abs=1e-9)
    # A k of 30 takes 30 v2/2g, 2.1 m, and lifts the level below above the plate.
    result = solved(
        ("priming: vacuum pump", "priming: vacuum pump, k: 30"),
        ("floor: 3.6 m, wall top: 5.4 m", "floor: 3.6 m, wall top: 7.4 m"),
    )
    (drowned,) = result.states
    below = level(drowned, "catch")
    assert below > 6.0
    assert level(drowned, "tower") == pytest.approx(below + jets(Q, 200, 0.02), abs=1e-9)
    assert row(drowned, "tower", "plate").fall == 0.0


def test_sludge_is_waste_and_settling_is_judged_by_plan_area() -> None:
    scenario = read(TREATMENT, "x")
    at = scenario.states[0].conditions
    assert scenario.elements["settler"].waste(at) == pytest.approx(12.0 / 86400.0)
    result = solved(
        (
            "settler: {kind: settling basin, length: 15 m, width: 9 m",
            "settler: {kind: settling basin, length: 15 m, width: 6 m",
        )
    )
    (found,) = [f for f in result.findings if f.code == "settling-overloaded"]
    assert found.value == pytest.approx(300.0 / 90.0)
    assert found.limit == pytest.approx(2.5)


def test_two_like_settling_basins_share_the_flow() -> None:
    result = solved(
        (
            "settler: {kind: settling basin, length: 15 m, width: 9 m",
            "settler: {kind: settling basin, count: 2, length: 15 m, width: 4.5 m",
        )
    )
    assert not [f for f in result.findings if f.code == "settling-overloaded"]


def test_open_lamps_lose_less_in_deeper_water() -> None:
    (state,) = solved().states
    lamps = row(state, "lamps")
    depth = lamps.level_before - 3.8
    assert lamps.loss == pytest.approx(0.050 * (0.8 / depth) ** 2, rel=1e-9)
    (deep,) = solved(("floor: 3.8 m, loss: 50 mm", "floor: 3.0 m, loss: 50 mm")).states
    assert row(deep, "lamps").loss < 0.4 * lamps.loss


def test_closed_lamps_go_with_the_square_of_the_flow() -> None:
    old = "form: open, width: 1 m, depth: 0.8 m, floor: 3.8 m, loss: 50 mm,\n    flow: 300 m3/h"
    closed = (old, "form: closed, loss: 400 mm, loss fouled: 500 mm, flow: 600 m3/h")
    (state,) = solved(closed).states
    assert row(state, "lamps").loss == pytest.approx(0.100, rel=1e-9)
    (dirty,) = solved(closed, ("{clean: {}}", "{dirty: {condition: fouled}}")).states
    assert row(dirty, "lamps").loss == pytest.approx(0.125, rel=1e-9)


def test_the_cone_holds_its_pressure_by_its_throttle() -> None:
    states = solved(("{clean: {}}", "{full: {}, half: {flow: 50 %}}")).states
    for state, share in zip(states, (1.0, 0.5), strict=True):
        assert row(state, "cone", "cone").loss == pytest.approx(0.300 * share**2, rel=1e-6)
        throttle = row(state, "cone", "outlet throttle")
        assert throttle.loss == pytest.approx(2.0 * share**2, rel=1e-6)
        assert throttle.head_after == pytest.approx(level(state, "tower"), abs=1e-9)
    result = solved(("{clean: {}}", "{full: {}, half: {flow: 50 %}}"))
    (found,) = [f for f in result.findings if f.code == "cone-pressure-short"]
    assert (found.state, found.also) == ("half", ())
    assert found.value == pytest.approx(level(states[1], "tower") + 0.5 - 6.2, abs=1e-6)


def test_the_cone_is_a_pressure_duty_that_no_airlift_may_have() -> None:
    result = solved(
        (
            "pump: {kind: lift, flow: 300 m3/h}",
            "pump: {kind: lift, flow: 300 m3/h, device: airlift}",
        )
    )
    assert any(f.code == "airlift-pressure" and f.place == "pump" for f in result.findings)
    (lift,) = result.lifts
    assert lift.states[0].pressure == pytest.approx(2.0)
    assert lift.device == "centrifugal pump"


def test_pressure_at_the_crest_of_a_siphon() -> None:
    change = ("crest: 4.95 m", "crest: 12.0 m, crest at: 25 %")
    result = solved(change)
    (state,) = result.states
    run = row(state, "siphon")
    speed = Q / (math.pi / 4.0 * 0.3**2)
    due = level(state, "catch") - 0.25 * run.loss - speed**2 / G2 - 12.0
    (found,) = [f for f in result.findings if f.code == "siphon-vacuum"]
    assert found.value == pytest.approx(due, abs=1e-9)


def test_a_standpipe_spills_over_its_circumference() -> None:
    (state,) = solved().states
    # Q = 2/3 Cd sqrt(2g) pi d h^1.5.
    due = (Q / (2.0 / 3.0 * 0.60 * math.sqrt(G2) * math.pi * 0.45)) ** (2.0 / 3.0)
    assert level(state, "well end") == pytest.approx(4.4 + due, abs=1e-9)


def test_a_funnel_lowers_the_head_over_the_rim() -> None:
    (plain,) = solved().states
    (funnel,) = solved(("diameter: 450 mm", "diameter: 450 mm, rim diameter: 900 mm")).states
    heads = [level(s, "well end") - 4.4 for s in (plain, funnel)]
    assert heads[1] == pytest.approx(heads[0] / 2.0 ** (2.0 / 3.0), rel=1e-9)


def test_a_narrow_drop_pipe_drowns_the_rim() -> None:
    (state,) = solved(
        (
            "rim: 4.4 m, diameter: 450 mm, length: 2 m",
            "rim: 4.4 m, diameter: 155 mm, rim diameter: 450 mm, length: 2 m",
        )
    ).states
    inside = row(state, "standpipe", "rim").head_after
    assert inside > 4.4
    assert level(state, "well end") > inside
    # Running full: the level is set by the pipe, and the drowned rim takes little.
    assert row(state, "standpipe", "rim").loss < 0.1 * row(state, "standpipe", "drop pipe").loss


def test_the_budget_closes_round_all_of_them() -> None:
    (state,) = solved().states
    assert state.residuals.head_budget < 1e-9
    assert max(abs(r.mismatch) for r in state.rows) < 1e-9
    assert [r for r in state.rows if r.path == "loop"][-1].running == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("rim: 6.4 m", "rim: 5.9 m"),
        ("holes: 200", "holes: 9000"),
        ("packing height: 0.9 m", "packing height: 1.1 m"),
        ("width: 1 m, depth: 0.8 m, floor", "width: 1 m, floor"),
        ("form: open", "form: closed"),
        ("break level: 4.2 m", "break level: 5.0 m"),
        ("diameter: 450 mm", "diameter: 450 mm, rim diameter: 400 mm"),
    ],
)
def test_what_cannot_be_built_is_refused(old: str, new: str) -> None:
    with pytest.raises(BadFile):
        solved((old, new))


@pytest.mark.parametrize("kind", ["pipe", "round tank", "lift", "degasser", "siphon"])
def test_most_kinds_waste_nothing(kind: str) -> None:
    at = read(TREATMENT, "x").states[0].conditions
    found = [e for e in read(TREATMENT, "x").elements.values() if isinstance(e, KINDS[kind])]
    assert found and all(e.waste(at) == 0.0 for e in found)
