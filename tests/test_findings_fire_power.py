"""Findings of a stop of every lift: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS, Finding
from loopplan.studies.budget import budget_of
from loopplan.studies.poweroff import power_off
from loopplan.studies.poweroff_judge import judge_power_off
from tests.power_loop import at, cases, drop, solved
from tests.test_findings_fire import Pair

# The sump comes to rest at 0.592 m.
IN_FILE = [
    Pair("sump-too-small", "sump", "top: 0.60 m", "top: 0.59 m", "top: 0.593 m"),
    Pair("flap-stuck-overflows", "pump", "top: 0.60 m", "top: 0.62 m", "top: 1.20 m"),
    Pair("restart-short", "farm", "propeller pump", "propeller pump, flap: no",
         "propeller pump, flap: yes"),
    Pair("drained-below", "pump", "propeller pump", "propeller pump, least level: 0.593 m",
         "propeller pump, least level: 0.590 m"),
]  # fmt: skip
FLOAT = Pair("make-up-opens-during-drain-back", "well", "float level", "0.593", "0.590")
PAIRS = [*IN_FILE, FLOAT]


def findings(*changes: tuple[str, str]) -> list[Finding]:
    found = solved(*changes)
    power = power_off(found)
    assert power is not None
    return list(judge_power_off(found, power, budget_of(found).states))


@pytest.mark.parametrize("pair", IN_FILE, ids=lambda p: p.code)
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert pair.code not in {f.code for f in findings((pair.old, pair.quiet))}
    (found,) = [f for f in findings((pair.old, pair.fires)) if f.code == pair.code]
    assert (found.place, found.state) == (pair.place, "clean")
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.cure and found.source and found.message
    assert found.value is not None and found.limit is not None and found.value != found.limit


@pytest.mark.parametrize(("litres", "runs_over"), [(-1.0, True), (1.0, False)])
def test_one_litre_of_sump_decides(litres: float, runs_over: bool) -> None:
    # Closed form: just full is where the sump, raised by what comes back, meets its wall.
    full = 0.20 + drop(cases()[0]) / 5.0
    top = full + litres / 1000.0 / 5.0
    found = [f for f in findings(("top: 0.60 m", f"top: {top!r} m")) if f.code == "sump-too-small"]
    assert bool(found) is runs_over
    if runs_over:
        assert found[0].place == "sump"
        assert found[0].value == pytest.approx(0.001, abs=1e-6)


def test_without_a_flap_it_is_no_failure_but_the_rule() -> None:
    assert {f.code for f in findings()} == {"flap-stuck-overflows"}
    codes = {f.code for f in findings(("propeller pump", "propeller pump, flap: no"))}
    assert codes == {"sump-too-small", "restart-short"}


def test_what_stands_ready_is_what_the_sump_holds() -> None:
    case, _ = cases(("propeller pump", "propeller pump, flap: no"))
    # Full to its wall at 0.60 m; the floor at -0.80 m can be drawn down to.
    assert at(case, "sump").stop_volume == pytest.approx(1.40 * 5.0)
    assert case.held == pytest.approx(1.40 * 5.0)
    assert case.short == pytest.approx(at(case, "tank").drained - 1.40 * 5.0)


@pytest.mark.parametrize(("level", "fires"), [(FLOAT.fires, True), (FLOAT.quiet, False)])
def test_a_float_above_the_level_at_rest_opens(level: str, fires: bool) -> None:
    well = f"  well: {{kind: make-up, flow: 1 m3/h, float level: {level} m}}\n"
    found = findings(
        ("flow paths:\n", well + "flow paths:\n  new: [well, sump]\n"),
        (
            "way: stored volume, in: [sump], volume: 5 m3",
            "way: outside level, at: sump, level: 0.20 m",
        ),
    )
    told = [f for f in found if f.code == FLOAT.code]
    assert bool(told) is fires
    if fires:
        assert (told[0].place, told[0].limit) == ("well", float(level))


def test_findings_reach_the_budget() -> None:
    result = budget_of(solved(("propeller pump", "propeller pump, flap: no")))
    assert "sump-too-small" in {f.code for f in result.findings}
    assert result.power_off is not None and not result.power_off.stuck
