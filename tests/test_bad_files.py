"""Files that cannot be used: each is refused in words, at its line, and at once."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopplan.errors import BadFile, LoopplanError, NoSolution, Refused
from loopplan.loop.solution import solve_scenario
from loopplan.scenario.reader import MOST_ELEMENTS, MOST_STATES, read
from tests.bad_files.cases import GOOD, QUANTITIES, SHAPES, WORDS, Case
from tests.bad_files.lift_cases import LIFTS
from tests.bad_files.loop_cases import CLOSURES, PATHS, UNSOLVED

HERE = Path(__file__).parent
REFUSED = [*QUANTITIES, *WORDS, *SHAPES, *LIFTS, *PATHS, *CLOSURES]


def fail(text: str | bytes) -> BadFile:
    with pytest.raises(BadFile) as caught:
        solve_scenario(read(text, "farm.yaml"))
    return caught.value


def test_what_is_changed_reads_and_solves() -> None:
    assert solve_scenario(read(GOOD, "good.yaml")).state.converged.all()


def test_every_case_has_a_name_of_its_own() -> None:
    names = [c.name for c in [*REFUSED, *UNSOLVED]]
    assert len(names) == len(set(names)) >= 45


@pytest.mark.parametrize("case", REFUSED, ids=lambda c: c.name)
def test_is_refused_at_its_line_and_in_words(case: Case) -> None:
    error = fail(case.text())
    assert error.exit_code == case.code == 3
    fitting = [p for p in error.problems if p.key == case.key and case.message in p.message]
    assert fitting, str(error)
    (problem,) = fitting
    # The second of two like keys is the one to blame.
    twice = case.name == "element named twice"
    assert problem.line == (35 if twice else case.line())
    assert case.cure in problem.cure
    assert problem.file == "farm.yaml"
    shown = str(error)
    assert f"farm.yaml:{problem.line}: {case.key}" in shown
    for inner in ("Input should", "pydantic", "None", "dict", "[type="):
        assert inner not in shown


@pytest.mark.parametrize("case", REFUSED, ids=lambda c: c.name)
def test_one_fault_is_told_once(case: Case) -> None:
    error = fail(case.text())
    # A group that is fixed twice leaves another without its closure.
    allowed = 2 if case.name == "group fixed twice" else 1
    assert len(error.problems) == allowed, str(error)


@pytest.mark.parametrize("case", UNSOLVED, ids=lambda c: c.name)
def test_is_tried_and_does_not_close(case: Case) -> None:
    scenario = read(case.text(), "farm.yaml")
    with pytest.raises(NoSolution) as caught:
        solve_scenario(scenario)
    error = caught.value
    assert error.exit_code == case.code == 4
    assert error.element == case.key or not case.key
    assert error.element in scenario.elements or "|" in error.element
    assert error.state in ("clean", "fouled")
    assert case.message in str(error)
    assert case.cure in str(error)


def test_all_faults_of_a_file_come_at_once() -> None:
    text = GOOD
    for old, new in (
        ("12 degC", "12"), ("area: 5 m2", "area: 5 m"), ("flow: 120 m3/h", "flow: 120"),
        ("[well, sump]", "[well, smup]"), ("condition: fouled", "condition: x"),
        ("clean: {}", "clean: {change: {tank: {diameter: 1}}}"),
    ):  # fmt: skip
        text = text.replace(old, new)
    problems = fail(text).problems
    assert [p.key for p in problems] == [
        "water: temperature", "elements: sump: area", "elements: pump: flow",
        "flow paths: new water: 1", "duty states: clean: change: tank: diameter",
        "duty states: fouled: condition",
    ]  # fmt: skip
    assert [p.line for p in problems] == sorted(p.line for p in problems)


def test_faults_of_the_joins_come_at_once() -> None:
    text = GOOD.replace("pump, tank]", "pump, pump, tank]")
    text = text.replace("[sump, spillway]", "[sump, well]")
    text = text.replace("  pump:", f"  extra: {{{BOX}}}\n  pump:")
    error = fail(text)
    assert isinstance(error, Refused)
    assert [p.key for p in error.problems] == [
        "elements: spillway", "elements: extra", "elements: well", "flow paths: loop: 6"
    ]  # fmt: skip


NESTED = "loopplan: 1\nfarm: " + "{a: " * 5000 + "}" * 5000
ALIASES = "\n".join(
    ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    + [f"a{i}: &a{i} [" + ", ".join([f"*a{i - 1}"] * 9) + "]" for i in range(1, 60)]
)
BOX = "kind: sump, area: 1 m2, floor: 0 m, wall top: 1 m"
HEAD = "loopplan: 1\nfarm: {name: x}\nwater: {temperature: 12 degC}\nelements:\n"
CROWD = HEAD + "".join(f"  e{i}: {{{BOX}}}\n" for i in range(MOST_ELEMENTS + 1))
STRANGERS = (
    HEAD + "".join(f"  e{i}: {{{BOX}}}\n" for i in range(300)) + "flow paths:\n"
    + "".join(f"  p{i}: [e{i}x, e{i}y]\n" for i in range(3000))
)  # fmt: skip
STATES = GOOD + "".join(f"  s{i}: {{}}\n" for i in range(MOST_STATES))

WHOLE: list[tuple[str, Callable[[], str | bytes], int, str, str]] = [
    ("empty", lambda: "", 0, "the file is empty", "describe a loop"),
    ("only remarks", lambda: "# a farm\n", 0, "the file is empty", "describe a loop"),
    ("list at top", lambda: "- a\n- b\n", 1, "keys are due here", "begin with keys"),
    ("two documents", lambda: GOOD + "---\na: b\n", 59, "a second document", "one scenario"),
    ("tag", lambda: GOOD.replace("Small loop", "!!python/name:os x"), 6, "a tag", "quotes"),
    ("alias bomb", lambda: ALIASES, 1, "an anchor (&a0) is not used", "take it out"),
    ("not UTF-8", lambda: GOOD.replace("Small", "\u00c5svik").encode("latin-1"), 6,
     "not UTF-8 text: byte", "save it as UTF-8"),
    ("syntax", lambda: GOOD.replace("[well, sump]", "[well, sump"), 53, "a bracket is opened",
     "close the bracket"),
    ("tab", lambda: GOOD.replace("    kind: sump", "\tkind: sump"), 36, "a tab", "blanks"),
    ("deep nesting", lambda: NESTED, 2, "within one another", "check the brackets"),
    ("50 MB", lambda: b"#" * 50_000_000, 0, "the file is too large", "CSV"),
    ("too many elements", lambda: CROWD, 4, "2000 are allowed", "`count`"),
    ("too many states", lambda: STATES, 56, "100 are allowed", "judged by"),
    ("too many strangers", lambda: STRANGERS, 306, "`e0x` is not an element", "`e0`"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "line", "message", "cure"), [w[1:] for w in WHOLE],
                         ids=[w[0] for w in WHOLE])  # fmt: skip
def test_hostile_files_cost_little(
    make: Callable[[], str | bytes], line: int, message: str, cure: str
) -> None:
    text = make()
    start = time.process_time()
    tracemalloc.start()
    try:
        error = fail(text)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    # Generous: tracing alone makes it several times slower.
    assert time.process_time() - start < 30.0
    assert peak < 100e6
    problem = next(p for p in error.problems if message in p.message)
    assert problem.line == line
    assert cure in problem.cure
    assert len(error.problems) <= 50
    assert len(str(error)) < 30_000


def test_large_file_is_refused_by_its_size(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(BadFile, match="too large"):
        read(path)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 20_000


LINES = [i for i, line in enumerate(GOOD.splitlines()) if ": " in line or line.endswith(":")]
WRITTEN = ["", "x", "0 m", "-1 m", "1e-9 m", "1e5 m", "1", "1e9", "[a]", "{a: b}", "[]", "{}",
           "0.001 mm", "0.1 m3/h", "90000 m3/h", "tank", "lift", "overflow", "~"]  # fmt: skip


@settings(max_examples=60)
@given(st.sampled_from(LINES), st.sampled_from(WRITTEN))
def test_any_value_anywhere_is_solved_or_told(number: int, written: str) -> None:
    lines = GOOD.splitlines()
    lines[number] = lines[number].partition(":")[0] + ": " + written
    try:
        solved = solve_scenario(read("\n".join(lines), "farm.yaml"))
    except LoopplanError as error:
        assert error.exit_code in (3, 4)
    else:
        assert solved.state.converged.all()


def run(*words: str) -> subprocess.CompletedProcess[str]:
    entry = "import sys; from loopplan.cli import main; sys.exit(main())"
    command = [sys.executable, "-c", entry, *words]
    environment = {**os.environ, "PYTHONPATH": str(HERE.parent)}
    return subprocess.run(
        command, capture_output=True, text=True, timeout=120, env=environment, check=False
    )


BY_NAME = {c.name: c for c in [*REFUSED, *UNSOLVED]}


@pytest.mark.parametrize(
    "name",
    ["unit missing", "unknown key", "dead end", "group fixed by nothing", "curve too weak",
     "outside levels that disagree"],
)  # fmt: skip
def test_program_says_what_is_wrong_and_leaves_nothing(name: str, tmp_path: Path) -> None:
    case = BY_NAME[name]
    file, folder = tmp_path / "farm.yaml", tmp_path / "tables"
    file.write_text(case.text(), encoding="utf-8")
    ended = run("budget", str(file), "--csv", str(folder))
    assert ended.returncode == case.code
    assert ended.stdout == ""
    assert "Traceback" not in ended.stderr
    assert "Warning" not in ended.stderr
    assert case.message in " ".join(ended.stderr.split())
    if case.code == 3:
        assert f"{file}:{case.line()}" in ended.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == ["farm.yaml"]
