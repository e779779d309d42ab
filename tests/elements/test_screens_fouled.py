"""Fouling of racks, screens and openings takes free area: what that means for their loss."""

from __future__ import annotations

import math

import pytest

from loopplan.errors import BadFile
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget

G = 9.80665

TEXT = """\
loopplan: 1
farm: {name: A screen}
water: {temperature: 12 degC}
elements:
  well: {kind: make-up, flow: 300 m3/h}
  pond: {kind: box, area: 4 m2, floor: 0 m, wall top: 3 m}
  sieve: {SIEVE}
  sea: {kind: open water, level: 1.0 m}
flow paths: {down: [well, pond, sieve, sea]}
duty states: {clean: {}, fouled: {condition: fouled}}
"""
"""An invented screen between two waters."""

KINDS = {
    "screen": "kind: screen, width: 0.6 m, floor: 0 m, free area: 45 %",
    "bar rack": "kind: bar rack, width: 0.6 m, floor: 0 m, bar thickness: 6 mm, bar spacing: 12 mm",
    "opening": "kind: opening, width: 0.4 m, invert: 0.2 m, height: 0.4 m",
}


def losses(sieve: str) -> tuple[float, float]:
    result = budget(read(TEXT.replace("SIEVE", sieve), "screen.yaml"))
    clean, fouled = (
        next(r.loss for r in state.rows if r.element == "sieve") for state in result.states
    )
    return clean, fouled


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_loss_grows_with_every_share_that_is_closed(kind: str) -> None:
    told = [
        losses(f"{KINDS[kind]}, blinded fouled: {share} %") for share in (0, 10, 30, 50, 70, 90)
    ]
    fouled = [f for _, f in told]
    assert fouled == sorted(fouled)
    assert len({round(f, 9) for f in fouled}) == 6
    assert fouled[0] == pytest.approx(told[0][0])
    # Closed form: by the square of one over what is left, or more; a jet spreads behind it.
    assert fouled[4] > told[0][0] / 0.3**2 * 0.75


def test_a_drowned_opening_half_closed_loses_four_times_as_much() -> None:
    clean, fouled = losses(KINDS["opening"] + ", blinded fouled: 50 %")
    speed = 300.0 / 3600.0 / (0.62 * 0.4 * 0.4)
    assert clean == pytest.approx(speed**2 / (2.0 * G), rel=1e-6)
    assert fouled == pytest.approx(4.0 * clean, rel=1e-6)


def test_a_blinded_screen_is_a_plate_with_less_free_area() -> None:
    # Idelchik, diagram 8-1 (from memory), on the free area that is left.
    left = 0.45 * (1.0 - 0.40)
    k = ((0.707 * math.sqrt(1.0 - left) + 1.0 - left) / left) ** 2
    _, fouled = losses(KINDS["screen"])
    speed = 300.0 / 3600.0 / (0.6 * (1.0 + fouled))
    assert fouled == pytest.approx(k * speed**2 / (2.0 * G), rel=1e-6)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_fouled_is_never_cleaner_than_clean(kind: str) -> None:
    with pytest.raises(BadFile, match="less is closed when fouled"):
        losses(f"{KINDS[kind]}, blinded: 60 %")
