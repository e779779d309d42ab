"""Pipes by size, crowns along the run, inlets near the surface, and the make-up's outlet."""

from __future__ import annotations

import math

import pytest

from loopplan.errors import BadFile
from loopplan.findings import Finding, Severity
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult

G = 9.80665

TEXT = """\
loopplan: 1
farm: {name: One drain}
water: {temperature: 12 degC}
elements:
  well: {kind: make-up, flow: 200 m3/h}
  box: {kind: box, area: 4 m2, floor: -1 m, wall top: 3 m}
  drain: {kind: pipe, length: 40 m, diameter: 250 mm, friction factor: 0.02}
  sea: {kind: open water, level: 0 m}
flow paths: {down: [well, box, drain, sea]}
duty states: {clean: {}}
"""
"""An invented outfall pipe."""

SPEED = 200.0 / 3600.0 / (math.pi / 4.0 * 0.25**2)
HEAD = SPEED**2 / (2.0 * G)
LOSS = (0.02 * 40.0 / 0.25 + 0.5 + 1.0) * HEAD


def solved(drain: str = "", well: str = "", bore: str = "diameter: 250 mm") -> BudgetResult:
    text = TEXT.replace("factor: 0.02", "factor: 0.02" + drain)
    text = text.replace("flow: 200 m3/h", "flow: 200 m3/h" + well)
    return budget(read(text.replace("diameter: 250 mm", bore), "drain.yaml"))


def said(result: BudgetResult, code: str) -> list[Finding]:
    return [f for f in result.findings if f.code == code]


@pytest.mark.parametrize(
    ("bore", "metres"),
    [
        ("size: PE 280 SDR 17", 0.280 - 2 * 0.0166),
        ("size: PVC-U 250 SDR 34.4", 0.250 - 2 * 0.0073),
        ("size: steel 273 x 5", 0.263),
        ("size: GRP 250", 0.250),
        ("outside diameter: 260 mm, wall: 5 mm", 0.250),
    ],
)
def test_bore_by_size(bore: str, metres: float) -> None:
    result = solved(bore=bore)
    row = next(r for r in result.states[0].rows if r.element == "drain")
    assert row.velocity == pytest.approx(200.0 / 3600.0 / (math.pi / 4.0 * metres**2), rel=1e-6)
    notes = " ".join(n for line in result.sheet if line.item == "drain" for n in line.notes)
    assert f"bore {1000 * metres:.1f} mm" in notes or "nominal bore" in notes
    told = [a for a in result.assumed if a[:2] == ("drain", "size")]
    assert bool(told) == bore.startswith("size")
    assert all("from memory" in a[3] for a in told)


@pytest.mark.parametrize(
    ("bore", "message"),
    [
        ("size: PE 281 SDR 17", "280 mm"),
        ("size: PE 280 SDR 17, diameter: 250 mm", "given twice"),
        ("size: PE 280 SDR 17, wall: 5 mm", "given twice"),
        ("outside diameter: 260 mm", "`wall` is missing"),
        ("wall: 5 mm", "`outside diameter` is missing"),
        ("outside diameter: 260 mm, wall: 130 mm", "leaves no bore"),
        ("k: 0.3", "bore of the pipe is missing"),
    ],
)
def test_the_bore_is_told_once(bore: str, message: str) -> None:
    with pytest.raises(BadFile, match=message):
        solved(bore=bore)


@pytest.mark.parametrize("share", [0.0, 0.25, 0.5, 1.0])
def test_crown_against_the_head_line_at_its_place(share: float) -> None:
    # Closed form: the level of the box less entrance, friction up to there and one velocity head.
    line = LOSS - (0.5 + share * 0.02 * 40.0 / 0.25 + 1.0) * HEAD
    place = f", crown at: {40.0 * share} m"
    assert not said(solved(f", crown: {line - 0.002} m{place}"), "pipe-not-full")
    (found,) = said(solved(f", crown: {line + 0.002} m{place}"), "pipe-not-full")
    assert found.value == pytest.approx(line, abs=1e-6)
    assert "0.002 m above" in found.message


def test_the_crown_is_taken_to_lie_halfway_and_that_is_told() -> None:
    result = solved(", crown: -0.5 m")
    assert ("drain", "crown at", "20 m", "assumed: the crown lies halfway") in result.assumed
    assert not said(result, "pipe-not-full")


def test_vacuum_at_the_crown() -> None:
    assert not said(solved(", crown: 6.8 m"), "siphon-vacuum")
    (found,) = said(solved(", crown: 7.3 m"), "siphon-vacuum")
    assert found.severity is Severity.SEVERE
    assert found.value is not None and found.value < -7.0


def test_a_crown_beyond_the_run_is_refused() -> None:
    with pytest.raises(BadFile, match="beyond the end"):
        solved(", crown: 0 m, crown at: 41 m")
    with pytest.raises(BadFile, match="level of the crown is missing"):
        solved(", crown at: 4 m")


def test_air_at_the_inlet() -> None:
    # ANSI/HI 9.8 (from memory): S = D (1 + 2.3 Fr), to the middle of the inlet.
    needed = 0.25 * (1.0 + 2.3 * SPEED / math.sqrt(G * 0.25))
    edge = LOSS - needed - 0.125
    assert not said(solved(f", inlet level: {edge - 0.002} m"), "air-at-inlet")
    (found,) = said(solved(f", inlet level: {edge + 0.002} m"), "air-at-inlet")
    assert found.severity is Severity.WARNING
    assert found.limit == pytest.approx(needed)
    # Bare once less than 1.5 velocity heads stand above the upper edge.
    bare = LOSS - 0.25 - 1.5 * HEAD
    (found,) = said(solved(f", inlet level: {bare - 0.002} m"), "air-at-inlet")
    assert found.severity is Severity.WARNING
    (found,) = said(solved(f", inlet level: {bare + 0.002} m"), "air-at-inlet")
    assert found.severity is Severity.SEVERE


@pytest.mark.parametrize(("bore", "gap"), [(50, 0.100), (8, 0.020)])
def test_air_gap_of_the_make_up(bore: int, gap: float) -> None:
    # EN 1717 type AA (from memory): twice the bore, at least 20 mm.
    for extra, fires in ((-0.001, True), (0.001, False)):
        level = LOSS + gap + extra
        well = f", outlet diameter: {bore} mm, outlet level: {level} m"
        assert bool(said(solved(well=well), "air-gap-short")) is fires


def test_air_gap_needs_level_and_bore() -> None:
    for well in (", outlet level: 1 m", ", outlet diameter: 50 mm"):
        with pytest.raises(BadFile, match="is missing: the air gap"):
            solved(well=well)


def test_a_float_that_would_shut() -> None:
    assert said(solved(well=f", float level: {LOSS - 0.001} m"), "float-shut")
    assert not said(solved(well=f", float level: {LOSS + 0.001} m"), "float-shut")
