"""The public names, and the few things that the API adds."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import pytest

import loopplan
from loopplan import api
from loopplan.shipped import scenario_path
from loopplan.studies.results import Row
from tests.readme_blocks import ROOT
from tests.report_cases import result

PROMISED = {
    "read", "check", "budget", "BudgetResult", "Scenario", "Finding", "LoopplanError", "BadFile",
    "Refused", "NoSolution", "__version__",
}  # fmt: skip


def test_all_is_what_is_there() -> None:
    assert sorted(loopplan.__all__) == dir(loopplan)
    assert len(set(loopplan.__all__)) == len(loopplan.__all__) <= 25
    assert set(loopplan.__all__) >= PROMISED
    for name in loopplan.__all__:
        assert getattr(loopplan, name) is not None


def test_top_level_names_are_those_of_api() -> None:
    assert set(api.__all__) == set(loopplan.__all__) - {"__version__"}
    for name in api.__all__:
        assert getattr(loopplan, name) is getattr(api, name)


def test_unknown_name() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        loopplan.nothing  # noqa: B018


def test_first_touch_loads_the_api_and_not_before() -> None:
    code = (
        "import sys, loopplan; before = 'loopplan.api' in sys.modules; loopplan.read;"
        "print(before, 'loopplan.api' in sys.modules, 'numpy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=True, encoding="utf-8"
    )
    assert done.stdout.split() == ["False", "True", "False"]


def test_read_takes_a_path_a_text_path_and_bytes() -> None:
    path = scenario_path("teaching-loop")
    farms = [loopplan.read(given).farm for given in (path, str(path), path.read_bytes())]
    assert farms[0] == farms[1] == farms[2]


def test_problems_name_the_file() -> None:
    with pytest.raises(loopplan.BadFile) as caught:
        loopplan.read(b"farm: {}\n", "mine.yaml")
    assert {p.file for p in caught.value.problems} == {"mine.yaml"}


def test_check_counts_without_solving(monkeypatch: pytest.MonkeyPatch) -> None:
    from loopplan.loop import solve

    def never(*words: object) -> None:
        raise AssertionError("solved")

    monkeypatch.setattr(solve, "solve", never)
    found = loopplan.check(scenario_path("teaching-loop"))
    # Counted by hand in the file: tank, outlet box, filter box and sump have a surface.
    assert found.elements == sum(number for _, number in found.kinds) == 9
    assert found.basins == 4
    assert found.lifts == ("pump",)
    assert found.paths == ("loop", "new water", "surplus")


def test_budget_takes_a_scenario_or_a_path() -> None:
    path = scenario_path("teaching-loop")
    assert loopplan.budget(path) == loopplan.budget(loopplan.read(path))


def test_frame_has_a_line_for_each_row_of_each_state() -> None:
    made = loopplan.frame(result())
    assert list(made.columns) == ["state", *(f.name for f in fields(Row))]
    assert len(made) == sum(len(state.rows) for state in result().states)
    # By hand: a loop's losses and gains sum to zero in each state.
    loop = made[made["path"] == "loop"]
    assert abs(loop.groupby("state")["loss"].sum()).max() < 1e-12


def test_errors_are_caught_by_one_name(tmp_path: Path) -> None:
    with pytest.raises(loopplan.LoopplanError):
        loopplan.read(tmp_path / "none.yaml")
