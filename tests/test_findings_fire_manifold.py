"""Findings of a manifold: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS, Finding
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from tests.test_findings_fire import Pair, at

MANIFOLD = """\
loopplan: 1
farm: {name: Header}
water: {temperature: 12 degC}
elements:
  head box: {kind: box, area: 3 m2, floor: -1 m, wall top: 9 m}
  header: {kind: dividing manifold, length: 8 m, diameter: 220 mm, axis: 0 m, spacing: 2 m,
    places: [jet 1, jet 2, jet 3, jet 4], branch diameter: 110 mm}
  jet 1: {kind: nozzles, number: 1, diameter: 60 mm}
  jet 2: {kind: nozzles, number: 1, diameter: 60 mm}
  jet 3: {kind: nozzles, number: 1, diameter: 60 mm}
  jet 4: {kind: nozzles, number: 1, diameter: 60 mm}
  pond: {kind: box, area: 30 m2, floor: -2 m, wall top: 2 m}
  pump: {kind: lift, flow: 180 m3/h}
flow paths:
  feed: [pond, pump, head box, header]
  a: [header, jet 1, pond]
  b: [header, jet 2, pond]
  c: [header, jet 3, pond]
  d: [header, jet 4, pond]
levels:
  - {way: outside level, at: pond, level: 0 m}
duty states: {clean: {}}
"""
"""An invented header of four jets; nothing is to be said about it."""

BORE = "diameter: 220 mm"
PAIRS = [
    Pair("manifold-uneven", "header", BORE, "diameter: 130 mm", "diameter: 200 mm"),
    # The jets take 1.27 m, and the static head is lowest before the first tee: about 1.2 m.
    Pair("pipe-not-full", "header", "axis: 0 m", "axis: 1.15 m", "axis: 1.0 m"),
    Pair("velocity-high", "header", BORE, "diameter: 200 mm", "diameter: 210 mm"),
    Pair("velocity-low", "header", BORE, "diameter: 235 mm", "diameter: 228 mm"),
]  # fmt: skip


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: f"{p.code} at {p.place}")
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    def found(new: str) -> list[Finding]:
        text = MANIFOLD.replace(pair.old, new)
        return at(list(budget(read(text, "header.yaml")).findings), pair)

    assert MANIFOLD.count(pair.old) == 1
    assert found(pair.quiet) == []
    (fired,) = found(pair.fires)
    assert fired.severity is FINDING_KINDS[pair.code].severity
    assert fired.cure and fired.source and fired.message
    assert fired.value is not None and fired.value != fired.limit


def test_nothing_is_said_of_the_header_as_it_is() -> None:
    said = budget(read(MANIFOLD, "header.yaml")).findings
    assert {f.code for f in said if f.place == "header"} == set()


def test_unlike_branches_are_not_called_uneven() -> None:
    """One branch throttled on purpose is no fault of the header."""
    text = MANIFOLD.replace("branch diameter", "orifices: {jet 1: 40 mm}, branch diameter")
    codes = {f.code for f in budget(read(text, "header.yaml")).findings}
    assert "manifold-uneven" not in codes
