"""The swing of the sump: what the rest of the loop takes up is what the sump gives.

Expected values are closed form, or volumes of loops solved on their own; the farms are invented.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from loopplan.loop.solution import Solved, solve_scenario
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget_of
from loopplan.studies.poweroff_network import network
from loopplan.studies.swing import sump_swings
from tests.duty_loop import LOOP, level, solved

FOLDER = Path(__file__).resolve().parent.parent / "scenarios"
STATES = "  peak: {flow: 150 %}\n  low: {flow: 50 %}\n"
AREAS = {"tank": math.pi / 4.0 * 36.0, "head": 3.0, "bed 1": 4.0, "bed 2": 4.0, "bed 3": 4.0}


def test_free_sills_above_hand_on_nothing_of_the_sump() -> None:
    found = solved(states=STATES)
    (swing,) = sump_swings(found)
    usual = level(found, "sump", 0)
    for k, sump in enumerate(swing.levels):
        # Closed form: all that stands above free sills follows from flow alone.
        more = math.fsum(a * (level(found, n, k) - level(found, n, 0)) for n, a in AREAS.items())
        assert sump.level == pytest.approx(usual - more / 15.0, abs=1e-6)
        assert sump.given == pytest.approx(more, abs=1e-5)
    assert (swing.low.state, swing.high.state) == ("peak", "low")
    assert swing.swing == pytest.approx(swing.high.level - swing.low.level)


def given(at: float, state: str) -> Solved:
    """The loop in one state with the level of the sump given, and no overflow."""
    text = LOOP.replace("  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}\n", "")
    text = text.replace("  surplus: [sump, spillway]\n", "").replace("  clean: {}\n", state)
    levels = f"levels: [{{way: outside level, at: sump, level: {at!r} m}}]\nduty states:\n"
    return solve_scenario(read(text.replace("duty states:\n", levels), "given.yaml"))


def stored(found: Solved) -> float:
    return math.fsum(row.volume for row in budget_of(found).states[0].levels)


@pytest.mark.parametrize(("state", "text"), [("peak", "{flow: 150 %}"), ("low", "{flow: 50 %}")])
def test_drowned_sills_move_with_the_sump_and_no_water_is_lost(state: str, text: str) -> None:
    # The sump stands above the sills of the beds: they, and the head box, move with it.
    clean = given(1.05, "  clean: {}\n")
    both = given(1.05, f"  clean: {{}}\n  {state}: {text}\n")
    (swing,) = sump_swings(both)
    found = next(s for s in swing.levels if s.state == state)
    alone = given(found.level, f"  {state}: {text}\n")
    assert stored(alone) == pytest.approx(stored(clean), abs=2e-3)
    # Far less than if the sump alone took it up.
    more = math.fsum(a * (level(both, n, 1) - level(both, n, 0)) for n, a in AREAS.items())
    assert abs(found.level - 1.05) < 0.9 * abs(more) / 15.0


@pytest.mark.parametrize("state", ["low flow", "peak flow", "fouled"])
def test_channels_count(state: str) -> None:
    text = (FOLDER / "trout-channel.yaml").read_text(encoding="utf-8")
    base = solve_scenario(read(text, "trout.yaml"))
    (swing,) = sump_swings(base)
    assert swing.element == "shaft inlet" and not swing.unsolved
    at = next(s.level for s in swing.levels if s.state == state)
    over = "  shaft overflow:\n    kind: overflow\n    form: V-notch\n    angle: 90 deg\n"
    text = text.replace(over + "    crest: 0.88 m\n", "")
    text = text.replace("  surplus: [shaft inlet, shaft overflow]\n", "")
    text += f"\nlevels: [{{way: outside level, at: shaft inlet, level: {at!r} m}}]\n"
    moved = solve_scenario(read(text, "moved.yaml"))

    def volume(found: Solved, name: str) -> float:
        # By the network of the stop of every lift, which works each channel again for itself.
        places = network(found, found.compiled.names.index(name)).places
        return math.fsum(p.store.volume(p.level) for p in places)

    # Of 600 m3. The channels' ends are worked out in two ways: a millimetre of sixty square
    # metres is what they may differ by.
    assert volume(moved, state) == pytest.approx(volume(base, "clean"), abs=0.12)


def test_units_that_stand_still_keep_their_water() -> None:
    # Two of four pumps' tanks: the one that goes out stands as full as it ran.
    two = ("diameter: 6 m", "diameter: 6 m\n    count: 2")
    found = solved(two, states="  out: {out of service: [tank]}\n")
    (swing,) = sump_swings(found)
    rise = level(found, "tank", 1) - level(found, "tank", 0)
    # Both tanks ran with half the flow; the other one now takes all of it.
    assert rise > 0.01
    assert swing.low.state == "out"
    assert swing.low.given == pytest.approx(AREAS["tank"] * rise, abs=1e-5)


def test_a_kept_level_has_no_swing() -> None:
    text = LOOP.replace("pump: {kind: lift, flow: 180 m3/h}", "pump: {kind: lift}")
    text = text.replace("  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}\n", "")
    text = text.replace("  surplus: [sump, spillway]\n", "")
    text = text.replace("  well: {kind: make-up, flow: 6 m3/h}\n", "")
    text = text.replace("  new water: [well, sump]\n", "")
    text = text.replace(
        "duty states:",
        "levels:\n  - {way: kept level, at: sump, level: 0.4 m, by: pump}\n"
        "  - {way: stored volume, in: [tank], volume: 47 m3}\nduty states:",
    )
    assert sump_swings(solve_scenario(read(text + STATES, "kept.yaml"))) == ()


def test_stored_volume_closes_a_sump_too() -> None:
    text = LOOP.replace("  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}\n", "")
    text = text.replace("  surplus: [sump, spillway]\n", "")
    text = text.replace("  well: {kind: make-up, flow: 6 m3/h}\n", "")
    text = text.replace("  new water: [well, sump]\n", "")
    levels = "levels: [{way: stored volume, in: [sump], volume: 18 m3}]\nduty states:"
    found = solve_scenario(read(text.replace("duty states:", levels) + STATES, "stored.yaml"))
    (swing,) = sump_swings(found)
    assert swing.usual == pytest.approx(-0.80 + 18.0 / 15.0)
    assert swing.overflow is None and swing.spilled == 0.0
    more = math.fsum(a * (level(found, n, 1) - level(found, n, 0)) for n, a in AREAS.items())
    assert swing.low.level == pytest.approx(swing.usual - more / 15.0, abs=1e-6)


def test_what_runs_over_is_missing_after_it() -> None:
    (swing,) = sump_swings(solved(states=STATES))
    # Closed form: the sump stood at its overflow; all that it rises by runs over.
    assert swing.spilled == pytest.approx(15.0 * (swing.high.level - swing.usual), rel=1e-6)
    assert swing.refilled == pytest.approx(swing.low.level - swing.spilled / 15.0, abs=1e-6)


def test_what_its_lifts_need_is_the_inlet_of_their_suction_pipe() -> None:
    pipe = "  suction: {kind: pipe, length: 2 m, diameter: 250 mm, inlet level: -0.30 m}\n"
    found = solved(
        ("  pump: {kind", pipe + "  pump: {kind"),
        ("sump, pump, tank]", "sump, suction, pump, tank]"),
        states=STATES,
    )
    (swing,) = sump_swings(found)
    # ANSI/HI 9.8 as quoted: S = D (1 + 2.3 Fr) to the middle of the inlet, at the greatest flow.
    speed = 1.5 * 180.0 / 3600.0 / (math.pi / 4.0 * 0.25**2)
    due = 0.25 * (1.0 + 2.3 * speed / math.sqrt(9.80665 * 0.25))
    assert swing.need == pytest.approx(-0.30 + 0.125 + due, abs=1e-6)
