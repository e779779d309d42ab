"""The water balance in the reports."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import pytest

from loopplan.report.as_csv import budget_csv
from loopplan.report.as_json import budget_json
from loopplan.report.terminal import terminal_text
from loopplan.studies.results import BudgetResult
from tests.report_cases import result


def with_balance(**changes: object) -> BudgetResult:
    base = result()
    first = base.states[0]
    balance = replace(first.balance, **changes)  # type: ignore[arg-type]
    return replace(base, states=(replace(first, balance=balance), *base.states[1:]))


def document(found: BudgetResult) -> dict[str, object]:
    water: dict[str, object] = json.loads(budget_json(found))["states"][0]["water"]
    return water


def table(found: BudgetResult, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(budget_csv(found)[f"{name}.csv"])))


@pytest.mark.parametrize("width", [80, 100, 120])
def test_terminal_tells_each_loss_by_the_hour_and_by_the_day(width: int) -> None:
    text = terminal_text(result(), width=width)
    # 0.2 and 0.1 L/s, of 1 L/s.
    assert re.search(r"^filter +0\.7200 +17\.28 +wash water, mean of a day$", text, re.M)
    assert re.search(r"^sludge pump +0\.3600 +8\.640 +sludge, exit in a flow path$", text, re.M)
    assert re.search(r"^the rest +2\.520 +60\.48 +surplus", text, re.M)


def test_terminal_says_what_is_missing() -> None:
    text = terminal_text(with_balance(replacement=0.0002))
    assert re.search(r"^missing +0\.3600 +8\.640 +more is lost than is new$", text, re.M)
    assert "the rest" not in text


def test_terminal_defines_recirculation_beside_each_figure() -> None:
    text = " ".join(terminal_text(result()).split())
    assert "99.60 % of the flow is not new: (round - new)/round" in text
    # 86.4 m3/d in 840 m3; 0.001 m3/s for 0.002 kg/s of feed and 0.0005 kg/s of fish.
    assert "10.3 % a day of the 840.0 m3 in basins, channels and pipes" in text
    assert "500 L for each kg of feed (2.00 kg of feed to each m3)" in text
    assert "2000 L for each kg of fish grown" in text


def test_terminal_leaves_out_what_is_not_stated() -> None:
    text = terminal_text(with_balance(feed=None, production=None, losses=(), replacement=0.0))
    assert "recirculation" not in text
    assert "of the new water" not in text
    fed = terminal_text(with_balance(feed=None, production=None))
    assert "recirculation" in fed
    assert "kg of" not in fed


def test_json_defines_every_index_that_it_gives() -> None:
    found = json.loads(budget_json(result()))
    indices = found["states"][0]["water"]["indices"]
    assert list(indices) == list(found["water_indices"])
    assert indices["passes"] == 250.0
    assert indices["reused_share"] == 0.996
    assert indices["exchanged_a_day"] == pytest.approx(86.4 / 840.0)
    assert indices["water_per_feed_m3_kg"] == 0.5
    assert indices["feed_per_water_kg_m3"] == 2.0
    assert indices["water_per_fish_m3_kg"] == 2.0


def test_json_losses_and_surplus_are_the_replacement() -> None:
    water = document(result())
    losses = water["losses"]
    assert isinstance(losses, list)
    assert [loss["what"] for loss in losses] == ["wash water", "sludge"]
    total = sum(loss["mean_m3_s"] for loss in losses)
    assert total == pytest.approx(water["lost_m3_s"])
    assert total + water["surplus_m3_s"] == pytest.approx(water["replacement_m3_s"])


def test_json_has_null_for_an_index_that_nothing_is_stated_for() -> None:
    indices = document(with_balance(feed=None))["indices"]
    assert isinstance(indices, dict)
    assert indices["water_per_feed_m3_kg"] is None


def test_csv_tells_losses_and_indices_of_each_state() -> None:
    losses = table(result(), "water_losses")
    assert [(row["state"], row["place"]) for row in losses] == [
        ("clean", "filter"), ("clean", "sludge pump"), ("fouled", "filter"),
        ("fouled", "sludge pump"),
    ]  # fmt: skip
    assert [float(row["mean_m3_s"]) for row in losses[:2]] == [0.0002, 0.0001]
    indices = table(result(), "water_indices")
    assert {row["state"] for row in indices} == {"clean", "fouled"}
    assert all(row["definition"] for row in indices)
    whole = table(result(), "water")[0]
    assert (float(whole["lost_m3_s"]), float(whole["surplus_m3_s"])) == (0.0003, 0.0007)


def test_csv_without_losses_keeps_its_header() -> None:
    bare = replace(result(), states=())
    assert budget_csv(bare)["water_losses.csv"] == "state,place,what,mean_m3_s,averaged\n"
