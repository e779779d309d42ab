"""The study of a shaft as text, JSON, CSV, SVG, and as the command `shaft`."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from loopplan.cli import main, shaft
from loopplan.declare import spec_of
from loopplan.lifts.airlift import Shaft
from loopplan.physics.airlift_practice import PRACTICE_AREAS, PRACTICE_LIFTS
from loopplan.report.shaft_json import shaft_csv, shaft_document, shaft_json
from loopplan.report.shaft_svg import shaft_svg
from loopplan.report.shaft_text import shaft_text
from loopplan.studies.shaft_results import ShaftCase
from loopplan.units import read_quantity
from tests.readme_blocks import ROOT, SHAFT_CHART, SHAFT_PAGE, blocks, loopplan, shown
from tests.shaft_cases import HOPELESS, PRACTICE, SMALL, studied

CASES = pytest.mark.parametrize(
    "case",
    [PRACTICE, SMALL, HOPELESS, replace(SMALL, flow=2e4 / 3600.0, lifts=(0.25, 1.2))],
    ids=["practice", "small", "hopeless", "large"],
)
NOT_VALIDATED = "not validated at farm size"


# --- text --------------------------------------------------------------------------------


@CASES
@pytest.mark.parametrize("width", [80, 100])
def test_text_fits_its_width_and_is_plain(case: ShaftCase, width: int) -> None:
    text = shaft_text(studied(case), width)
    assert max(len(line) for line in text.splitlines()) <= width
    assert text.isascii()
    assert NOT_VALIDATED in " ".join(text.split())
    assert "Nothing is tuned" in text


def test_text_gives_the_table_beside_practice() -> None:
    study = studied(PRACTICE)
    lines = shaft_text(study, 80).splitlines()
    rows = [line for line in lines if " 1-1.5 " in line]
    assert len(rows) == len(study.cells)
    for row, cell in zip(rows, study.cells, strict=True):
        ratio = re.search(r"([\d.]+) \(([\d.]+)-([\d.]+)\)", row)
        assert ratio is not None
        low, value, high = (
            cell.air_to_water.least_air, cell.air_to_water.expected, cell.air_to_water.most_air,
        )  # fmt: skip
        read = [float(x) for x in ratio.groups()]
        # Two digits are written.
        assert read == pytest.approx([value, low, high], rel=0.05)
        away = cell.deviation.expected or 0.0
        sign = "+" if away > 0 else "-" if away < 0 else "0"
        assert re.search(rf"1-1\.5 +{re.escape(sign)}", row)


def test_text_marks_each_least_once() -> None:
    text = shaft_text(studied(PRACTICE), 80)
    charts = text[text.index("Air to water against") : text.index("Water against air")]
    assert len(re.findall(r"^\* +[\d.]+ \|", charts, re.MULTILINE)) == len(PRACTICE_LIFTS)


def test_text_warns_of_lifts_above_practice() -> None:
    high = shaft_text(studied(replace(SMALL, lifts=(0.7, 0.71))), 80)
    rows = [line for line in high.splitlines() if " 1-1.5 " in line]
    assert [" L" in row for row in rows] == [False, False, True, True]
    assert all(" l" in row for row in rows[:2])
    assert "above 0.7 m airlifts are not used" in " ".join(high.split())
    assert "not used" not in shaft_text(studied(SMALL), 80)


def test_text_says_how_much_is_short() -> None:
    text = shaft_text(studied(HOPELESS), 80)
    assert re.search(r"^0\.60 +0\.5 +- +1-1\.5 +- .*\d\.\d\d m short$", text, re.MULTILINE)
    assert "no air flow lifts the water that is asked for" in " ".join(text.split())


# --- JSON and CSV ------------------------------------------------------------------------


@CASES
def test_json_has_a_schema_and_repeats(case: ShaftCase) -> None:
    study = studied(case)
    text = shaft_json(study)
    document = json.loads(text)
    assert document["schema"] == "loopplan.shaft/1"
    assert document["airlifts"] == NOT_VALIDATED
    assert text == shaft_json(study)
    assert len(document["air_need"]) == len(case.lifts) * len(case.outlet_halves)


def test_json_holds_the_study() -> None:
    study = studied(PRACTICE)
    document = shaft_document(study)
    first = document["air_need"][0]["air_to_water"]
    assert first == vars(study.cells[0].air_to_water)
    run = document["water_against_air"]
    assert [p["air_m3_s"] for p in run["points"]] == [p.air for p in study.operation.points]
    assert run["at_flow"]["water_m3_s"]["expected"] == pytest.approx(PRACTICE.flow)


@CASES
def test_csv_holds_what_json_holds(case: ShaftCase) -> None:
    study = studied(case)
    document = json.loads(shaft_json(study))
    files = {name: list(csv.DictReader(io.StringIO(t))) for name, t in shaft_csv(study).items()}
    need = files["air_need.csv"]
    assert len(need) == len(document["air_need"])
    for row, cell in zip(need, document["air_need"], strict=True):
        for edge, value in cell["air_to_water"].items():
            text = row[f"air_to_water_{edge}"]
            assert (float(text) if text else None) == value
    assert len(files["water_against_air.csv"]) == len(document["water_against_air"]["points"])
    assert len(files["least_air.csv"]) == len(case.lifts)
    points = sum(len(curve["points"]) for curve in document["air_against_outlet_half"])
    assert len(files["air_against_outlet_half.csv"]) == points


# --- SVG ---------------------------------------------------------------------------------


@CASES
def test_svg_tells_all_that_it_shows(case: ShaftCase) -> None:
    study = studied(case)
    drawn = shaft_svg(study)
    root = ElementTree.fromstring(drawn)
    texts = [part.text or "" for part in root.iter()]
    for lift in case.lifts:
        assert f"Lift {lift:g} m" in texts
    assert texts.count("plan area of the outlet half [m2]") == len(case.lifts)
    assert texts.count("free air to water [m3/m3]") == len(case.lifts)
    assert sum("practice 1 to 1.5" in text for text in texts) == len(case.lifts)
    found = sum(curve.least.found for curve in study.curves)
    assert sum(text.startswith("least: ") for text in texts) == found
    assert NOT_VALIDATED in " ".join(texts).lower()
    assert drawn == shaft_svg(study)
    assert "href" not in drawn


# --- the command -------------------------------------------------------------------------


def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str
) -> tuple[int, str, str]:
    monkeypatch.setenv("COLUMNS", "80")
    code = main(("shaft", *words))
    out, err = capsys.readouterr()
    return code, out, err


Capsys = pytest.CaptureFixture[str]
Patch = pytest.MonkeyPatch


def test_options_reach_the_study(capsys: Capsys, monkeypatch: Patch) -> None:
    code, out, err = run(
        capsys, monkeypatch, "--flow", "250 L/s", "--lift", "30 cm", "--lift", "0.4 m",
        "--lift", "0.3 m", "--outlet-half", "2 m2", "--inlet-half", "3 m2", "--depth", "4 m",
        "--dry-reserve", "60 cm", "--diffusers", "0.4 m", "--gap", "40 cm", "--coverage", "80 %",
        "--temperature", "8 degC", "--salinity", "30 g/kg", "--altitude", "200 m", "--json",
    )  # fmt: skip
    assert (code, err) == (0, "")
    assert json.loads(out)["shaft"] == {
        "flow_m3_s": 0.25, "lifts_m": [0.3, 0.4], "outlet_halves_m2": [2.0], "inlet_half_m2": 3.0,
        "depth_m": 4.0, "dry_reserve_m": 0.6, "diffusers_m": 0.4, "gap_m": 0.4, "coverage": 0.8,
        "temperature_degC": 8.0, "salinity_g_kg": 30.0, "altitude_m": 200.0,
    }  # fmt: skip


def test_without_options_it_is_the_shaft_of_common_practice(
    capsys: Capsys, monkeypatch: Patch
) -> None:
    code, out, _ = run(capsys, monkeypatch)
    assert code == 0
    assert out == shaft_text(studied(PRACTICE), 80)
    lifts = [read_quantity(text, "length").value for text in shaft.LIFTS]
    areas = [read_quantity(text, "area").value for text in shaft.OUTLET_HALVES]
    assert (lifts, areas) == (list(PRACTICE_LIFTS), list(PRACTICE_AREAS))


@pytest.mark.parametrize(
    ("option", "field"),
    [
        ("depth", "depth"),
        ("dry_reserve", "dry_reserve"),
        ("diffusers", "diffuser_height"),
        ("gap", "partition_gap"),
        ("coverage", "coverage"),
    ],
)
def test_defaults_are_those_of_a_shaft_in_a_scenario(option: str, field: str) -> None:
    info = Shaft.model_fields[field]
    spec = spec_of(info)
    assert spec is not None
    default = shaft.shaft_command.__kwdefaults__ or {}
    names = shaft.shaft_command.__code__.co_varnames
    values = dict(zip(names, shaft.shaft_command.__defaults__ or (), strict=False)) | default
    assert read_quantity(values[option], spec.dimension).value == info.default


def test_files_are_written_and_not_written_over(
    capsys: Capsys, monkeypatch: Patch, tmp_path: Path
) -> None:
    drawn, folder = tmp_path / "air.svg", tmp_path / "air"
    words = ("--lift", "0.3 m", "--outlet-half", "1 m2", "--svg", str(drawn))
    code, out, err = run(capsys, monkeypatch, *words, "--csv", str(folder))
    assert code == 0
    assert "wrote" in err and "wrote" not in out
    assert len(list(folder.iterdir())) == 4
    first = drawn.read_bytes()
    ElementTree.fromstring(first)
    code, out, err = run(capsys, monkeypatch, *words)
    assert code == 2 and out == "" and "--force" in err
    code, _, _ = run(capsys, monkeypatch, *words, "--force")
    assert code == 0 and drawn.read_bytes() == first


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("--flow", "1000"), 2, "m3/h"),
        (("--flow", "1,5 m3/s"), 2, "1.5 m3/s"),
        (("--depth", "3 kg"), 2, "--depth"),
        (("--lift", "-0.2 m"), 2, "negative"),
        (("--coverage", "0.4"), 2, "%"),
        (("--no-such-option",), 2, "--no-such-option"),
        (("--diffusers", "3.2 m"), 3, "what would do: lay them lower"),
        (("--gap", "0 m"), 3, "what would do: let it end about 0.5 m"),
        (("--coverage", "130 %"), 3, "what would do: give 1 to 100 %"),
        (("--flow", "0 m3/h"), 3, "what would do: give 1 to 100000 m3/h"),
        (("--temperature", "60 degC"), 3, "what would do: give 0 to 40 degC"),
    ],
)
def test_bad_input_ends_with_a_cure(
    capsys: Capsys, monkeypatch: Patch, words: tuple[str, ...], code: int, said: str
) -> None:
    ended, out, err = run(capsys, monkeypatch, *words)
    assert ended == code
    assert out == ""
    assert said in " ".join(err.split())
    assert "Traceback" not in err


def test_all_that_cannot_be_read_is_told_at_once(capsys: Capsys, monkeypatch: Patch) -> None:
    code, _, err = run(capsys, monkeypatch, "--flow", "1000", "--depth", "3,5 m")
    assert code == 2
    assert "--flow" in err and "--depth" in err


def test_help_is_plain_and_names_the_exit_codes(capsys: Capsys, monkeypatch: Patch) -> None:
    code, out, _ = run(capsys, monkeypatch, "--help")
    assert code == 0 and out.isascii()
    assert "Example: loopplan shaft" in out
    assert "Exit codes" in out
    for option in ("--flow", "--lift", "--outlet-half", "--coverage", "--svg", "--json"):
        assert option in out


def test_help_starts_light() -> None:
    code = (
        "import sys; from loopplan.cli import main; main(['shaft', '--help']); "
        "sys.exit(any(m in sys.modules for m in ('numpy', 'scipy', 'pandas', 'pint', 'networkx')))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False, cwd=ROOT)
    assert run.returncode == 0, run.stderr


# --- the page ----------------------------------------------------------------------------


def test_the_page_shows_what_is_printed() -> None:
    (block,) = blocks("output", SHAFT_PAGE.read_text(encoding="utf-8"))
    done = loopplan(*block.name.split())
    assert done.returncode == 0, done.stderr
    assert shown(done.stdout) == block.text, "stale: run `python tests/readme_blocks.py`"


def test_the_page_shows_the_chart_that_is_drawn() -> None:
    drawn = SHAFT_CHART.read_text(encoding="utf-8")
    assert drawn == shaft_svg(studied(PRACTICE)), "stale: run `python tests/readme_blocks.py`"


def test_links_of_the_page_lead_somewhere() -> None:
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", SHAFT_PAGE.read_text(encoding="utf-8")):
        assert (SHAFT_PAGE.parent / target).exists(), target
