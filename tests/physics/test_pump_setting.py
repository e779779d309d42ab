"""Losses of a pump's setting, each counted once."""

from __future__ import annotations

import pytest

from loopplan.physics.friction import pipe_friction
from loopplan.physics.pump_setting import COUNTED, Setting, setting_loss, velocity_head

NU = 1.1e-6
SETTING = Setting(
    bore=0.3,
    outlet_bore=0.35,
    column_length=4.0,
    roughness=1e-4,
    entry_k=0.1,
    bend_k=0.3,
    flap_k=0.5,
)


# Closed form v^2/2g, worked by hand for flow [m3/h], bore [m].
@pytest.mark.parametrize(
    ("flow", "bore", "expected"),
    [
        (450, 0.30, 0.159), (450, 0.35, 0.086), (450, 0.40, 0.050),
        (100, 0.15, 0.126), (100, 0.20, 0.040), (100, 0.25, 0.016),
        (1800, 0.6, 0.159), (1800, 0.7, 0.086), (1800, 0.8, 0.050),
    ],
)  # fmt: skip
def test_velocity_head_at_the_outlet(flow: float, bore: float, expected: float) -> None:
    assert velocity_head(flow / 3600.0, bore) == pytest.approx(expected, abs=5e-4)


def test_each_term_is_counted_once() -> None:
    loss = {place: setting_loss(place, 0.125, SETTING, NU) for place in COUNTED}
    bare = loss["flange"]
    inside, outside = velocity_head(0.125, 0.3), velocity_head(0.125, 0.35)
    friction = pipe_friction(0.125, 4.0, 0.3, 1e-4, NU)[0]
    assert (bare.entry, bare.column, bare.bend, bare.flap, bare.exit) == pytest.approx(
        (0.1 * inside, friction, 0.3 * inside, 0.5 * outside, outside), rel=1e-12
    )
    assert bare.total == pytest.approx(0.4 * inside + friction + 1.5 * outside, rel=1e-12)
    assert loss["column outlet"].total == pytest.approx(1.5 * outside, rel=1e-12)
    assert loss["level to level"].total == 0.0
    assert loss["level to level"].slope == 0.0


@pytest.mark.parametrize("place", COUNTED)
@pytest.mark.parametrize("flow", [-0.05, 0.02, 0.125])
def test_slope_is_the_derivative_and_backward_flow_loses_backward(place: str, flow: float) -> None:
    step = 1e-6
    near = [float(setting_loss(place, flow + s, SETTING, NU).total) for s in (-step, step)]
    found = setting_loss(place, flow, SETTING, NU)
    assert found.slope == pytest.approx((near[1] - near[0]) / (2.0 * step), rel=1e-5, abs=1e-9)
    assert found.total == pytest.approx(-float(setting_loss(place, -flow, SETTING, NU).total))


def test_exit_loss_is_left_to_the_pipe_that_carries_on() -> None:
    on = Setting(bore=0.3, outlet_bore=0.3, exit_k=0.0)
    assert setting_loss("flange", 0.1, on, NU).total == 0.0


def test_at_rest_nothing_is_lost() -> None:
    assert setting_loss("flange", 0.0, SETTING, NU).total == 0.0


def test_unknown_place_is_refused() -> None:
    with pytest.raises(ValueError, match="allowed: flange, column outlet, level to level"):
        setting_loss("bowl", 0.1, SETTING, NU)
