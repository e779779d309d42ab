"""Least efficiency of clean-water pumps by EU law, against US law on the same surface."""

from __future__ import annotations

import math

import pytest

from loopplan.physics.minimum_efficiency import MINIMUM_EFFICIENCY_C, minimum_efficiency

COUPLED = "end suction, close coupled"
GALLON = 3.785411784e-3
FOOT = 0.3048


def us_rule(speed: float, flow: float, head: float, c: float) -> float:
    """Return the efficiency [%] of 10 CFR 431.465, whose constants were read."""
    q = flow / GALLON * 60.0
    y, x = math.log(q), math.log(speed * math.sqrt(q) / (head / FOOT) ** 0.75)
    return -0.85 * y * y - 0.38 * x * y - 11.48 * x * x + 17.80 * y + 179.80 * x - (c + 555.6)


# Worked by hand from the formula (from memory); flow [m3/h], head [m]; US value from constants
# that were read, C 128.47 of the close-coupled design.
@pytest.mark.parametrize(
    ("flow", "head", "at_040", "at_010", "us"),
    [
        (200, 32.0, 78.93, 74.65, 78.18),
        (100, 20.0, 76.36, 72.08, 75.39),
        (50, 10.0, 74.76, 70.48, 73.58),
        (100, 5.0, 76.87, 72.59, 75.99),
    ],
)
def test_by_hand_and_against_the_us_rule(flow, head, at_040, at_010, us) -> None:
    q = flow / 3600.0
    found = 100.0 * minimum_efficiency(COUPLED, 1450, q, head)
    assert found == pytest.approx(at_040, abs=6e-3)
    assert 100.0 * minimum_efficiency(COUPLED, 1450, q, head, 0.10) == pytest.approx(
        at_010, abs=6e-3
    )
    rule = us_rule(1450, q, head, 128.47)
    assert rule == pytest.approx(us, abs=0.02)
    assert found == pytest.approx(rule, abs=1.5)


def test_constants_are_near_those_of_the_us_rule() -> None:
    # 10 CFR 431.465, read: close coupled 128.47/130.42, own bearing 128.85/130.99.
    for design, fast_and_slow in (
        (COUPLED, (128.47, 130.42)),
        ("end suction, own bearing", (128.85, 130.99)),
    ):
        for speed, other in zip((1450, 2900), fast_and_slow, strict=True):
            assert MINIMUM_EFFICIENCY_C[design][speed][1] == pytest.approx(other, abs=0.8)


def test_higher_index_asks_for_more() -> None:
    for design, speeds in MINIMUM_EFFICIENCY_C.items():
        for speed in speeds:
            low, high = (minimum_efficiency(design, speed, 0.02, 30.0, i) for i in (0.10, 0.40))
            assert low < high < 0.9


@pytest.mark.parametrize(
    ("call", "says"),
    [
        # The duty of a low lift: a mixed-flow pump.
        (lambda: minimum_efficiency(COUPLED, 1450, 0.125, 6.0), "specific speed is 133.7"),
        (lambda: minimum_efficiency(COUPLED, 1450, 0.002, 80.0), "specific speed is 2.4"),
        (lambda: minimum_efficiency(COUPLED, 1450, 5.0 / 3600.0, 10.0), "flow is 5.00 m3/h"),
        (lambda: minimum_efficiency(COUPLED, 1450, 0.05, 95.0), "head is 95 m"),
        (lambda: minimum_efficiency(COUPLED, 1450, 0.25, 80.0), "shaft power"),
        (lambda: minimum_efficiency("propeller", 1450, 0.1, 5.0), "not covered"),
        (lambda: minimum_efficiency("vertical multistage", 1450, 0.01, 5.0), "nominal speed"),
        (lambda: minimum_efficiency(COUPLED, 1450, 0.05, 30.0, 0.7), "index is 0.7"),
    ],
)
def test_what_the_law_does_not_cover_is_refused(call, says) -> None:
    with pytest.raises(ValueError, match=says) as refusal:
        call()
    assert "allowed: " in str(refusal.value)
