"""Duty states: units out of service, sills out of level, low and high water, warm water.

Expected values are closed form, or those of the same loop written without what is out of
service, unless said otherwise; the farms are invented.
"""

from __future__ import annotations

import numpy as np
import pytest

from loopplan.errors import BadFile, NoSolution, Refused
from loopplan.loop.shut import isolated_nodes
from loopplan.loop.solution import prepare, solve_scenario
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget_of
from tests.duty_loop import LOOP, flow, level, scenario, solved

OUT = "  one out: {out of service: [%s]}\n"


class TestOneLineOut:
    @pytest.mark.parametrize("member", ["gate 2", "bed 2", "sill 2"])
    def test_is_the_loop_without_that_line(self, member: str) -> None:
        found = solved(states=OUT % member)
        # The same loop written without the line is the referee.
        lines = [x for x in LOOP.splitlines() if " 2:" not in x]
        without = solve_scenario(read("\n".join(lines), "two.yaml"))
        for name in ("gate 1", "sill 1", "gate 3", "pump", "spillway"):
            assert flow(found, name, 1) == pytest.approx(flow(without, name, 0), abs=1e-11)
        for name in ("tank", "head", "bed 1", "bed 3", "sump"):
            assert level(found, name, 1) == pytest.approx(level(without, name, 0), abs=1e-8)
        for name in ("gate 2", "sill 2"):
            assert flow(found, name, 1) == 0.0

    def test_leaves_the_other_states_as_they_are(self) -> None:
        alone, both = solved(), solved(states=OUT % "gate 2")
        assert both.flows[:, 0] == pytest.approx(alone.flows[:, 0], abs=1e-11)
        assert both.heads[:, 0] == pytest.approx(alone.heads[:, 0], abs=1e-9)

    @pytest.mark.parametrize(
        ("member", "stands"),
        [
            # Behind a shut gate the bed hangs on the sump: full to its sill.
            ("gate 2", 0.90),
            # Before a shut sill it hangs on the head box, whose level it takes.
            ("sill 2", None),
            # Shut on both sides it stands at its sill.
            ("bed 2", 0.90),
        ],
    )
    def test_a_basin_that_is_cut_off_stands_where_it_is_open_to(
        self, member: str, stands: float | None
    ) -> None:
        found = solved(states=OUT % member)
        due = level(found, "head", 1) if stands is None else stands
        assert level(found, "bed 2", 1) == pytest.approx(due, abs=1e-12)
        result = budget_of(found)
        cut_off = {row.element for row in result.states[1].levels if row.isolated}
        assert cut_off == {"bed 2"}
        assert not any(row.isolated for row in result.states[0].levels)
        shut = {row.element for row in result.states[1].rows if row.shut}
        assert shut == {"gate 2", "sill 2"}
        assert np.isfinite(found.heads).all()
        # Nothing is found fault with at what does not run.
        places = {f.place for f in result.findings if f.state == "one out"}
        assert not places & {"gate 2", "bed 2", "sill 2"}

    def test_a_tail_that_stands_above_the_sill_stands_in_the_cut_off_basin(self) -> None:
        sea = "levels: [{way: outside level, at: sump, level: 1.05 m}]\n"
        found = solved(
            ("  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}\n", ""),
            ("  surplus: [sump, spillway]\n", ""),
            ("duty states:\n", sea + "duty states:\n"),
            states=OUT % "gate 2",
        )
        assert level(found, "bed 2", 1) == pytest.approx(1.05, abs=1e-12)

    def test_the_budget_closes_as_in_any_state(self) -> None:
        state = budget_of(solved(states=OUT % "bed 2")).states[1]
        assert state.residuals.water_balance <= 1e-9
        assert state.residuals.law_head <= 1e-7
        assert state.residuals.head_budget <= 1e-6
        assert state.residuals.row <= 1e-4
        assert state.balance.replacement == pytest.approx(state.balance.discharge, rel=1e-9)

    def test_shares_tell_what_the_others_carry(self) -> None:
        found = budget_of(solved(states=OUT % "gate 2"))
        boxes = {s.state: s for s in found.shares if s.kind == "box"}
        assert boxes["one out"].out == ("bed 2",)
        # Three like lines: the other two carry half as much again.
        for share in boxes["one out"].shares:
            assert share.of_usual == pytest.approx(1.5, rel=1e-9)
            assert share.share == pytest.approx(1.0, rel=1e-9)

    def test_two_lines_out_leave_one_with_all(self) -> None:
        found = solved(states=OUT % "gate 1, bed 3")
        assert flow(found, "gate 2", 1) == pytest.approx(180.0 / 3600.0, rel=1e-9)

    def test_a_well_out_of_service_brings_nothing(self) -> None:
        sea = "levels: [{way: outside level, at: sump, level: 0.40 m}]\n"
        found = solved(
            ("  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}\n", ""),
            ("  surplus: [sump, spillway]\n", ""),
            ("duty states:\n", sea + "duty states:\n"),
            states=OUT % "well",
        )
        state = budget_of(found).states[1]
        assert (state.balance.replacement, state.balance.discharge) == (0.0, 0.0)
        assert state.balance.exchanges == (("sump", 0.0),)
        well = next(row for row in state.rows if row.element == "well")
        assert (well.flow, well.shut, well.loss) == (0.0, True, 0.0)


class TestSetsWithACount:
    FEED = ("pump: {kind: lift, flow: 180 m3/h}", "pump: {kind: lift, flow: 60 m3/h, count: 3}")

    def test_one_pump_of_three_out_is_two_thirds_of_the_flow(self) -> None:
        found = solved(self.FEED, states=OUT % "pump")
        assert flow(found, "pump", 1) == pytest.approx(120.0 / 3600.0, rel=1e-12)

    def test_is_what_a_change_of_count_does(self) -> None:
        states = OUT % "pump" + "  changed: {change: {pump: {count: 2}}}\n"
        found = solved(self.FEED, states=states)
        assert found.flows[:, 1] == pytest.approx(found.flows[:, 2], abs=1e-12)
        assert found.heads[:, 1] == pytest.approx(found.heads[:, 2], abs=1e-9)

    def test_what_stands_in_line_with_it_goes_with_it(self) -> None:
        counted = scenario(
            ("  tank:\n    kind: round tank", "  tank:\n    count: 4\n    kind: round tank"),
            (
                "  pump: {",
                "  feed: {kind: pipe, count: 4, length: 5 m, diameter: 200 mm}\n  pump: {",
            ),
            ("pump, tank]", "pump, feed, tank]"),
            states=OUT % "feed",
        )
        elements = counted.states[1].elements
        assert (elements["tank"].count, elements["feed"].count, elements["pump"].count) == (3, 3, 1)
        assert not counted.states[1].shut


class TestRefusals:
    def refused(self, *changes: tuple[str, str], states: str) -> str:
        with pytest.raises(Refused) as caught:
            prepare(scenario(*changes, states=states))
        (problem,) = caught.value.problems
        assert problem.key.startswith("duty states")
        assert problem.line == len(LOOP.splitlines()) + 1
        return problem.message

    def test_no_way_round(self) -> None:
        told = self.refused(states=OUT % "tank")
        assert "no way round" in told and "'pump'" in told and "'one out'" in told
        assert "no way round" in self.refused(states=OUT % "gate 1, gate 2, gate 3")

    def test_a_group_without_closure(self) -> None:
        told = self.refused(states=OUT % "spillway")
        assert "in the state 'one out'" in told and "sump" in told

    def test_a_level_without_what_keeps_it(self) -> None:
        text = LOOP.replace("pump: {kind: lift, flow: 180 m3/h}", "pump: {kind: lift}")
        text = text.replace("  line 2:", "  beside: [sump, aid, tank]\n  line 2:")
        text = text.replace("  well:", "  aid: {kind: lift, flow: 50 m3/h}\n  well:")
        text = text.replace(
            "  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}\n", ""
        ).replace("  surplus: [sump, spillway]\n", "")
        text = text.replace("  well: {kind: make-up, flow: 6 m3/h}\n", "")
        text = text.replace("  new water: [well, sump]\n", "")
        text = text.replace(
            "duty states:",
            "levels: [{way: kept level, at: sump, by: pump, level: 0.40 m}]\nduty states:",
        )
        with pytest.raises(Refused) as caught:
            prepare(read(text + OUT % "pump", "kept.yaml"))
        assert "nothing keeps the level of 'sump'" in caught.value.problems[0].message

    def test_no_lift_left(self) -> None:
        assert "no lift is left" in self.refused(states=OUT % "pump")

    @pytest.mark.parametrize(
        ("names", "message"),
        [("gate 9", "is not an element"), ("gate 1, gate 1", "named twice")],
    )
    def test_names(self, names: str, message: str) -> None:
        with pytest.raises(BadFile) as caught:
            scenario(states=OUT % names)
        (problem,) = caught.value.problems
        assert message in problem.message
        assert problem.key.startswith("duty states")

    def test_a_stored_volume_does_not_count_what_is_cut_off(self) -> None:
        with pytest.raises(Refused) as caught:
            prepare(
                scenario(
                    ("  spillway: {kind: overflow, crest: 0.40 m, width: 1.0 m}\n", ""),
                    ("  surplus: [sump, spillway]\n", ""),
                    ("  well: {kind: make-up, flow: 6 m3/h}\n", ""),
                    ("  new water: [well, sump]\n", ""),
                    (
                        "duty states:\n",
                        "levels: [{way: stored volume, in: [sump, bed 2], volume: 20 m3}]\n"
                        "duty states:\n",
                    ),
                    states=OUT % "bed 2",
                )
            )
        assert "'bed 2', which is cut off" in caught.value.problems[0].message


def test_no_branch_that_carries_water_leads_to_a_level_that_is_cut_off() -> None:
    found = solved(states=OUT % "bed 2" + "  other: {out of service: [gate 1]}\n")
    compiled = found.compiled
    assert compiled.system.closed is not None
    isolated = isolated_nodes(compiled.graph, compiled.system.closed)
    for j, branch in enumerate(compiled.graph.branches):
        for k in range(3):
            if isolated[branch.up, k] or isolated[branch.down, k]:
                assert found.flows[j, k] == 0.0


class TestDefaultStates:
    def states(self, *changes: tuple[str, str]) -> list[str]:
        text = LOOP.replace("duty states:\n  clean: {}\n", "")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        return list(solve_scenario(read(text, "lines.yaml")).compiled.names)

    USUAL = ("clean", "fouled", "low flow", "peak flow", "cold", "warm")

    def test_boxes_are_no_treatment(self) -> None:
        # The sills of the three boxes' lines are siblings, and no unit of treatment is there.
        assert self.states() == [*self.USUAL, "sills out of level"]

    def test_one_tank_where_no_treatment_stands_side_by_side(self) -> None:
        names = self.states(("diameter: 6 m", "diameter: 6 m\n    count: 2"))
        assert "one out: tank" in names

    def test_one_unit_of_treatment_before_one_tank(self) -> None:
        names = self.states(
            ("diameter: 6 m", "diameter: 6 m\n    count: 2"),
            *(
                (
                    f"gate {n}: {{kind: opening, invert: 0.20 m, height: 300 mm, width: 400 mm}}",
                    f"gate {n}: {{kind: media bed, area: 6 m2, depth: 0.5 m, media size: 8 mm, "
                    "porosity: 45 %, direction: up, loaded loss: 5 cm, loaded flow: 60 m3/h}",
                )
                for n in (1, 2, 3)
            ),
        )
        # Beds stand side by side here, and treatment comes before tanks.
        assert "one out: gate 1" in names and "one out: tank" not in names

    def test_own_states_stay_as_they_are(self) -> None:
        assert solved().compiled.names == ("clean",)

    def test_warm_only_where_it_is_warmer(self) -> None:
        assert "warm" not in self.states(("temperature: 12 degC", "temperature: 24 degC"))
        warm = "temperature: 24 degC, warmest: 28 degC"
        assert "warm" in self.states(("temperature: 12 degC", warm))

    def test_warmest_is_not_colder_than_usual(self) -> None:
        with pytest.raises(BadFile, match="colder than the usual"):
            self.states(("temperature: 12 degC", "temperature: 12 degC, warmest: 11 degC"))


def test_no_solution_of_a_named_state_is_an_error_still() -> None:
    weak = (
        "pump: {kind: lift, flow: 180 m3/h}",
        "pump: {kind: lift, curve: [[0 m3/h, 0.5 m], [200 m3/h, 0.1 m]]}",
    )
    with pytest.raises(NoSolution):
        solved(weak)
