"""An airlift whose mixture runs over its wall, or whose air stalls, does not serve."""

from __future__ import annotations

import pytest

from loopplan.studies.lift_sheet_results import AirPoint
from tests.lift_loop import air, codes, device, sheet

LOW_WALL = air("dry reserve: 0.3 m, depth: 3.3 m")
BY_AIR = "floor: -2 m, air: 700 m3/h"


def by_air(words: str) -> tuple[str, str]:
    old, new = air(f"{BY_AIR}, {words}")
    return old, new.replace("flow: 1000 m3/h, ", "")


@pytest.mark.parametrize(
    ("low", "high"),
    [
        (LOW_WALL, air("dry reserve: 0.6 m, depth: 3.6 m")),
        # The same where the flow follows from the air.
        (by_air("dry reserve: 0.1 m, depth: 3.1 m"), by_air("dry reserve: 1 m, depth: 4 m")),
    ],
)
def test_a_mixture_above_the_wall_does_not_serve(
    low: tuple[str, str], high: tuple[str, str]
) -> None:
    found = device("airlift", low)
    detail = found.states[0].detail
    assert isinstance(detail, AirPoint) and detail.reserve is not None and detail.reserve < 0.0
    assert not found.feasible
    assert f"water and air rise {-detail.reserve:.2f} m above the wall" in found.reason
    assert {"device-cannot-serve", "airlift-bulks-over"} <= codes(low)
    assert device("airlift", high).feasible
    assert "airlift-bulks-over" not in codes(high)


def test_one_that_bulks_over_is_not_recommended() -> None:
    # The pumps are ruled out as well: a motor far too small, and a head far too low.
    small = "propeller pump: {motor: {power: 0.2 kW}}"
    old, low = LOW_WALL
    _, high = air()
    told = [sheet((old, x.replace("}}", "}, " + small + "}"))).recommended for x in (low, high)]
    assert told == ["", "airlift"]


STATES = (
    "{clean: {}}",
    "{clean: {}, fouled: {condition: fouled, change: {way back: {loss: %s}}}}",
)


def fouled(loss: str) -> tuple[str, str]:
    return STATES[0], STATES[1] % loss


def test_a_stall_below_the_fouled_lift_does_not_serve() -> None:
    drawn = air("air: 700 m3/h")
    margins = {}
    for loss in ("500 mm", "900 mm"):
        found = device("airlift", drawn, fouled(loss))
        _, state = found.states
        assert isinstance(state.detail, AirPoint)
        margins[loss] = state.detail.margin
        stalled = [x for x in state.against if "moves no water above" in x]
        assert bool(stalled) is (state.detail.margin < 0.0)
    assert margins["900 mm"] < 0.0 < margins["500 mm"]
    assert not device("airlift", drawn, fouled("900 mm")).feasible


def test_a_small_margin_is_a_severe_finding_and_serves() -> None:
    # At little flow in a wide riser, the lift at stall is near to that at work.
    slow = (
        ("{kind: lift, flow: 1000 m3/h}", "{kind: lift, flow: 60 m3/h, device: airlift, airlift: "
         "{kind: channel shaft, inlet half: 2 m2, outlet half: 2 m2, floor: -2 m, "
         "outlet sill: 0.95 m}}"),
        ("flow: 1000 m3/h}\nflow", "flow: 60 m3/h}\nflow"),
        ("loss: 300 mm", "loss: 200 mm"),
    )  # fmt: skip
    found = device("airlift", *slow)
    detail = found.states[0].detail
    assert isinstance(detail, AirPoint)
    assert 0.0 < detail.margin < 0.05
    assert found.feasible
    assert "airlift-stalls-near" in codes(*slow)
    assert "device-cannot-serve" not in codes(*slow)
