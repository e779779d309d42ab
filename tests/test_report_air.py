"""The air supply in the reports, and the command that prints it."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest

from loopplan.cli import main
from loopplan.report.air_json import air_csv, air_json
from loopplan.report.terminal_air import air_text
from tests.air_loop import case, supply, text, water

PRICE = ("duty states:", "prices: {currency: crowns, electricity: 2}\nduty states:")


@pytest.mark.parametrize("width", [80, 100, 120])
def test_terminal_fits_and_tells_the_case(width: int) -> None:
    result = supply()
    shown = air_text(result, ("clean",), width)
    assert max(map(len, shown.splitlines())) <= width
    flat = " ".join(shown.split())
    assert "2.50 m of water + 0.5 m (near) = 3.00 m, 29.4 kPa" in flat
    at = case(result, "clean")
    assert re.search(rf"^clean +900\.0 .* {at.rise / 1e3:.1f} ", shown, re.M)
    assert re.search(r"^wash \(off\)$", shown, re.M)
    assert "not validated at farm size" in flat
    assert "no plastic without its maker's rating" in flat
    assert "one relief valve each" in flat


def test_terminal_names_the_states_left_out() -> None:
    flow = ("    kind: lift\n", "    kind: lift\n    flow: 500 m3/h\n")
    result = supply(flow, ("  clean: {}\n", "  clean: {}\n  half: {flow: 50 %}\n"))
    assert "Left out: half." in air_text(result)


def test_cost_is_shown_only_with_a_price() -> None:
    assert "a year" not in air_text(supply())
    assert "crowns" in air_text(supply(PRICE))


def test_json_is_finite_and_carries_the_study() -> None:
    result = supply()
    written = air_json(result)
    assert written == air_json(result)
    document = json.loads(written)
    assert document["schema"] == "loopplan.air/1"
    (header,) = document["headers"]
    first = header["cases"][0]
    assert first["free_air_m3_s"] == pytest.approx(0.25, rel=1e-8)
    assert sum(u["free_air_m3_s"] for u in first["users"]) == pytest.approx(0.25, rel=1e-8)
    assert document["lifts"][0]["water"][0]["flow_m3_s"] == pytest.approx(water(result, "clean"))
    assert document["agreement"]["change_by_round"][-1] <= 1e-9
    assert {a["place"] for a in document["assumed"]} >= {"header", "airlift"}


def test_csv_holds_the_numbers_of_the_json() -> None:
    files = {n: list(csv.DictReader(io.StringIO(t))) for n, t in air_csv(supply(PRICE)).items()}
    document = json.loads(air_json(supply(PRICE)))
    rows = files["headers.csv"]
    assert [r["case"] for r in rows] == document["cases"]
    assert float(rows[0]["rise_Pa"]) == document["headers"][0]["cases"][0]["rise_Pa"]
    assert len(files["users.csv"]) == 3 * len(document["cases"])
    assert float(files["ways.csv"][0]["cost_a_year"]) == document["ways"][0]["cost_a_year"]
    assert len(files["lifts.csv"]) == len(document["cases"])
    assert files["findings.csv"] == []


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(words)
    out, err = capsys.readouterr()
    return code, out, err


def test_command_air(
    capsys: pytest.CaptureFixture[str], tmp_path: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    from pathlib import Path

    monkeypatch.setenv("COLUMNS", "100")
    folder = Path(str(tmp_path))
    file = folder / "farm.yaml"
    file.write_text(text(("standby: 1", "standby: 0")), encoding="utf-8")
    out_folder = folder / "out"
    code, out, err = run(capsys, "air", str(file), "--csv", str(out_folder), "--fail-on", "severe")
    assert code == 1
    assert out.startswith("Air supply of Loop of a test")
    assert "blower-no-standby" in out
    assert "wrote 5 files" in err
    assert (out_folder / "users.csv").is_file()
    code, out, _ = run(capsys, "air", str(file), "--json")
    assert (code, json.loads(out)["farm"]) == (0, "Loop of a test")


def test_command_air_refuses_what_it_cannot_do(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "air", "teaching-loop")
    assert (code, out) == (4, "") or (code, out) == (3, "")
    assert "air supply" in err


def test_command_air_on_the_shipped_farm(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "air", "trout-channel", "--state", "all")
    assert code == 0
    assert "air-wash-starves-airlift" in out
    code, _, err = run(capsys, "air", "trout-channel", "--state", "muddy")
    assert code == 2
    assert "no state 'muddy'" in err
