"""Uneven shares: what a wider channel and what throttled inlets take, and which is cheaper in head.

Every cure is judged by solving a file that was edited by hand, in a run of its own.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from loopplan.report.as_json import budget_document
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult
from loopplan.studies.share_judge import cure_words
from loopplan.studies.share_results import Cure, Cures

NAMES = [f"tank {i}" for i in range(1, 9)]
SILL = (
    "inlet: {kind: weir, crest: 1.2 m, width: %s m}, outlet: {kind: weir, crest: 1 m, width: 2 m}"
)
GATE = (
    "inlet: {kind: opening, invert: 0.8 m, height: 150 mm, width: %s m}, "
    "outlet: {kind: weir, crest: 1 m, width: 2 m}"
)


def text(
    width: float = 0.8,
    inlet: float = 1.0,
    port: str = SILL,
    more: str = "",
    last: str = "",
    flow: float = 1152.0,
) -> str:
    """An invented farm: eight tanks along a dividing channel of 20 m."""
    places = ", ".join(f"{name}: {2.5 * i} m" for i, name in enumerate(NAMES, 1))
    tank = f"{{kind: raceway, length: 9 m, width: 2 m, floor: 0 m, wall top: 3 m, {port % inlet}}}"
    tanks = "\n".join(f"  {name}: {tank}" for name in NAMES)
    if last:
        tanks = tanks.replace("length: 9 m, width: 2 m", last, 1)
    paths = "\n".join(f"  {name}: [feeder, {name}, sump]" for name in NAMES)
    return f"""
loopplan: 1
farm: {{name: eight tanks}}
water: {{temperature: 12 degC}}
elements:
  head box: {{kind: box, area: 3 m2, floor: 0 m, wall top: 3 m}}
  feeder: {{kind: dividing channel, length: 20 m, width: {width} m, floor up: 0.5 m,
    floor down: 0.5 m, wall top: 3 m, places: {{{places}}}}}
{tanks}
  sump: {{kind: sump, area: 50 m2, floor: -1 m, wall top: 2 m}}
  pump: {{kind: lift, flow: {flow} m3/h}}
flow paths:
  feed: [sump, pump, head box, feeder]
{paths}
levels: [{{way: outside level, at: sump, level: 0.80 m}}]
duty states: {{clean: {{}}}}
{more}
"""


def run(written: str) -> BudgetResult:
    return budget(read(written.encode(), "farm.yaml"))


def head(result: BudgetResult) -> float:
    (lift,) = result.lifts
    return lift.states[0].head


@pytest.mark.parametrize("port", [SILL, GATE])
def test_each_cure_does_what_it_says_in_an_edited_file(port: str) -> None:
    base = run(text(port=port, more="limits: {share spread: 6 %}"))
    (found,) = base.cures
    assert (found.channel, found.lift) == ("feeder", "pump")
    assert found.elements == tuple(NAMES)
    assert found.spread == base.shares[0].spread > 0.06
    assert found.widen is not None
    assert found.throttle is not None
    wide = run(text(width=found.widen.after, port=port))
    tight = run(text(inlet=found.throttle.after, port=port))
    for cure, result in ((found.widen, wide), (found.throttle, tight)):
        assert cure.spread == pytest.approx(result.shares[0].spread, rel=1e-3)
        assert 0.0595 < result.shares[0].spread <= 0.06005
        assert cure.head == pytest.approx(head(result) - head(base), abs=1e-4)
    assert found.widen.before == 0.8 < found.widen.after
    assert found.throttle.before == 1.0 > found.throttle.after
    assert found.cheaper is (found.widen if head(wide) < head(tight) else found.throttle)


def test_the_finding_names_both_and_the_cheaper() -> None:
    result = run(text())
    (finding,) = [f for f in result.findings if f.code == "shares-uneven"]
    (found,) = result.cures
    assert finding.place == "feeder"
    assert found.widen is not None
    assert found.throttle is not None
    assert finding.value == pytest.approx(result.shares[0].spread)
    assert finding.limit == pytest.approx(0.10)
    wide, tight = (head(run(text(width=w, inlet=s))) for w, s in (
        (found.widen.after, 1.0), (0.8, found.throttle.after)
    ))  # fmt: skip
    named = "widening" if wide < tight else "throttling"
    (saved,) = re.findall(rf"{named} is cheaper, by (\d+) mm", finding.message)
    assert float(saved) == pytest.approx(1000 * abs(wide - tight), abs=1.1)
    sizes = re.findall(r"to (\d\.\d\d) m", finding.message)
    assert [float(size) for size in sizes] == pytest.approx(
        [found.widen.after, found.throttle.after], abs=0.0051
    )


def test_a_spread_within_the_limit_is_no_finding_and_nothing_is_solved_again() -> None:
    for written in (text(width=2.0), text(more="limits: {share spread: 40 %}")):
        result = run(written)
        assert result.cures == ()
        assert not [f for f in result.findings if f.code == "shares-uneven"]


def test_unlike_tanks_are_not_asked_for_equal_shares() -> None:
    result = run(text(last="length: 5 m, width: 1 m"))
    assert result.shares[0].spread > 0.10
    assert result.cures == ()
    assert not [f for f in result.findings if f.code == "shares-uneven"]


def test_a_cure_that_does_not_get_there_is_left_out() -> None:
    # Sills at unlike levels: no width of the channel evens that out.
    written = text(width=3.0).replace("crest: 1.2 m", "crest: 1.19 m", 1)
    (found,) = run(written).cures
    assert found.widen is None
    assert found.throttle is not None
    assert found.cheaper is found.throttle
    tight = run(written.replace("width: 1.0 m}", f"width: {found.throttle.after} m}}"))
    assert tight.shares[0].spread == pytest.approx(found.limit, rel=0.01)


def test_where_neither_cure_gets_there_the_finding_says_so() -> None:
    result = run(text(width=3.0).replace("crest: 1.2 m", "crest: 1.1 m", 1))
    (found,) = result.cures
    assert found.widen is found.throttle is found.cheaper is None
    (finding,) = [f for f in result.findings if f.code == "shares-uneven"]
    assert "neither by widening the channel nor by throttling" in finding.message


def test_the_cheaper_is_the_one_that_asks_for_less_head() -> None:
    widen = Cure(("feeder",), "widening the channel", 0.8, 1.2, 0.10, 0.004)
    throttle = Cure(("sill",), "shortening each sill", 1.0, 0.6, 0.10, -0.003)
    found = Cures(("a", "b"), "clean", "feeder", "pump", 0.2, 0.1, widen, throttle)
    assert found.cheaper is throttle
    words = cure_words(found)
    assert "from 0.80 m to 1.20 m (0.40 m more to build), which costs 4 mm of head" in words
    assert "from 1.00 m to 0.60 m, which saves 3 mm of head" in words
    assert words.endswith("throttling is cheaper, by 7 mm of head")
    assert replace(found, throttle=None).cheaper is widen


def test_cures_stand_in_the_json() -> None:
    result = run(text())
    (told,) = budget_document(result)["share_cures"]
    (found,) = result.cures
    assert found.widen is not None
    assert told["channel"] == "feeder"
    assert told["widen"]["after_m"] == pytest.approx(found.widen.after, rel=1e-3)
    assert told["widen"]["lift_head_change_m"] == pytest.approx(found.widen.head, abs=1e-4)
    assert budget_document(run(text(width=2.0)))["share_cures"] == []
