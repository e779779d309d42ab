"""What the reports say about a result made by hand."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace

import pytest

from loopplan.findings import Severity
from loopplan.report.as_csv import budget_csv
from loopplan.report.as_json import SCHEMA, budget_json
from loopplan.report.numbers import digits, flow_m3_h, level, loss_mm
from loopplan.report.terminal import View, terminal_text
from loopplan.report.words import lowest_freeboard, path_losses, states_of, worst_in
from loopplan.studies.results import BudgetResult, StateResult
from tests.report_cases import result

FILES = [
    "budget", "levels", "lifts", "water", "findings", "residuals", "sheet", "assumed", "shares",
    "water_losses", "water_indices", "power_off",
]  # fmt: skip


def changed_row(base: BudgetResult, index: int, **more: object) -> BudgetResult:
    first = base.states[0]
    rows = list(first.rows)
    rows[index] = replace(rows[index], **more)  # type: ignore[arg-type]
    return replace(base, states=(replace(first, rows=tuple(rows)), *base.states[1:]))


def part(text: str, title: str) -> str:
    """Return the part of a report below a line that begins with `title`."""
    found = re.search(rf"^{re.escape(title)}.*?\n(.*?)(?:\n\n[A-Z]|\Z)", text, re.S | re.M)
    assert found is not None, title
    return found[1]


def line_of(text: str, name: str) -> str:
    return next(line for line in text.splitlines() if line.strip().startswith(name))


# --- numbers ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0.0"), (0.0095, "9.5"), (0.00996, "10"), (0.0104, "10"), (0.4504, "450"),
     (-0.45, "-450"), (-1e-9, "0.0"), (1.2345, "1234")],
)  # fmt: skip
def test_losses_to_the_millimetre_and_a_tenth_below_ten(value: float, text: str) -> None:
    assert loss_mm(value) == text


@pytest.mark.parametrize(("value", "text"), [(2.0, "2.000"), (-1e-7, "0.000"), (-0.05, "-0.050")])
def test_levels_to_the_millimetre(value: float, text: str) -> None:
    assert level(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.25, "900.0"), (0.001, "3.600"), (27.7778, "100000"), (0.0, "0"), (-0.25, "-900.0")],
)
def test_flows_to_four_digits(value: float, text: str) -> None:
    assert flow_m3_h(value) == text


@pytest.mark.parametrize(
    ("value", "text"), [(99.996, "100.0"), (0.00001, "0.0000"), (250, "250.0")]
)
def test_rounding_adds_no_digit(value: float, text: str) -> None:
    assert digits(value) == text


# --- what belongs to which state -------------------------------------------------------


def test_a_merged_finding_speaks_of_all_its_states() -> None:
    finding = replace(result().findings[0], state="fouled", also=("cold", "low flow"))
    names = ("clean", "fouled", "cold", "low flow", "flow")
    assert states_of(finding, names) == ("fouled", "cold", "low flow")
    assert states_of(replace(finding, state=""), names) == names


def test_worst_finding_of_a_state() -> None:
    assert worst_in(result(), "clean") is Severity.WARNING
    assert worst_in(result(), "fouled") is Severity.SEVERE
    assert worst_in(replace(result(), findings=()), "clean") is None


def test_losses_of_a_path_leave_gains_out() -> None:
    # By hand: 9.5 + 90.5 + 100 + 250 mm.
    assert path_losses(result().states[0])["loop"] == pytest.approx(0.45)


def test_lowest_freeboard_is_looked_for_in_all_states() -> None:
    assert lowest_freeboard(result(), "tank") == (-0.02, "fouled")
    assert lowest_freeboard(result(), "sump") is None


# --- terminal --------------------------------------------------------------------------


@pytest.mark.parametrize("width", [80, 100, 120])
@pytest.mark.parametrize("view", [View(), View(("clean", "fouled"), True, True)])
def test_no_line_is_wider_than_the_terminal(width: int, view: View) -> None:
    text = terminal_text(result(), view, width)
    assert max(len(line) for line in text.splitlines()) <= width
    assert "\x1b" not in text


@pytest.mark.parametrize("width", [80, 100])
def test_no_number_is_cut_off(width: int) -> None:
    text = terminal_text(changed_row(result(), 1, loss=1234.5, flow=99999.0), View(), width)
    assert "\u2026" not in text
    assert "1234500" in text


def test_one_line_for_each_state() -> None:
    states = part(terminal_text(result()), "Duty states")
    assert re.search(r"^clean +900\.0 +0\.450 +250 +450 +warning$", states, re.M)
    assert re.search(r"^fouled +900\.0 +0\.650 +250 +650 +severe$", states, re.M)


def test_first_state_is_shown_unless_asked() -> None:
    assert "Where the head goes (clean" in terminal_text(result())
    assert "Where the head goes (fouled" not in terminal_text(result())
    both = terminal_text(result(), View(("fouled", "clean")))
    assert both.index("goes (fouled") < both.index("goes (clean")
    with pytest.raises(KeyError):
        terminal_text(result(), View(("nowhere",)))


def test_useful_head_and_gains_are_told_by_words() -> None:
    budget = part(terminal_text(result()), "Where the head goes")
    assert "gain 450" in line_of(budget, "main lift")
    assert re.fullmatch(r" *useful +200", line_of(budget, "useful"))
    assert "gain 450" in line_of(budget, "all gained")
    assert re.search(r"450 +60 +130 +260", line_of(budget, "all lost"))


def test_the_loop_closes_in_print() -> None:
    budget = part(terminal_text(result()), "Where the head goes")
    assert line_of(budget, "main lift").endswith(" 0.0")


def test_bars_grow_with_the_share() -> None:
    budget = part(terminal_text(result()), "Where the head goes")
    bars = [line_of(budget, name).count("\u2588") for name in ("tank", "filter", "degasser")]
    assert bars == sorted(bars)
    assert bars[0] >= 1


def test_like_units_are_named() -> None:
    assert "tank, outlet x 8" in terminal_text(result())


@pytest.mark.parametrize(
    ("device", "said"), [("airlift", True), ("propeller pump", False), ("centrifugal pump", False)]
)
def test_an_airlift_is_not_validated_at_farm_size(device: str, said: bool) -> None:
    assert ("not validated at farm size" in terminal_text(result(device))) is said
    lift = json.loads(budget_json(result(device)))["lifts"][0]
    assert any("not validated at farm size" in text for text in lift["remarks"]) is said


def test_an_airlift_that_is_asked_for_is_not_validated_either() -> None:
    base = result("propeller pump")
    asked = replace(base, lifts=(replace(base.lifts[0], asked="airlift"),))
    assert "not validated at farm size" in terminal_text(asked)
    assert "(asked for: airlift)" in terminal_text(asked)


def test_all_three_devices_come_with_a_reason() -> None:
    lifts = part(terminal_text(result("propeller pump")), "Lifts")
    assert "propeller pump: a reason for it" in lifts
    assert "airlift: a reason against one" in lifts
    assert "centrifugal pump: a reason against the other" in lifts


def test_lowest_freeboard_stands_beside_that_of_the_state() -> None:
    levels = part(terminal_text(result()), "Levels")
    assert re.search(r"0\.250 +-0\.020 +fouled", line_of(levels, "tank"))


@pytest.mark.parametrize("width", [80, 100])
def test_levels_keep_area_and_volume(width: int) -> None:
    levels = part(terminal_text(result(), View(), width), "Levels")
    assert re.search(r"400 +800$", line_of(levels, "tank"))


def test_findings_are_worst_first_with_a_cure() -> None:
    findings = part(terminal_text(result()), "Findings")
    assert findings.index("severe") < findings.index("warning")
    assert findings.count("What to do:") == 2


def test_a_cure_is_told_once() -> None:
    base = result()
    twin = replace(base.findings[1], place="side pipe", state="fouled")
    findings = part(terminal_text(replace(base, findings=(*base.findings, twin))), "Findings")
    assert findings.count(base.findings[1].cure.split()[0] + " the section smaller") == 1
    assert "as for main pipe above" in findings


def test_like_findings_are_told_together() -> None:
    base = result()
    twin = replace(base.findings[1], place="side pipe")
    findings = part(terminal_text(replace(base, findings=(*base.findings, twin))), "Findings")
    assert "Likewise: side pipe" in findings
    assert findings.count("What to do:") == 2


def test_a_broken_name_stays_indented() -> None:
    long = changed_row(result(), 2, element="filter with a very long name indeed, truly long")
    budget = part(terminal_text(long), "Where the head goes")
    after = budget.splitlines()[budget.splitlines().index(line_of(budget, "filter with")) + 1]
    assert after.startswith("  ")


def test_bars_can_be_plain() -> None:
    text = terminal_text(result(), View(bar="#"))
    assert text.isascii()
    assert "56 % ###" in text


def test_each_state_has_a_closing_line() -> None:
    closing = part(terminal_text(result()), "How well")
    assert "head 4.0e-13 m" in line_of(closing, "clean")
    assert "head 4.0e-13 m" in line_of(closing, "fouled")


def test_assumed_values_are_counted_and_listed_on_demand() -> None:
    short, full = terminal_text(result()), terminal_text(result(), View(assumed=True))
    assert "1 value was assumed" in short
    assert "salinity" not in short
    assert re.search(r"water +salinity +0 g/kg +assumed: fresh water", full)
    assert "Colebrook, C. F. (1939)" in full


def test_detail_gives_what_a_hand_calculation_needs() -> None:
    sheet = part(terminal_text(result(), View(detail=True)), "Calculation sheet")
    for text in ("(f L/D + sum K) v^2/2g", "flow of one unit 0.25 m3/s", "K 1.25",
                 "note: 2 x bend 90: K 0.2", "sources: colebrook", "loses 90 mm"):  # fmt: skip
        assert text in sheet
    assert "main pipe (fouled)" not in sheet


@pytest.mark.parametrize(
    "word",
    ["responsible engineer", "Electricity", "H2S", "CO2", "ventilate", "drown", "aerated",
     "float in groundwater", "one lift or one supply", "backflow", "local codes"],
)  # fmt: skip
def test_cautions_are_said(word: str) -> None:
    assert word in " ".join(terminal_text(result()).split())


def test_names_are_not_taken_for_markup() -> None:
    odd = replace(changed_row(result(), 2, element="[red]:fish:\n[/b]"), farm="[bold]A[/b]")
    text = terminal_text(odd)
    assert "[bold]A[/b]" in text
    assert "[red]:fish: [/b]" in text


# --- JSON and CSV ----------------------------------------------------------------------


def test_json_is_versioned_and_repeats() -> None:
    text = budget_json(result())
    assert text == budget_json(result())
    assert json.loads(text)["schema"] == SCHEMA == "loopplan.budget/1"


def test_json_holds_residuals_of_each_state() -> None:
    residuals = json.loads(budget_json(result()))["residuals"]
    assert list(residuals) == ["clean", "fouled"]
    keys = {"water_balance", "law_head", "law_flow", "head_budget", "row", "iterations"}
    assert set(residuals["clean"]) == keys
    assert residuals["clean"]["head_budget"] == 4e-13


def test_json_holds_every_field_of_a_row() -> None:
    row = json.loads(budget_json(result()))["states"][0]["rows"][1]
    bare = {re.sub(r"_(m|m3_s|m_s)$", "", key) for key in row}
    assert bare == set(vars(result().states[0].rows[1]))


def test_json_numbers_have_nine_digits_at_most() -> None:
    text = budget_json(changed_row(result(), 1, loss=1.0 / 3.0))
    assert json.loads(text)["states"][0]["rows"][1]["loss_m"] == 0.333333333


def test_json_rounds_away_the_last_bits_of_a_machine() -> None:
    other = changed_row(result(), 1, loss=math.nextafter(0.0905, 1.0))
    assert budget_json(other) == budget_json(result())


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_json_refuses_what_is_no_number(bad: float) -> None:
    with pytest.raises(ValueError, match="JSON compliant"):
        budget_json(changed_row(result(), 0, loss=bad))


def test_turnover_is_si_in_json() -> None:
    levels = json.loads(budget_json(result()))["states"][0]["levels"]
    assert levels[0]["turnover_s"] == pytest.approx(53.33 * 60.0)
    assert levels[1]["turnover_s"] is None


def tables() -> dict[str, list[dict[str, str]]]:
    return {
        name: list(csv.DictReader(io.StringIO(text))) for name, text in budget_csv(result()).items()
    }


def test_csv_files_and_their_size() -> None:
    found = tables()
    assert list(found) == [f"{name}.csv" for name in FILES]
    assert len(found["budget.csv"]) == 12
    assert len(found["levels.csv"]) == 4
    assert len(found["lifts.csv"]) == 2
    assert len(found["residuals.csv"]) == 2


def test_csv_says_the_same_as_json() -> None:
    rows = json.loads(budget_json(result()))["states"][1]["rows"]
    table = [row for row in tables()["budget.csv"] if row["state"] == "fouled"]
    assert [float(row["loss_m"]) for row in table] == [row["loss_m"] for row in rows]


def test_csv_headers_bear_units() -> None:
    found = tables()
    assert "flow_m3_s" in found["budget.csv"][0]
    assert "freeboard_m" in found["levels.csv"][0]
    assert "head_budget_m" in found["residuals.csv"][0]


def test_csv_sheet_lists_inputs_notes_sources_and_results() -> None:
    sheet = [row for row in tables()["sheet.csv"] if row["state"] == "clean"]
    parts = [row["part"] for row in sheet]
    assert parts == ["input", "input", "note", "source", "result", "result", "result"]
    assert sheet[1]["unit"] == "-"


def test_empty_tables_keep_their_header() -> None:
    empty = replace(result(), findings=(), lifts=(), assumed=(), sheet=())
    for name in ("findings", "lifts", "assumed", "sheet"):
        text = budget_csv(empty)[f"{name}.csv"]
        assert text == budget_csv(result())[f"{name}.csv"].splitlines()[0] + "\n"


@pytest.mark.parametrize("name", ["=1+1", "@sum", "-x", "+x"])
def test_a_name_is_no_formula_to_a_spreadsheet(name: str) -> None:
    text = budget_csv(changed_row(result(), 1, element=name))["budget.csv"]
    rows = list(csv.DictReader(io.StringIO(text)))
    assert rows[1]["element"] == f"'{name}"
    assert float(rows[4]["loss_m"]) < 0.0


def test_states_of_a_result_may_have_no_lift_and_no_level() -> None:
    bare: StateResult = replace(result().states[0], levels=())
    text = terminal_text(replace(result(), states=(bare,), lifts=()))
    assert re.search(r"^clean +900\.0 +- ", text, re.M)
    assert part(text, "Lifts").strip() == "none"


@pytest.mark.parametrize("width", [80, 100, 120])
def test_no_digit_is_cut_off_a_long_number(width: int) -> None:
    """A pressure duty of tens of metres widens the columns; every sum stays whole."""
    base = result()
    state = base.states[0]
    rows = tuple(
        replace(row, loss=69.962 * (-1.0 if row.device else 1.0), running=-12345.678)
        for row in state.rows
    )
    long = replace(base, states=(replace(state, rows=rows), *base.states[1:]))
    table = part(terminal_text(long, width=width), "Where the head goes")
    assert table.count("-12345678") == len(rows)
