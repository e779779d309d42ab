"""Findings of the air supply: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS, Finding, Severity
from tests.air_loop import LOOP, supply
from tests.test_findings_fire import Pair

RATED = "rated pressure: 45 kPa"
AIR = "air: 1200 m3/h"
STANDBY = "standby: 1"
MAIN = "main pipe: {diameter: 200 mm, length: 30 m, rise: 0.4 m}"
WASH = "air: 150 m3/h"
RELIEF = "      relief valve: yes\n"
CHECK = "      check valve: yes\n"
LOSS = "diffuser loss: 2 kPa"

PAIRS = [
    Pair("blower-pressure-short", "header", RATED, RATED.replace("45", "27.5"),
         RATED.replace("45", "27.9")),
    Pair("blower-start-short", "header", RATED, RATED.replace("45", "30.0"),
         RATED.replace("45", "30.4")),
    Pair("blower-air-short", "header", AIR, "air: 900 m3/h", "air: 970 m3/h"),
    Pair("blower-depth-varies", "header", LOSS, "diffuser loss: 14 kPa", "diffuser loss: 10 kPa"),
    Pair("blower-speed-low", "header", AIR, "air: 3000 m3/h", "air: 2600 m3/h"),
    Pair("blower-motor-small", "header", STANDBY, STANDBY + "\n      motor: {power: 11 kW}",
         STANDBY + "\n      motor: {power: 15 kW}"),
    Pair("blower-no-standby", "header", STANDBY, "standby: 0", "standby: 2"),
    Pair("air-pipe-hot", "header, main pipe", MAIN,
         MAIN.replace("}", ", material: PP, rated temperature: 72 degC}"),
         MAIN.replace("}", ", material: PP, rated temperature: 74 degC}")),
    Pair("air-velocity-high", "header, main pipe", MAIN, MAIN.replace("200", "135"),
         MAIN.replace("200", "145")),
    Pair("air-pipe-not-above-water", "header", MAIN, MAIN.replace("0.4", "0.19"),
         MAIN.replace("0.4", "0.21")),
    Pair("air-user-short", "head box", "level: -1.0 m", "level: -1.5 m", "level: -1.35 m"),
    Pair("air-wash-starves-airlift", "airlift", WASH, "air: 230 m3/h", "air: 160 m3/h"),
    # 989.6 m3/h go round in the clean state.
    Pair("air-moves-too-little", "airlift", "    device: airlift\n",
         "    device: airlift\n    flow: 1020 m3/h\n", "    device: airlift\n    flow: 990 m3/h\n"),
    Pair("relief-valve-due", "header", RELIEF, "", RELIEF),
    Pair("check-valve-due", "header", CHECK, "", CHECK),
]  # fmt: skip

NO_WASH = LOOP[LOOP.index("      wash:\n") :]
LEAN = (("  fouled: {change: {way back: {loss: 360 mm}}}\n", ""), (NO_WASH, ""))
"""One duty state and two users: enough for what needs no more."""

BASE = {
    "blower-depth-varies": (("class: rotary lobe", "class: turbo"),),
    "air-user-short": (),
    "air-wash-starves-airlift": (),
}
"""What else is changed of the loop for a pair."""


def findings(*changes: tuple[str, str]) -> tuple[Finding, ...]:
    return supply(*changes).findings


def test_nothing_is_said_of_a_calm_header() -> None:
    assert [f.message for f in findings()] == []


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p.code)
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    base = BASE.get(pair.code, LEAN)
    assert pair.code not in {f.code for f in findings(*base, (pair.old, pair.quiet))}
    (found,) = [f for f in findings(*base, (pair.old, pair.fires)) if f.code == pair.code]
    assert found.place == pair.place
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.cure and found.source and found.message
    assert found.value is None or found.value != found.limit


def one(code: str, *changes: tuple[str, str]) -> Finding:
    (found,) = [f for f in findings(*changes) if f.code == code]
    return found


def test_plastic_without_a_rating_is_named_whatever_the_temperature() -> None:
    # 73 degC is too warm for any plastic; stainless steel needs no rating.
    found = one("air-pipe-hot", *LEAN, (MAIN, MAIN.replace("}", ", material: PVC-U}")))
    assert found.severity is Severity.SEVERE
    assert "no rating" in found.message
    steel = findings(*LEAN, (MAIN, MAIN.replace("}", ", material: stainless steel}")))
    assert "air-pipe-hot" not in {f.code for f in steel}
    cool = (
        *LEAN,
        ("inlet temperature: 25 degC", "inlet temperature: -25 degC"),
        (MAIN, MAIN.replace("}", ", material: PP}")),
    )
    assert one("air-pipe-hot", *cool).severity is Severity.WARNING


def test_displacement_blowers_do_not_mind_the_depth() -> None:
    assert "blower-depth-varies" not in {f.code for f in findings((LOSS, "diffuser loss: 14 kPa"))}
    side = findings(("class: rotary lobe", "class: side channel"), (LOSS, "diffuser loss: 14 kPa"))
    assert "blower-depth-varies" in {f.code for f in side}


def test_only_displacement_blowers_need_a_relief_valve() -> None:
    turbo = findings(("class: rotary lobe", "class: turbo"), (RELIEF, ""), (CHECK, ""), *LEAN)
    codes = {f.code for f in turbo}
    assert "relief-valve-due" not in codes
    assert "check-valve-due" in codes


def test_no_valve_at_all_is_worse_than_none_stated() -> None:
    assert (
        one("check-valve-due", *LEAN, (CHECK, "      check valve: no\n")).severity
        is Severity.WARNING
    )


def test_a_rise_that_is_not_stated_is_a_note() -> None:
    found = one("air-pipe-not-above-water", *LEAN, (", rise: 0.4 m", ""))
    assert found.severity is Severity.NOTE


def test_a_header_without_an_airlift_may_fail_more_gently() -> None:
    changes = (
        ("      wash:\n        air: 150 m3/h", "  shallow:\n    blower: {air: 300 m3/h, standby: "
         "0, rated pressure: 30 kPa}\n    users:\n      wash:\n        air: 150 m3/h"),
        ("        takes air: at times\n", ""),
    )  # fmt: skip
    assert one("blower-no-standby", *changes).severity is Severity.WARNING


def test_pressure_beyond_the_class_is_said() -> None:
    shallow = ("class: rotary lobe", "class: rotary screw")
    found = one("outside-range", *LEAN, shallow)
    assert found.place == "header"
    assert found.value is not None and found.value < 30e3


def test_stalled_by_a_wash_is_severe() -> None:
    found = one("air-wash-starves-airlift", (WASH, "air: 800 m3/h"), (AIR, "air: 1250 m3/h"))
    assert found.severity is Severity.SEVERE
    assert found.value == 0.0


def test_a_user_that_gets_no_air_is_severe() -> None:
    found = one("air-user-short", ("level: -1.0 m", "level: -1.9 m"), (WASH, "air: 500 m3/h"))
    assert (found.place, found.severity) == ("head box", Severity.SEVERE)
    assert "no air" in found.message
