"""Findings that look at several elements at once: what fires, and what does not."""

from __future__ import annotations

import re

import pytest

from loopplan.findings import FINDING_KINDS, Finding, Severity
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from tests.test_findings_fire import Pair
from tests.test_share_cures import text

LINK = """}
  link: {kind: pipe, length: 5 m, diameter: 200 mm}
  pond: {kind: open water, level: %s m}
  # a"""
SEASONS = "duty states: {usual: {}, winter: {flow: 60 %}}"

SHARES = [
    # 1.232 m is where the spread comes to 10 %, as tests/test_share_cures.py finds it.
    Pair("shares-uneven", "feeder", "width: 0.8 m, floor", "width: 1.22 m, floor",
         "width: 1.24 m, floor"),
]  # fmt: skip
STANDING = [
    # The channel goes on behind its last branch, or ends at it.
    Pair("dead-leg", "feeder", "length: 20 m, width", "length: 21 m, width", "length: 20 m, width"),
    # A pipe to a pond that stands as high as the sump, or a centimetre lower.
    Pair("dead-leg", "link", "flow: 1152.0 m3/h", "flow: 1152.0 m3/h" + LINK % "0.80",
         "flow: 1152.0 m3/h" + LINK % "0.79"),
]  # fmt: skip
DOWNHILL = [
    Pair("lift-runs-downhill", "pump", "level: 1.10 m", "level: 0.99 m", "level: 1.01 m"),
]  # fmt: skip
PAIRS = [*SHARES, *STANDING, *DOWNHILL]

FROM_RIVER = """
loopplan: 1
farm: {name: from a river}
water: {temperature: 12 degC}
elements:
  river: {kind: open water, level: 1.00 m}
  pump: {kind: lift, flow: 100 m3/h}
  mere: {kind: open water, level: 1.10 m}
flow paths:
  way: [river, pump, mere]
duty states: {clean: {}}
"""


def findings(base: str, old: str, new: str) -> list[Finding]:
    assert base.count(old) == 1
    written = base.replace(old, new)
    if "pond:" in written:
        written = written.replace("flow paths:", "flow paths:\n  side: [sump, link, pond]")
    return list(budget(read(written.encode(), "loop.yaml")).findings)


@pytest.mark.parametrize("pair", SHARES, ids=lambda p: f"{p.code} at {p.place}")
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert pair.code not in {f.code for f in findings(text(), pair.old, pair.quiet)}
    (found,) = [f for f in findings(text(), pair.old, pair.fires) if f.code == pair.code]
    assert (found.place, found.state) == (pair.place, "clean")
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.value is not None and found.limit is not None and found.value > found.limit


@pytest.mark.parametrize("pair", STANDING, ids=lambda p: f"{p.code} at {p.place}")
def test_fires_where_water_or_flow_stands_and_not_else(pair: Pair) -> None:
    base = text().replace("duty states: {clean: {}}", SEASONS)
    assert pair.code not in {f.code for f in findings(base, pair.old, pair.quiet)}
    (found,) = [f for f in findings(base, pair.old, pair.fires) if f.code == pair.code]
    assert found.place == pair.place
    assert found.state == ("" if pair.code == "dead-leg" else "winter")
    assert found.severity is FINDING_KINDS[pair.code].severity


@pytest.mark.parametrize("pair", DOWNHILL, ids=lambda p: p.code)
def test_fires_where_water_runs_by_itself(pair: Pair) -> None:
    assert pair.code not in {f.code for f in findings(FROM_RIVER, pair.old, pair.quiet)}
    (found,) = [f for f in findings(FROM_RIVER, pair.old, pair.fires) if f.code == pair.code]
    assert (found.place, found.state) == (pair.place, "clean")
    assert found.value == pytest.approx(-0.01)


def test_a_dead_leg_in_salt_water_is_severe() -> None:
    salt = text().replace("temperature: 12 degC", "temperature: 12 degC, salinity: 30 g/kg")
    found = findings(salt, "length: 20 m, width", "length: 21 m, width")
    (leg,) = [f for f in found if f.code == "dead-leg"]
    assert leg.severity is Severity.SEVERE
    assert "hydrogen sulphide" in leg.message


def test_an_airlift_is_a_warning_up_to_its_most_and_severe_beyond() -> None:
    def airlift(limits: str) -> Finding:
        found = findings(
            text(more=f"limits: {{airlift ideal: 0.1 m, {limits}}}"),
            "flow: 1152.0 m3/h",
            "flow: 1152.0 m3/h, device: airlift",
        )
        return next(f for f in found if f.code == "airlift-lift-limit")

    # The lift of this farm is about half a metre.
    assert airlift("airlift workable: 0.3 m, airlift most: 0.9 m").severity is Severity.WARNING
    assert airlift("airlift workable: 0.3 m, airlift most: 0.4 m").severity is Severity.SEVERE


def test_two_falls_of_one_tank_are_told_together() -> None:
    found = findings(text(), "duty", "duty")
    (fall,) = [f for f in found if f.place == "tank 1" and f.code == "head-wasted"]
    told = [
        float(drop)
        for drop in re.findall(r"(\d\.\d{3}) m of the drop below the (?:in|out)let", fall.message)
    ]
    # Below the inlet's sill at 1.2 m stands the tank, below the outlet's at 1 m the sump at 0.8 m.
    assert max(told) == pytest.approx(0.2, abs=1e-3)
    assert 0.05 < min(told) < 0.2
    assert fall.value == pytest.approx(sum(told), abs=1.1e-3)


@pytest.mark.parametrize(
    ("between", "word"),
    [
        ("{kind: opening, invert: 0.5 m, height: 300 mm, width: 600 mm}", "opening"),
        ("{kind: weir, crest: 0.5 m, width: 2 m}", "sill"),
        (
            "{kind: channel, length: 8 m, width: 0.6 m, floor up: 0.5 m, floor down: 0.5 m}",
            "end of the channel",
        ),
    ],
)
def test_a_drop_that_serves_nothing_is_told_whatever_water_falls_from(
    between: str, word: str
) -> None:
    def falls(level: float) -> list[Finding]:
        written = f"""
loopplan: 1
farm: {{name: one fall}}
water: {{temperature: 12 degC}}
elements:
  head box: {{kind: box, area: 3 m2, floor: 0 m, wall top: 3 m}}
  way: {between}
  sump: {{kind: sump, area: 50 m2, floor: -1 m, wall top: 2 m}}
  pump: {{kind: lift, flow: 200 m3/h}}
flow paths: {{loop: [head box, way, sump, pump, head box]}}
levels: [{{way: outside level, at: sump, level: {level} m}}]
duty states: {{clean: {{}}}}
"""
        found = budget(read(written.encode(), "fall.yaml")).findings
        return [f for f in found if f.code == "head-wasted"]

    (fall,) = falls(0.38)
    assert fall.place == "way"
    assert fall.value == pytest.approx(0.12, abs=1e-6)
    assert f"0.120 m of the drop below the {word} serves nothing" in fall.message
    assert falls(0.46) == []
