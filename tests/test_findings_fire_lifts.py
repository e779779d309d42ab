"""Findings about the devices at a lift: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS
from tests.lift_loop import CURVE, PUMP, SHAFT, study
from tests.test_findings_fire import Pair, at


def drawn(words: str) -> str:
    halves = "" if "half" in words else f"{SHAFT.partition(', ')[2]}, "
    shaft = f"kind: channel shaft, {halves}{words}"
    return PUMP.replace("}", f", device: airlift, airlift: {{{shaft}}}}}")


def pump(words: str) -> str:
    return PUMP.replace("}", f", device: propeller pump, propeller pump: {{{words}}}}}")


STRONG = CURVE.replace("0.5 m", "0.8 m").replace("0.7 m", "0.85 m")
JUST = CURVE.replace("0.5 m", "0.302 m").replace("0.3 m", "0.2 m")

PAIRS = [
    # About 580 m3/h of air are needed.
    Pair("device-cannot-serve", "pump", PUMP, drawn("air: 500 m3/h"), drawn("air: 700 m3/h")),
    Pair("airlift-stalls-near", "pump", PUMP, drawn("air: 390 m3/h"), drawn("air: 460 m3/h")),
    Pair("airlift-bulks-over", "pump", PUMP, drawn("dry reserve: 0.3 m, depth: 3.3 m"),
         drawn("dry reserve: 0.5 m, depth: 3.5 m")),
    # Bubbles balance at 0.40 of 2.5 m: at most 1.097 of the air's pressure.
    Pair("gas-pressure-high", "pump", PUMP, drawn("oxygen: 10 mg/L, gas limit: 100.1 %"),
         drawn("oxygen: 10 mg/L, gas limit: 109.8 %")),
    # 1,000 m3/h over 1.11 m2 are 0.25 m/s.
    Pair("bubbles-carried-under", "pump", PUMP, drawn("inlet half: 1.09 m2, outlet half: 2 m2"),
         drawn("inlet half: 1.13 m2, outlet half: 2 m2")),
    Pair("diffusers-below-partition", "pump", PUMP, drawn("diffuser height: 0.49 m"),
         drawn("diffuser height: 0.5 m")),
    # Wide columns were measured up to 0.4 m/s of gas.
    Pair("airlift-beyond-data", "pump", PUMP, drawn("inlet half: 2 m2, outlet half: 0.3 m2"),
         drawn("inlet half: 2 m2, outlet half: 0.6 m2")),
    # 3.0 m of water stand in it.
    Pair("shaft-level-differs", "pump", PUMP, drawn("dry reserve: 0.39 m"),
         drawn("dry reserve: 0.41 m")),
    Pair("pump-throttled", "pump", PUMP, pump(f"curve: {STRONG}"), pump(f"curve: {JUST}")),
    Pair("pump-throttled", "pump", PUMP, pump(f"curve: {STRONG}"),
         pump(f"curve: {STRONG}, motor: {{drive: frequency converter}}")),
    Pair("pump-shut-off-power", "pump", PUMP, pump("motor: {power: 3 kW}"),
         pump("motor: {power: 5.5 kW}")),
    # ANSI/HI 9.8: 0.6 to 2.7 m/s up to 1,134 m3/h.
    Pair("bell-velocity", "pump", PUMP, pump("bell: 360 mm"), pump("bell: 364 mm")),
]  # fmt: skip


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p.code)
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert at(list(study((pair.old, pair.quiet)).findings), pair) == []
    (found,) = at(list(study((pair.old, pair.fires)).findings), pair)
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.state == "clean"
    assert found.cure and found.source and found.message
    assert found.value is None or found.value != found.limit


def test_a_device_that_nobody_asked_for_or_recommends_is_not_judged() -> None:
    # The airlift would stall near; the propeller pump is recommended, and none is asked for.
    shaft = drawn("air: 390 m3/h").replace("device: airlift, ", "")
    assert "airlift-stalls-near" not in {f.code for f in study((PUMP, shaft)).findings}


def test_in_several_states_it_is_told_where_it_is_worst() -> None:
    states = ("{clean: {}}", "{clean: {}, peak: {flow: 110 %}, low: {flow: 60 %}}")
    calm = "inlet half: 1.05 m2, outlet half: 2 m2"
    (found,) = [f for f in study((PUMP, drawn(calm)), states).findings
                if f.code == "bubbles-carried-under"]  # fmt: skip
    assert found.state == "peak" and found.also == ("clean",)
