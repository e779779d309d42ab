"""Scalar laws of the head budget against the solver's array laws, over random passages."""

from __future__ import annotations

import math
from collections.abc import Mapping
from random import Random
from typing import Any

import numpy as np
import pytest

from loopplan.laws import LAWS
from loopplan.physics.curve_fit import monotone_slopes
from loopplan.physics.weir_forms import weir_coefficients
from loopplan.studies.recheck import Again, again

Params = dict[str, Any]
TRIALS = 120


def residual(law: str, p: Mapping[str, Any], q: float, up: float, down: float) -> float:
    """The array law's own residual at one point, in its unit."""
    arrays = {
        name: np.asarray(value, dtype=float).reshape(-1, 1, 1)
        if isinstance(value, list)
        else np.full((1, 1), float(value))
        for name, value in p.items()
    }
    one = np.ones((1, 1))
    steps = LAWS[law].plan(arrays, q * one, down * one)
    if steps is not None:
        arrays["steps"] = np.full((1, 1), float(steps.max()))
    return float(LAWS[law].residual(arrays, q * one, up * one, down * one)[0][0, 0])


def check(law: str, p: Params, q: float, down: float, up: float | None = None) -> Again:
    """The head worked again must satisfy the array law: 0.1 mm, or what that is of flow."""
    found = again(law, p, q, down, up)
    high = found.head_up
    if LAWS[law].unit == "m":
        assert abs(residual(law, p, q, high, down)) <= (5e-4 if law == "channel" else 1e-7)
    else:
        # A tenth of a micrometre of head to either side brackets the flow, or the law is as
        # flat there as the double can tell.
        under, over = (residual(law, p, q, high + d, down) for d in (-1e-7, 1e-7))
        assert under <= 1e-9 * abs(q) and over >= -1e-9 * abs(q), (p, q, down, high, under, over)
    parts = found.friction + found.local + found.fall + found.device
    assert parts == pytest.approx(high - down, abs=1e-9)
    assert math.isfinite(high)
    return found


def pipe(r: Random) -> Params:
    return {
        "length": r.uniform(0.5, 200.0), "diameter": 10.0 ** r.uniform(-1.7, 0.0),
        "roughness": r.choice([0.0, 3e-5, 6e-4]), "viscosity": r.uniform(0.8e-6, 1.9e-6),
        "factor": r.choice([0.0, 0.0, 0.02]), "k": r.choice([0.0, 1.5, 12.0]),
    }  # fmt: skip


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_pipe(sign: float) -> None:
    r = Random(1)
    for _ in range(TRIALS):
        p = pipe(r)
        # Reynolds numbers from 50 to a million: laminar, blended, turbulent.
        speed = 10.0 ** r.uniform(1.7, 6.0) * p["viscosity"] / p["diameter"]
        flow = sign * speed * math.pi / 4.0 * p["diameter"] ** 2
        down = r.uniform(-2.0, 2.0)
        found = again("pipe", p, flow, down)
        loss = found.head_up - down
        assert abs(residual("pipe", p, flow, found.head_up, down)) <= 1e-9 + 1e-8 * abs(loss)
        assert loss * sign > 0.0
        assert found.velocity == pytest.approx(sign * speed)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_loss_by_flow(sign: float) -> None:
    r = Random(2)
    for _ in range(TRIALS):
        p = {
            "c1": r.choice([0.0, 3.0]), "c2": r.choice([0.0, 40.0]), "cn": r.choice([0.0, 9.0]),
            "n": r.uniform(1.0, 3.0), "cap": r.choice([math.inf, 0.3]), "small": 1e-6,
        }  # fmt: skip
        check("loss", p, sign * 10.0 ** r.uniform(-4.0, 0.0), r.uniform(-1.0, 1.0))


@pytest.mark.parametrize("lift", [True, False])
def test_curve_by_points(lift: bool) -> None:
    r = Random(3)
    for _ in range(TRIALS):
        flows = [0.0]
        heads = [r.uniform(0.5, 5.0) if lift else 0.0]
        for _ in range(r.randint(1, 5)):
            flows.append(flows[-1] + r.uniform(0.01, 0.2))
            heads.append(heads[-1] - r.choice([0.0, r.uniform(0.0, 0.9)]))
        p = {
            "flows": flows, "heads": heads, "slopes": monotone_slopes(flows, heads),
            "speed": r.choice([1.0, 0.8, 1.2]) if lift else 1.0,
        }  # fmt: skip
        # Below zero and beyond the last point as well: the curve goes on straight.
        check("curve", p, r.uniform(-0.1, 1.3) * flows[-1], r.uniform(-1.0, 1.0))


def weir(r: Random) -> Params:
    form, geometry = r.choice([
        ("sharp", {"width": 1.2, "crest_height": 0.6}),
        ("contracted", {"width": 0.8, "crest_height": 0.4, "channel_width": 1.5}),
        ("V-notch", {"angle": math.radians(90.0)}),
        ("broad", {"width": 2.0}),
        ("coefficient", {"width": 1.0, "coefficient": 0.62}),
    ])  # fmt: skip
    found = weir_coefficients(form, **geometry)
    names = ("c0", "c1", "kh", "exponent", "modular_limit", "drown_exponent")
    return {"crest": r.uniform(-1.0, 2.0), **{name: getattr(found, name) for name in names}}


def test_weir_free_and_drowned() -> None:
    r = Random(4)
    drowned = 0
    for _ in range(TRIALS):
        p = weir(r)
        down = p["crest"] + r.uniform(-0.5, 0.4)
        found = check("weir", p, 10.0 ** r.uniform(-4.0, -0.3), down)
        drowned += down > p["crest"]
        assert found.head_up > max(p["crest"], down)
    assert TRIALS / 4 < drowned < TRIALS


def _turned(law: str, p: Params, r: Random) -> None:
    """Water that runs backward: levels chosen, the law's own flow, and the row must agree."""
    edge = p["crest"] if law == "weir" else p["invert"]
    down = edge + r.uniform(0.02, 0.6)
    up = down - 10.0 ** r.uniform(-3.0, 0.0)
    # The flow law is linear in the flow: its residual at no flow is the flow.
    flow = residual(law, p, 0.0, up, down)
    assert flow < 0.0
    found = again(law, p, flow, down, up)
    assert found.head_up == pytest.approx(up, abs=1e-6)
    assert found.fall + found.local == pytest.approx(found.head_up - down, abs=1e-9)


def test_weir_that_runs_backward() -> None:
    r = Random(5)
    for _ in range(TRIALS):
        _turned("weir", weir(r), r)


def opening(r: Random) -> Params:
    invert = r.uniform(-1.0, 1.0)
    return {
        "invert": invert, "soffit": invert + r.uniform(0.05, 0.6), "width": r.uniform(0.1, 2.0),
        "cd": 0.62,
    }  # fmt: skip


def test_opening_free_split_and_drowned() -> None:
    r = Random(6)
    for _ in range(TRIALS):
        p = opening(r)
        check("opening", p, 10.0 ** r.uniform(-4.0, 0.0), p["invert"] + r.uniform(-0.5, 1.0))


def test_opening_that_runs_backward() -> None:
    r = Random(7)
    for _ in range(TRIALS):
        _turned("opening", opening(r), r)


@pytest.mark.parametrize("law", ["weir", "opening"])
def test_dry_sill_says_nothing_of_its_levels(law: str) -> None:
    r = Random(8)
    for flow in (0.0, 1e-17, -1e-17):
        p = weir(r) if law == "weir" else opening(r)
        edge = p["crest"] if law == "weir" else p["invert"]
        assert again(law, p, flow, edge - 0.4, edge - 0.1).head_up == edge - 0.1


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_strainer(sign: float) -> None:
    r = Random(9)
    for _ in range(TRIALS):
        p = {
            "k": r.uniform(0.1, 20.0), "width": r.uniform(0.5, 3.0), "floor": r.uniform(-1.0, 1.0),
            "height": r.choice([math.inf, 0.3]),
        }  # fmt: skip
        flow = r.uniform(0.01, 0.3) * p["width"]
        low = p["floor"] + r.uniform(0.4, 1.5)
        above = again("strainer", p, flow, low).head_up
        if sign > 0.0:
            check("strainer", p, flow, low)
        else:
            # The mirror image: what was above stands below, and the row must find its level.
            assert abs(residual("strainer", p, -flow, low, above)) <= 1e-9
            assert again("strainer", p, -flow, above, low).head_up == pytest.approx(low, abs=1e-9)


def channel(r: Random) -> Params:
    floor = r.uniform(-0.5, 0.5)
    length = r.uniform(2.0, 40.0)
    round_ = r.random() < 0.2
    return {
        "width": 0.0 if round_ else r.uniform(0.3, 2.0),
        "side_slope": 0.0 if round_ else r.choice([0.0, 0.0, 1.0]),
        "diameter": r.uniform(0.6, 1.2) if round_ else 0.0,
        "length": length, "floor_up": floor + r.choice([0.0, 0.001, 0.02]) * length,
        "floor_down": floor, "chezy": r.choice([0.0, 60.0]), "manning": 0.013, "k": 0.0,
        "entrance_k": r.choice([0.0, 0.5]), "from_basin": 1.0, "to_basin": r.choice([0.0, 1.0]),
        "free_end": 0.0,
        "thrust_up": 0.0,
        "thrust_down": 0.0,
    }  # fmt: skip


@pytest.mark.parametrize("free", [0.0, 1.0])
def test_channel(free: float) -> None:
    r = Random(10)
    for _ in range(40):
        p = channel(r) | {"free_end": free}
        wide = p["width"] or p["diameter"]
        down = p["floor_down"] + r.uniform(0.05, 0.5)
        check("channel", p, r.uniform(0.02, 0.2) * wide, down)


def test_channel_that_runs_backward() -> None:
    r = Random(11)
    for _ in range(30):
        p = channel(r) | {"floor_up": 0.0, "floor_down": r.choice([0.0, 0.05]), "to_basin": 0.0}
        flow = r.uniform(0.02, 0.1) * (p["width"] or p["diameter"])
        up = r.uniform(0.3, 0.5)
        mirror = p | {"floor_up": p["floor_down"], "floor_down": p["floor_up"]}
        down = again("channel", mirror, flow, up).head_up
        found = again("channel", p, -flow, down, up)
        assert found.head_up == pytest.approx(up, abs=1e-9)
        assert abs(residual("channel", p, -flow, up, down)) <= 5e-4
        assert found.velocity is not None and found.velocity < 0.0


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_header_past_a_tee(sign: float) -> None:
    r = Random(31)
    for _ in range(TRIALS):
        p = pipe(r)
        flow = sign * r.uniform(0.2, 2.0) * p["diameter"] ** 2
        p |= {"main": sign * flow * r.uniform(0.0, 1.5)}
        p["parting"], p["meeting"] = r.choice([(0.4, 0.0), (0.0, 1.0)])
        check("header", p, flow, r.uniform(-2.0, 2.0))


def test_branch_of_a_header() -> None:
    r = Random(32)
    for _ in range(TRIALS):
        bore = r.uniform(0.1, 0.6)
        p = {
            "bore": bore, "side": r.choice([1.0, 0.0, -1.0]), "c2": 10.0 ** r.uniform(1.0, 4.0),
            "small": 1e-5, "main": r.uniform(-2.0, 2.0) * bore**2,
        }  # fmt: skip
        found = check("tee", p, r.uniform(-1.0, 1.0) * 0.3 * bore**2, r.uniform(-2.0, 2.0))
        assert (found.velocity_up is None) == (p["side"] <= 0.0)
