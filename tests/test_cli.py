"""The command line: what goes where, and how each run ends."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

import loopplan
from loopplan.cli import budget as budget_module
from loopplan.cli import ending, main
from loopplan.errors import BadFile, MissingExtra, NoSolution, Problem, Refused
from loopplan.shipped import names, scenario_path
from loopplan.studies.results import BudgetResult
from tests.readme_blocks import ROOT
from tests.report_cases import result

LOOP = "teaching-loop"
PROBLEM = Problem("farm.yaml", 3, "elements", "", "something is wrong", "put it right")


class Run(NamedTuple):
    code: int
    out: str
    err: str


Cli = Callable[..., Run]


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Cli:
    """Run the command line in this process."""
    monkeypatch.setenv("COLUMNS", "100")

    def run(*words: str) -> Run:
        code = main(words)
        out, err = capsys.readouterr()
        return Run(code, out, err)

    return run


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let `budget` find the result made by hand, whatever the file."""
    monkeypatch.setattr(budget_module, "_solve", lambda file: result())


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> Callable[[BaseException], None]:
    """Let the solver of `budget` end in an error."""

    def arrange(error: BaseException) -> None:
        def solve(file: str) -> BudgetResult:
            raise error

        monkeypatch.setattr(budget_module, "_solve", solve)

    return arrange


# --- the program as a whole ------------------------------------------------------------


def test_version(cli: Cli) -> None:
    assert cli("--version") == (0, f"loopplan {loopplan.__version__}\n", "")


@pytest.mark.parametrize("words", [(), ("budget",), ("check",), ("new",), ("explain",)])
def test_each_help_has_an_example_and_is_plain(cli: Cli, words: tuple[str, ...]) -> None:
    run = cli(*words, "--help")
    assert run.code == 0
    assert f"Example: loopplan {' '.join(words)}" in run.out
    assert "\x1b" not in run.out
    assert run.out.isascii()
    assert cli(*words, "-h") == run


def test_the_help_names_every_command(cli: Cli) -> None:
    out = cli("--help").out
    for command in ("budget", "check", "new", "explain"):
        assert f"  {command} " in out


@pytest.mark.parametrize(
    "words",
    [(), ("budgt", LOOP), ("budget",), ("budget", LOOP, "--stat", "x"),
     ("budget", LOOP, "--fail-on", "bad"), ("new", "no-such-farm"), ("explain", "no such thing")],
)  # fmt: skip
def test_wrong_use_ends_with_2_and_says_so_on_stderr(cli: Cli, words: tuple[str, ...]) -> None:
    run = cli(*words)
    assert run.code == 2
    assert run.out == "" or not words
    assert "Traceback" not in run.err


def test_a_command_that_is_nearly_right_is_hinted_at(cli: Cli) -> None:
    assert "budget" in cli("bugdet", LOOP).err


# --- budget ----------------------------------------------------------------------------


@pytest.mark.usefixtures("solved")
class TestBudgetShown:
    def test_report_to_stdout_and_nothing_to_stderr(self, cli: Cli) -> None:
        run = cli("budget", "x")
        assert run.code == 0
        assert "Head budget of Made-up farm" in run.out
        assert run.err == ""
        assert "\x1b" not in run.out

    def test_json_is_all_that_stdout_holds(self, cli: Cli) -> None:
        run = cli("budget", "x", "--json")
        assert json.loads(run.out)["schema"] == "loopplan.budget/1"
        assert run.err == ""

    @pytest.mark.parametrize(
        ("level", "code"), [("severe", 1), ("warning", 1), ("note", 1), ("never", 0)]
    )
    def test_fail_on(self, cli: Cli, level: str, code: int) -> None:
        run = cli("budget", "x", "--fail-on", level)
        assert run.code == code
        assert "Head budget of" in run.out

    def test_state_is_shown_in_full(self, cli: Cli) -> None:
        assert "Where the head goes (fouled" in cli("budget", "x", "--state", "fouled").out
        every = cli("budget", "x", "--state", "all").out
        assert "Where the head goes (clean" in every
        assert "Where the head goes (fouled" in every

    def test_a_state_that_is_not_there(self, cli: Cli) -> None:
        run = cli("budget", "x", "--state", "fuoled")
        assert run.code == 2
        assert "did you mean 'fouled'" in run.err

    def test_csv_goes_into_a_folder_and_is_not_overwritten(self, cli: Cli, tmp_path: Path) -> None:
        folder = tmp_path / "out"
        run = cli("budget", "x", "--csv", str(folder))
        assert run.code == 0
        assert "wrote 12 files" in run.err
        assert "wrote" not in run.out
        assert (folder / "budget.csv").read_text(encoding="utf-8").startswith("state,path,")
        again = cli("budget", "x", "--csv", str(folder))
        assert again.code == 2
        assert "--force" in again.err
        assert cli("budget", "x", "--csv", str(folder), "--force").code == 0

    def test_narrow_and_wide(self, cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
        for asked, most in (("40", 80), ("80", 80), ("400", 120)):
            monkeypatch.setenv("COLUMNS", asked)
            assert max(map(len, cli("budget", "x").out.splitlines())) <= most

    def test_a_pipe_without_a_width_gets_100(
        self, cli: Cli, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        fixed = cli("budget", "x").out
        monkeypatch.delenv("COLUMNS")
        assert cli("budget", "x").out == fixed


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (BadFile([PROBLEM]), 3, "farm.yaml:3: elements: something is wrong"),
        (Refused([PROBLEM]), 3, "put it right"),
        (NoSolution("sump", "level", "it runs dry", "fouled"), 4, "level of 'sump'"),
        (MissingExtra("plots need a package"), 5, "plots need a package"),
        (RuntimeError("oops"), 70, "Please report it"),
        (KeyboardInterrupt(), 130, "interrupted"),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, BaseException) else "",
)
def test_each_ending_has_its_code(
    cli: Cli,
    failing: Callable[[BaseException], None],
    error: BaseException,
    code: int,
    said: str,
) -> None:
    failing(error)
    run = cli("budget", "x")
    assert run.code == code
    assert said in run.err
    assert run.out == ""
    assert "Traceback" not in run.err


@pytest.mark.parametrize("error", [BadFile([PROBLEM]), RuntimeError("oops")])
def test_debug_shows_the_traceback(
    cli: Cli, failing: Callable[[BaseException], None], error: Exception
) -> None:
    plain = error
    failing(plain)
    run = cli("budget", "x", "--debug")
    assert "Traceback" in run.err
    assert type(error).__name__ in run.err


def test_verbose_shows_the_log_on_stderr_and_then_stops(
    cli: Cli, monkeypatch: pytest.MonkeyPatch
) -> None:
    from loopplan.output import logger

    def solve(file: str) -> BudgetResult:
        logger("loop").debug("balance %s", 1e-9)
        return result()

    monkeypatch.setattr(budget_module, "_solve", solve)
    run = cli("budget", "x", "-v")
    assert "loopplan.loop: balance 1e-09" in run.err
    assert "balance 1e-09" not in run.out
    assert cli("budget", "x").err == ""


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("kind", "said"), [(Terminal, True), (io.StringIO, False)])
def test_long_work_is_mentioned_at_a_terminal_only(
    monkeypatch: pytest.MonkeyPatch, kind: type[io.StringIO], said: bool
) -> None:
    import time

    stream = kind()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr(ending, "_PATIENCE", 0.01)
    with ending.progress("working"):
        for _ in range(100):
            if stream.getvalue() or not said:
                break
            time.sleep(0.02)
    assert (stream.getvalue() == "working ...\n") is said


# --- which file ------------------------------------------------------------------------


def test_no_such_file_names_the_shipped_ones(cli: Cli) -> None:
    run = cli("check", "teaching-lop.yaml")
    assert run.code == 3
    assert f"did you mean '{LOOP}'" in run.err


def test_a_bad_file_is_told_with_line_and_cure(cli: Cli, tmp_path: Path) -> None:
    file = tmp_path / "farm.yaml"
    text = scenario_path(LOOP).read_text(encoding="utf-8")
    file.write_text(text.replace("kind: sump", "kind: smup"), encoding="utf-8")
    run = cli("check", str(file))
    line = next(n for n, t in enumerate(text.splitlines(), start=1) if "kind: sump" in t)
    assert run.code == 3
    assert f"{file}:{line}:" in run.err
    assert "did you mean `sump`?" in run.err


@pytest.mark.parametrize("command", ["check", "budget"])
def test_file_shipped_name_and_stdin_are_the_same(
    cli: Cli, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    path = scenario_path(LOOP)
    runs = [cli(command, LOOP), cli(command, str(path))]
    stdin = io.TextIOWrapper(io.BytesIO(path.read_bytes()), encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", stdin)
    runs.append(cli(command, "-"))
    assert [run.code for run in runs] == [0, 0, 0]
    # Where the file is named the line may break elsewhere.
    bodies = [run.out.partition("Duty states")[2] or run.out.partition("elements:")[2]
              for run in runs]  # fmt: skip
    assert bodies[0]
    assert bodies[0] == bodies[1] == bodies[2]


def test_a_file_comes_before_a_shipped_name(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / LOOP).write_text("farm: {}\n", encoding="utf-8")
    assert cli("check", LOOP).code == 3


def test_check_says_what_it_found(cli: Cli) -> None:
    run = cli("check", LOOP)
    assert run.code == 0
    assert run.err == ""
    assert "its loop is complete" in run.out
    assert "Nothing was solved" in run.out


def test_check_refuses_a_loop_without_a_lift(cli: Cli, tmp_path: Path) -> None:
    text = scenario_path(LOOP).read_text(encoding="utf-8")
    text = text.replace("kind: lift\n    flow: 120 m3/h", "kind: pipe\n    length: 1 m\n"
                        "    diameter: 200 mm")  # fmt: skip
    file = tmp_path / "farm.yaml"
    file.write_text(text, encoding="utf-8")
    run = cli("check", str(file))
    assert run.code == 3
    assert "has no lift" in run.err


# --- new -------------------------------------------------------------------------------


def test_new_lists_the_shipped_scenarios(cli: Cli) -> None:
    run = cli("new")
    assert run.code == 0
    assert [line.partition(":")[0] for line in run.out.splitlines()] == list(names())
    assert "nvented" in run.out


def test_new_writes_a_copy_and_keeps_what_is_there(
    cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run = cli("new", LOOP)
    file = tmp_path / f"{LOOP}.yaml"
    assert run.code == 0
    assert run.out == ""
    assert file.read_bytes() == scenario_path(LOOP).read_bytes()
    file.write_text("mine", encoding="utf-8")
    again = cli("new", LOOP)
    assert again.code == 2
    assert "--force" in again.err
    assert file.read_text(encoding="utf-8") == "mine"
    assert cli("new", LOOP, "--force").code == 0
    assert file.read_bytes() == scenario_path(LOOP).read_bytes()


def test_new_to_a_name_or_to_standard_output(cli: Cli, tmp_path: Path) -> None:
    target = tmp_path / "mine.yaml"
    assert cli("new", LOOP, "-o", str(target)).code == 0
    assert target.is_file()
    assert cli("new", LOOP, "-o", "-").out == scenario_path(LOOP).read_text(encoding="utf-8")


# --- explain ---------------------------------------------------------------------------


def test_explain_lists_all_names(cli: Cli) -> None:
    out = cli("explain").out
    for name in ("raceway", "water", "freeboard-short", "colebrook"):
        assert f"  {name}: " in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("weir",), ["crest:", "Level of the crest.", "m, cm, mm"]),
        (("weir", "width"), ["weir width:", "Length of the crest"]),
        (("weir width",), ["weir width:"]),
        (("weir.width",), ["weir width:"]),
        (("wall top",), ["raceway wall top:", "channel wall top:"]),
        (("freeboard-short",), ["cause:", "effect:", "what to do:", "source:"]),
        (("colebrook",), ["evidence:"]),
        (("limits", "passes most"), ["default: 300"]),
        (("channel", "end"), ["one of: to level, free"]),
        (("flow", "paths"), ["flow paths: how water runs", "loop: [tank"]),
        (("kept level",), ["levels way:"]),
        (("shares-uneven",), ["cause:", "what to do: Widen the channel"]),
    ],
)
def test_explain(cli: Cli, words: tuple[str, ...], said: list[str]) -> None:
    run = cli("explain", *words)
    assert run.code == 0
    for text in said:
        assert text in run.out


@pytest.mark.parametrize(
    ("wrong", "right"),
    [("wier", "weir"), ("weir widht", "weir width"), ("freeboard-shrt", "freeboard-short")],
)
def test_explain_hints_at_the_nearest_name(cli: Cli, wrong: str, right: str) -> None:
    run = cli("explain", wrong)
    assert run.code == 2
    assert f"did you mean '{right}'" in run.err


# --- as a process of its own -----------------------------------------------------------

ENTRY = "import sys; sys.argv[0] = 'loopplan'; from loopplan.cli import main; sys.exit(main())"


def process(*words: str, **environment: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", ENTRY, *words],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
        env={**os.environ, **environment},
    )


@pytest.mark.parametrize("word", ["explain", "--help"])
def test_a_closed_pipe_is_no_error(word: str) -> None:
    with process(word) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        said = running.stderr.read()
        assert running.wait(60) == 0
    assert said == b""


@pytest.mark.parametrize(("fail_on", "code"), [("never", 0), ("severe", 1)])
def test_a_reader_that_stops_does_not_change_the_exit_code(fail_on: str, code: int) -> None:
    entry = ENTRY.replace(
        "from loopplan.cli import main",
        "from loopplan.cli import budget, main; from tests.report_cases import result; "
        "budget._solve = lambda file: result()",
    )
    with subprocess.Popen(
        [sys.executable, "-c", entry, "budget", "x", "--fail-on", fail_on],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
    ) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        said = running.stderr.read()
        assert running.wait(60) == code
    assert said == b""


def test_a_full_disk_is_not_called_our_error() -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("needs a device that is always full")
    with full.open("wb") as target:
        done = subprocess.run(
            [sys.executable, "-c", ENTRY, "--help"],
            stdout=target,
            stderr=subprocess.PIPE,
            cwd=ROOT,
            check=False,
        )
    assert done.returncode == 2
    assert b"cannot be written" in done.stderr
    assert b"Traceback" not in done.stderr


def test_colour_only_where_it_is_wanted() -> None:
    # FORCE_COLOR stands in for a terminal; NO_COLOR must win over it.
    shown = {}
    for name, more in (("colour", {}), ("none", {"NO_COLOR": "1"})):
        with process("budget", LOOP, FORCE_COLOR="1", TERM="xterm-256color", **more) as running:
            shown[name] = running.communicate(timeout=120)[0]
            assert running.returncode == 0
    assert b"\x1b[" in shown["colour"]
    for colour in (b"31m", b"33m", b"36m"):
        assert colour not in shown["none"]


def test_json_is_utf8_whatever_the_terminal() -> None:
    text = scenario_path(LOOP).read_text(encoding="utf-8").replace("sump", "s\u00f8mp")
    text = text.replace("kind: s\u00f8mp", "kind: sump")
    done = subprocess.run(
        [sys.executable, "-c", ENTRY, "budget", "-", "--json"],
        input=text.encode("utf-8"),
        capture_output=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        check=True,
    )
    assert (
        "s\u00f8mp" in json.loads(done.stdout.decode("utf-8"))["states"][0]["levels"][3]["element"]
    )


def test_two_runs_give_the_same_bytes() -> None:
    outs = []
    for seed in ("1", "2"):
        with process("budget", LOOP, "--json", PYTHONHASHSEED=seed) as running:
            outs.append(running.communicate(timeout=120)[0])
    assert outs[0]
    assert outs[0] == outs[1]
