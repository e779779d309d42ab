"""What closes the levels is also decided for works of many groups of levels."""

from __future__ import annotations

import pytest

from loopplan.errors import Refused
from loopplan.loop.compile import Compiled, compile_scenario
from loopplan.loop.linear import DENSE
from loopplan.loop.structure import check_structure
from loopplan.scenario.reader import read


def cascade(boxes: int, overflow: bool) -> Compiled:
    """Boxes in a row, each a group of its own, a lift back, and new water."""
    lines = ["loopplan: 1", "farm: {name: cascade}", "water: {temperature: 12 degC}", "elements:"]
    run = []
    for i in range(boxes):
        crest = 0.2 * (boxes - i)
        lines.append(
            f"  box {i}: {{kind: box, area: 2 m2, floor: {crest - 0.5:.1f} m, "
            f"wall top: {crest + 0.5:.1f} m}}"
        )
        lines.append(
            f"  sill {i}: {{kind: weir, crest: {crest:.1f} m, width: 1 m, crest height: 0.5 m}}"
        )
        run += [f"box {i}", f"sill {i}"]
    lines += ["  sump: {kind: sump, area: 2 m2, floor: -1 m, wall top: 1 m}"]
    lines += ["  lift: {kind: lift, flow: 200 m3/h}", "  spring: {kind: make-up, flow: 5 m3/h}"]
    run += ["sump", "lift", "box 0"]
    paths = ["flow paths:", f"  loop: [{', '.join(run)}]", "  new: [spring, sump]"]
    if overflow:
        lines += ["  over: {kind: overflow, crest: 0 m, width: 1 m, crest height: 0.5 m}"]
        paths += ["  surplus: [sump, over]"]
    return compile_scenario(read("\n".join([*lines, *paths, ""])))


def test_a_long_cascade_with_an_overflow_is_closed() -> None:
    check_structure(cascade(DENSE + 20, overflow=True))


def test_a_long_cascade_without_one_names_its_sump() -> None:
    with pytest.raises(Refused) as refused:
        check_structure(cascade(DENSE + 20, overflow=False))
    (problem,) = refused.value.problems
    assert "{sump}" in problem.message
    assert "fixed by nothing" in problem.message
