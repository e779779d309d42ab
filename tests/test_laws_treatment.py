"""Laws of plates and drums: signs, slopes by central differences, and their scalar twins."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray

from loopplan.laws import LAWS
from loopplan.studies.recheck import again

STEPS = (1e-6, 1e-7)


def plate(r: Random) -> tuple[dict[str, float], float, float, float]:
    p = {"plate": r.uniform(-2.0, 5.0), "c2": 10.0 ** r.uniform(-1.0, 3.0)}
    flow = r.choice((1.0, 1.0, -1.0)) * (0.5 / p["c2"]) ** 0.5 * r.uniform(0.1, 1.5)
    down = p["plate"] + r.choice((-1.0, 1.0)) * r.uniform(0.01, 1.0)
    return p, flow, down + r.uniform(0.0, 2.0), down


def drum(r: Random) -> tuple[dict[str, float], float, float, float]:
    flow, loss = r.uniform(0.01, 0.3), r.uniform(0.02, 0.1)
    n = r.uniform(1.0, 2.0)
    p = {"cn": loss / flow**n, "n": n, "trigger": r.choice((0.0, 2.0 * loss)), "small": 0.02 * flow}
    # Below what builds the trigger up, at the trigger, and where the clean loss is more.
    return p, flow * r.choice((0.01, 1.0, 3.0, -1.0)), r.uniform(0.0, 2.0), r.uniform(0.0, 2.0)


def residual(law: str, p: dict[str, float], *point: float) -> list[float]:
    arrays = {name: np.full((1, 1), value) for name, value in p.items()}
    at: list[NDArray[np.float64]] = [np.full((1, 1), x) for x in point]
    return [float(x[0, 0]) for x in LAWS[law].residual(arrays, *at)]


CASES = [(name, seed) for name in ("plate", "drum") for seed in range(40)]


@pytest.mark.parametrize(("law", "seed"), CASES)
def test_signs_and_slopes(law: str, seed: int) -> None:
    p, *point = {"plate": plate, "drum": drum}[law](Random(seed))
    _, *slopes = residual(law, p, *point)
    assert slopes[0] < 0.0 <= slopes[1]
    assert slopes[2] <= 0.0
    held = law == "drum" and abs(point[0]) >= p["small"] > 0.0 < p["trigger"]
    for i in range(3):
        for step in STEPS:
            up, down = list(point), list(point)
            up[i] += step
            down[i] -= step
            slope = (residual(law, p, *up)[0] - residual(law, p, *down)[0]) / (2.0 * step)
            if i == 0 and held and slope == pytest.approx(0.0, abs=1e-7):
                # Washing holds the differential: the Jacobian keeps a trace of slope there.
                assert slopes[0] > -0.1 * p["trigger"] / abs(point[0])
                continue
            if i == 0 and law == "drum" and p["trigger"] == 0.0 and abs(point[0]) < p["small"]:
                # A clean screen keeps the slope of `small` below it.
                assert slopes[0] <= slope
                continue
            assert slopes[i] == pytest.approx(slope, rel=1e-4, abs=1e-6)


@pytest.mark.parametrize(("law", "seed"), CASES)
def test_the_scalar_twin_finds_the_same_head(law: str, seed: int) -> None:
    p, flow, up, down = {"plate": plate, "drum": drum}[law](Random(seed))
    due = again(law, p, flow, down, up).head_up
    assert residual(law, p, flow, due, down)[0] == pytest.approx(0.0, abs=1e-9)
