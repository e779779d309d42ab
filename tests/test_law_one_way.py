"""The law of one-way passages: signs and slopes, what is shut, and its scalar twin."""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest

from loopplan.laws import LAWS
from loopplan.studies.recheck import again

LAW = LAWS["one-way"]
G = 9.80665


def params(r: Random, leak: float = 0.0) -> dict[str, float]:
    return {
        "k": r.uniform(0.3, 5.0), "diameter": r.uniform(0.05, 0.6),
        "opening_head": r.choice([0.0, r.uniform(0.005, 0.3)]), "leak": leak,
    }  # fmt: skip


def residual(p: dict[str, float], q: float, up: float, down: float) -> tuple[float, ...]:
    arrays = {name: np.full((1, 1), value) for name, value in p.items()}
    one = np.ones((1, 1))
    return tuple(float(x[0, 0]) for x in LAW.residual(arrays, q * one, up * one, down * one))


@pytest.mark.parametrize("leak", [0.0, 0.02, 1.0])
def test_signs_and_slopes_by_central_differences(leak: float) -> None:
    r = Random(11)
    for _ in range(200):
        p, down = params(r, leak), r.uniform(-2.0, 2.0)
        drive = r.uniform(-1.0, 1.0)
        up = down + p["opening_head"] + drive
        q = r.uniform(-0.05, 0.2)
        if min(abs(drive), abs(up - down)) < 2e-3:
            continue  # a kink is near
        _, by_flow, by_up, by_down = residual(p, q, up, down)
        assert by_flow < 0.0 <= by_up and by_down <= 0.0
        for step in (1e-5, 1e-6):
            for slope, dq, da, db in (
                (by_flow, step, 0.0, 0.0), (by_up, 0.0, step, 0.0), (by_down, 0.0, 0.0, step)
            ):  # fmt: skip
                high = residual(p, q + dq, up + da, down + db)[0]
                low = residual(p, q - dq, up - da, down - db)[0]
                assert (high - low) / (2.0 * step) == pytest.approx(slope, rel=1e-4, abs=1e-7)


def test_shut_it_passes_nothing_and_open_what_the_square_law_says() -> None:
    p = {"k": 2.0, "diameter": 0.3, "opening_head": 0.05, "leak": 0.0}
    for up in (-1.0, 0.0, 0.049):
        assert residual(p, 0.0, up, 0.0)[0] == 0.0
    # Closed form: v = sqrt(2 g (h - h0) / K).
    speed = math.sqrt(2.0 * G * 0.20 / 2.0)
    flow = math.pi / 4.0 * 0.09 * speed
    assert residual(p, flow, 0.25, 0.0)[0] == pytest.approx(0.0, abs=1e-12)


def test_a_stuck_flap_lets_as_much_back_as_it_would_forward_without_its_weight() -> None:
    p = {"k": 2.0, "diameter": 0.3, "opening_head": 0.0, "leak": 1.0}
    for head in (1e-5, 0.01, 0.4):
        forward, back = residual(p, 0.0, head, 0.0)[0], residual(p, 0.0, 0.0, head)[0]
        assert forward == -back > 0.0


@pytest.mark.parametrize("leak", [0.0, 0.05, 1.0])
def test_flow_never_falls_as_the_head_before_it_rises(leak: float) -> None:
    r = Random(5)
    for _ in range(20):
        p = params(r, leak)
        flows = [residual(p, 0.0, up, 0.0)[0] for up in np.linspace(-0.5, 0.5, 2001)]
        assert (np.diff(flows) >= 0.0).all()


@pytest.mark.parametrize("leak", [0.0, 0.03])
def test_scalar_twin_agrees(leak: float) -> None:
    r = Random(7)
    for _ in range(200):
        p, down = params(r, leak), r.uniform(-1.0, 1.0)
        flow = 10.0 ** r.uniform(-6.0, -0.5) * (r.choice([1.0, -1.0]) if leak else 1.0)
        found = again("one-way", p, flow, down, None)
        assert residual(p, flow, found.head_up, down)[0] == pytest.approx(0.0, abs=1e-9 + 1e-9)
        assert found.local == pytest.approx(found.head_up - down, abs=1e-12)
    shut = {"k": 1.0, "diameter": 0.2, "opening_head": 0.1, "leak": 0.0}
    assert again("one-way", shut, 0.0, 1.0, 0.4).head_up == 0.4
    # A head that would open it is not believed.
    assert again("one-way", shut, 0.0, 1.0, 1.3).head_up == pytest.approx(1.1)
    # Nor one that would make it leak.
    leaky = {**shut, "leak": 0.1}
    assert again("one-way", leaky, 0.0, 1.0, 0.4).head_up == pytest.approx(1.0)
