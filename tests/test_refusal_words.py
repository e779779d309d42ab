"""What is said of loops that cannot be: the cause in a practitioner's words, and once."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from loopplan.errors import NoSolution, Problem, Refused
from loopplan.loop.reasons import fed_twice
from loopplan.loop.solution import prepare, solve_scenario
from loopplan.scenario.reader import read
from tests.mutants import Tree, scenario_tree, written


def refused(name: str, change: Callable[[Tree], None]) -> tuple[Problem, ...]:
    """Problems of a shipped scenario after a change."""
    tree = scenario_tree(name)
    change(tree)
    with pytest.raises(Refused) as caught:
        prepare(read(written(tree).encode()))
    return tuple(caught.value.problems)


def unsolved(name: str, change: Callable[[Tree], None]) -> NoSolution:
    """What is said of a shipped scenario that does not close after a change."""
    tree = scenario_tree(name)
    change(tree)
    with pytest.raises(NoSolution) as caught:
        solve_scenario(read(written(tree).encode()))
    return caught.value


def take_out(tree: Tree, *names: str) -> None:
    for name in names:
        del tree["elements"][name]
    for path, members in list(tree["flow paths"].items()):
        tree["flow paths"][path] = [n for n in members if n not in names]
        if len(tree["flow paths"][path]) < 2:
            del tree["flow paths"][path]


def test_groups_that_lack_one_closure_are_told_as_one() -> None:
    # The sump overflow closes all of the hall: the sump's level says how much water there is.
    (problem,) = refused("smolt-hall", lambda tree: take_out(tree, "sump overflow"))
    for group in ("{tanks}", "{filter chamber, drum A, drum B}", "{moving bed, sump, degasser 1,"):
        assert group in problem.message
    assert "1 of them is left open" in problem.message
    assert "close 1 of these groups, not all" in problem.cure


def test_groups_that_lack_two_closures_are_told_apart() -> None:
    def open_both(tree: Tree) -> None:
        take_out(tree, "sump overflow")
        del tree["elements"]["sludge outlet"]
        tree["elements"]["sludge valve"] = {"kind": "discharge", "flow": "12 m3/h"}
        tree["flow paths"]["wash"][-1] = "sludge valve"

    problems = refused("smolt-hall", open_both)
    assert len(problems) == 2
    assert "{sludge trough} is fixed by nothing" in problems[1].message
    assert "1 of them is left open" in problems[0].message


def test_basins_side_by_side_are_not_said_to_follow_each_other() -> None:
    def twin(tree: Tree) -> None:
        tree["elements"]["second drum"] = dict(tree["elements"]["drum A"])
        tree["flow paths"]["second"] = ["gate A", "second drum", "moving bed"]

    (problem,) = refused("smolt-hall", twin)
    assert problem.key == "elements: second drum"
    assert "'drum A' and 'second drum' stand side by side behind 'gate A'" in problem.message
    assert "`count`" in problem.cure


def test_basins_in_a_row_may_have_a_lift_between_them() -> None:
    def without_lift(tree: Tree) -> None:
        take_out(tree, "drain lift")
        del tree["levels"]

    (problem,) = refused("large-farm", without_lift)
    assert "'drain pit' and 'filter head' are joined with nothing between them" in problem.message
    assert "a lift" in problem.cure


def test_side_branches_that_meet_are_solved_and_named_if_they_were_not() -> None:
    def second(tree: Tree) -> None:
        other = dict(tree["elements"]["dividing channel"])
        other["places"] = {**other["places"], "raceways A": "7.8 m"}
        tree["elements"]["second channel"] = other
        for n, letter in enumerate("ABCD"):
            names = ["second channel", f"raceways {letter}"]
            tree["flow paths"][f"second {n}"] = [*([] if n else ["shaft outlet"]), *names]

    tree = scenario_tree("trout-channel")
    second(tree)
    scenario = read(written(tree).encode())
    assert solve_scenario(scenario).state.converged.all()
    said = fed_twice(prepare(scenario), "clean")
    assert said is not None
    assert (said.element, said.quantity) == ("second channel", "flow")
    assert "'dividing channel' feeds the same place as its branch at 7.8 m" in said.reason
    assert "into each side branch" in said.reason


def test_more_water_out_than_in_is_told_with_both() -> None:
    said = unsolved("smolt-hall", lambda tree: tree["elements"]["well"].update(flow="8 m3/h"))
    assert (said.element, said.quantity) == ("wash pump", "water balance")
    assert "12.00 m3/h through 'wash pump'" in said.reason
    assert "8.00 m3/h through 'well'" in said.reason
    assert "lose 4.00 m3/h" in said.reason
