"""Names along a channel must be what stands next to it in the flow paths."""

from __future__ import annotations

import pytest

from loopplan.errors import BadFile, Problem
from loopplan.scenario.reader import read

FEED = "{one: 1 m, two: 2 m}"
SPILL = "{one: 0 m, two: 1 m}"


def problems(feed: str = FEED, spill: str = SPILL) -> list[Problem]:
    """What is wrong with an invented farm of two tanks between two channels."""
    tank = (
        "{kind: raceway, length: 9 m, width: 2 m, floor: 0 m, wall top: 2 m, "
        "inlet: {kind: weir, crest: 1 m, width: 1 m}, "
        "outlet: {kind: weir, crest: 0.9 m, width: 1 m}}"
    )
    text = f"""
loopplan: 1
farm: {{name: two tanks}}
water: {{temperature: 12 degC}}
elements:
  feeder: {{kind: dividing channel, length: 3 m, width: 1 m, floor up: 0.5 m, floor down: 0.5 m,
    places: {feed}}}
  one: {tank}
  two: {tank}
  collector: {{kind: collecting channel, length: 3 m, width: 1 m, floor up: 0 m, floor down: 0 m,
    places: {spill}}}
  sump: {{kind: sump, area: 5 m2, floor: -1 m, wall top: 2 m}}
  pump: {{kind: lift, flow: 200 m3/h}}
  head box: {{kind: box, area: 3 m2, floor: 0 m, wall top: 3 m}}
flow paths:
  first: [head box, feeder, one, collector, sump, pump, head box]
  second: [feeder, two, collector]
levels: [{{way: outside level, at: sump, level: 0.3 m}}]
duty states: {{clean: {{}}}}
"""
    try:
        read(text.encode(), "farm.yaml")
    except BadFile as error:
        return list(error.problems)
    return []


def test_places_that_stand_in_the_flow_paths_are_taken() -> None:
    assert problems() == []


@pytest.mark.parametrize(
    ("places", "key", "message", "cure"),
    [
        ({"feed": "{one: 1 m, tow: 2 m}"}, "feeder: places: tow", "right after", "`two`?"),
        ({"spill": "{one: 0 m, tow: 1 m}"}, "collector: places: tow", "right before", "`two`?"),
        ({"feed": "{one: 1 m, sump: 2 m}"}, "feeder: places: sump", "right after", "flow path"),
        ({"feed": "{one: 1 m}"}, "feeder: places", "'two' stands right after", "add `two: ...`"),
        ({"spill": "{two: 1 m}"}, "collector: places", "'one' stands right before", "`one: ...`"),
    ],
)
def test_a_place_that_is_wrong_or_left_out_is_refused_once(
    places: dict[str, str], key: str, message: str, cure: str
) -> None:
    (problem,) = problems(**places)
    assert problem.key == f"elements: {key}"
    assert message in problem.message
    assert cure in problem.cure
