"""Duty states that move sills and given levels; expected values are closed form."""

from __future__ import annotations

import pytest

from loopplan.errors import BadFile
from loopplan.loop.solution import Solved, solve_scenario
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget_of
from tests.duty_loop import LOOP, flow, level

PLAIN = LOOP.replace("duty states:\n  clean: {}\n", "")
OVERFLOW = "  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}\n"


def loop(*changes: tuple[str, str], levels: str = "") -> Solved:
    text = PLAIN
    if levels:
        text = text.replace(OVERFLOW, "").replace("  surplus: [sump, spillway]\n", "")
        text += f"levels:\n  - {levels}\n"
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return solve_scenario(read(text, "lines.yaml"))


def at(found: Solved, state: str) -> int:
    return found.compiled.names.index(state)


class TestLowAndHighWater:
    def test_an_outside_level(self) -> None:
        margins = "lowest level: 0.20 m, highest level: 0.70 m"
        found = loop(levels=f"{{way: outside level, at: sump, level: 0.40 m, {margins}}}")
        for state, due in (("clean", 0.40), ("low water", 0.20), ("high water", 0.70)):
            assert level(found, "sump", at(found, state)) == pytest.approx(due, abs=1e-12)
        # Free sills: what stands above them does not feel it.
        low, high = at(found, "low water"), at(found, "high water")
        assert level(found, "tank", low) == pytest.approx(level(found, "tank", high), abs=1e-9)

    def test_only_what_is_stated(self) -> None:
        found = loop(levels="{way: outside level, at: sump, level: 0.4 m, lowest level: 0.2 m}")
        assert "low water" in found.compiled.names and "high water" not in found.compiled.names

    def test_a_stored_volume(self) -> None:
        margins = "least volume: 12 m3, most volume: 21 m3"
        found = loop(
            ("  well: {kind: make-up, flow: 6 m3/h}\n", ""),
            ("  new water: [well, sump]\n", ""),
            levels=f"{{way: stored volume, in: [sump], volume: 18 m3, {margins}}}",
        )
        for state, volume in (("clean", 18.0), ("low water", 12.0), ("high water", 21.0)):
            due = -0.80 + volume / 15.0
            assert level(found, "sump", at(found, state)) == pytest.approx(due, abs=1e-9)

    def test_a_kept_level(self) -> None:
        found = loop(
            ("pump: {kind: lift, flow: 180 m3/h}", "pump: {kind: lift}"),
            ("  well: {kind: make-up, flow: 6 m3/h}\n", ""),
            ("  new water: [well, sump]\n", ""),
            levels="{way: kept level, at: sump, level: 0.4 m, by: pump, lowest level: 0.1 m}\n"
            "  - {way: stored volume, in: [tank], volume: 47 m3}",
        )
        assert level(found, "sump", at(found, "low water")) == pytest.approx(0.10, abs=1e-12)

    def test_open_water(self) -> None:
        sea = (
            "  sea: {kind: open water, level: 0.3 m, lowest level: -0.2 m, highest level: 0.6 m}\n"
        )
        link = "  link: {kind: pipe, length: 10 m, diameter: 200 mm}\n"
        found = loop((OVERFLOW, sea + link), ("[sump, spillway]", "[sump, link, sea]"))
        # No more than the make-up runs to the sea: the sump stands as much above it at any tide.
        above = [
            level(found, "sump", at(found, state)) - due
            for state, due in (("clean", 0.3), ("low water", -0.2), ("high water", 0.6))
        ]
        assert above == pytest.approx([above[0]] * 3, abs=1e-7)

    @pytest.mark.parametrize(
        ("entry", "key"),
        [
            ("{way: outside level, at: sump, level: 0.4 m, lowest level: 0.5 m}", "lowest level"),
            ("{way: outside level, at: sump, level: 0.4 m, highest level: 0.3 m}", "highest level"),
            ("{way: stored volume, in: [sump], volume: 9 m3, least volume: 10 m3}", "least volume"),
            ("{way: stored volume, in: [sump], volume: 9 m3, most volume: 8 m3}", "most volume"),
            ("{way: stored volume, in: [sump], volume: 9 m3, lowest level: 0 m}", "lowest level"),
        ],
    )
    def test_margins_on_the_wrong_side(self, entry: str, key: str) -> None:
        with pytest.raises(BadFile) as caught:
            loop(levels=entry)
        assert any(p.key.endswith(key) for p in caught.value.problems)


class TestSillsOutOfLevel:
    STATE = "sills out of level"

    def crests(self, found: Solved, names: tuple[str, ...]) -> list[float]:
        k = at(found, self.STATE)
        branches = found.compiled.graph.branches
        return [
            found.compiled.passage(j, k).params["crest"]
            for name in names
            for j, b in enumerate(branches)
            if b.element == name and b.law == "weir"
        ]

    def test_the_first_of_siblings_stands_high_and_the_others_low(self) -> None:
        found = loop()
        sills = ("sill 1", "sill 2", "sill 3")
        assert self.crests(found, sills) == pytest.approx([0.902, 0.898, 0.898])
        # A sill whose tolerance is not stated, without siblings, stays.
        assert self.crests(found, ("tank", "spillway")) == pytest.approx([1.60, 0.40])
        k = at(found, self.STATE)
        shares = [3.0 * flow(found, name, k) / (180.0 / 3600.0) for name in sills]
        assert sum(shares) == pytest.approx(3.0, rel=1e-9)
        assert shares[0] < 0.99 and shares[1] == pytest.approx(shares[2], rel=1e-9)
        # Closed form for a common head above the sills: the share goes with h^1.5, and the gates
        # before the sills, which share evenly, make it less.
        head = level(found, "bed 1", at(found, "clean")) - 0.90
        assert shares[0] > 1.0 - 1.5 * 0.004 * (2.0 / 3.0) / head * 1.05

    def test_no_tolerance_no_shift(self) -> None:
        sharp = [(f"sill {n}: {{kind: weir,", f"sill {n}: {{kind: weir, level tolerance: 0 mm,")
                 for n in (1, 2, 3)]  # fmt: skip
        assert self.STATE not in loop(*sharp).compiled.names

    def test_a_stated_tolerance_raises_a_lone_sill_and_what_is_before_it(self) -> None:
        found = loop(("crest: 1.60 m, width", "crest: 1.60 m, level tolerance: 6 mm, width"))
        k = at(found, self.STATE)
        # Closed form: over a free sill head follows from flow alone.
        rise = level(found, "tank", k) - level(found, "tank", 0)
        assert rise == pytest.approx(0.006, abs=1e-9)

    def test_shares_take_the_stated_tolerance_for_the_error(self) -> None:
        found = budget_of(
            loop(("sill 2: {kind: weir,", "sill 2: {kind: weir, level tolerance: 8 mm,"))
        )
        (weirs,) = [s for s in found.shares if s.kind == "weir" and s.state == "clean"]
        low = {s.element: s.sill_low for s in weirs.shares}
        assert low == pytest.approx({"sill 1": 0.005, "sill 2": 0.008, "sill 3": 0.005})
        error = {s.element: s.error for s in weirs.shares}
        assert error["sill 1"] is not None and error["sill 2"] is not None
        # Small errors act in proportion.
        assert error["sill 2"] / error["sill 1"] == pytest.approx(8.0 / 5.0, rel=0.02)
