"""Findings of filters, plates, lamps, cones and siphons: what fires, and what does not."""

from __future__ import annotations

import pytest

from loopplan.findings import FINDING_KINDS
from tests.test_findings_fire import Pair, at
from tests.treatment_loop import solved

_BYPASS = "bypass crest: 1.35 m"
_BREAK = "    break level: 4.2 m}"
_SETTLER = "settler: {kind: settling basin, length: 15 m, width: 9 m"
_THROTTLE = "loss: 300 mm, flow: 300 m3/h}"

PAIRS = [
    Pair("bypass-flows", "drum", _BYPASS, "bypass crest: 1.10 m", "bypass crest: 1.11 m"),
    Pair("drum-drowned", "drum", "axis: 1.1 m", "axis: 0.86 m", "axis: 0.93 m"),
    Pair("drum-differential", "drum", "trigger: 200 mm, greatest differential: 250 mm",
         "trigger: 50 mm, greatest differential: 59 mm",
         "trigger: 50 mm, greatest differential: 61 mm"),
    Pair("drum-overloaded", "drum", "trigger: 200 mm", "trigger: 59 mm", "trigger: 61 mm"),
    Pair("screen-overloaded", "drum", "drum width: 1.5 m", "drum width: 1.5 m, "
         "greatest loading: 105 m/h", "drum width: 1.5 m, greatest loading: 108 m/h"),
    Pair("settling-overloaded", "settler", _SETTLER, _SETTLER.replace("9 m", "7.9 m"),
         _SETTLER.replace("9 m", "8.1 m")),
    Pair("plate-overtopped", "tower", "rim: 6.4 m", "rim: 6.23 m", "rim: 6.24 m"),
    Pair("plate-uneven", "oxygenator", "needed fall: 0.6 m", "needed fall: 0.6 m, "
         "least depth: 150 mm", "needed fall: 0.6 m, least depth: 149 mm"),
    Pair("fall-short", "tower", "needed fall: 1.0 m", "needed fall: 1.31 m", "needed fall: 1.30 m"),
    Pair("outside-range", "oxygenator", "plate: 2.6 m, rim: 3.0 m", "plate: 2.74 m, rim: 3.0 m",
         "plate: 2.72 m, rim: 3.0 m"),
    Pair("lamps-bare", "lamps", "lamp top: 4.3 m", "lamp top: 4.51 m", "lamp top: 4.50 m"),
    Pair("cone-pressure-short", "cone", _THROTTLE, _THROTTLE.replace("}", ", throttle: 1.96 m}"),
         _THROTTLE.replace("}", ", throttle: 1.97 m}")),
    Pair("siphon-vacuum", "siphon", "crest: 4.95 m", "crest: 11.6 m", "crest: 11.5 m"),
    Pair("siphon-not-primed", "siphon", "crest: 4.95 m, priming: vacuum pump", "crest: 4.70 m",
         "crest: 4.69 m"),
    Pair("siphon-not-primed", "siphon", _BREAK, _BREAK.replace("4.2", "4.70"),
         _BREAK.replace("4.2", "4.69")),
    Pair("siphon-without-break", "siphon", ",\n" + _BREAK, "}", ",\n" + _BREAK),
    Pair("standpipe-drowned", "standpipe", "diameter: 450 mm", "diameter: 423 mm",
         "diameter: 430 mm"),
]  # fmt: skip


def test_nothing_is_said_of_the_loop_but_spare_falls_and_what_a_stop_does() -> None:
    places = {"drum", "settler", "tower", "siphon", "lamps", "standpipe", "oxygenator", "cone"}
    assert {f.code for f in solved().findings if f.place in places} <= {"head-wasted"}


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: f"{p.code} at {p.place}, {p.fires}")
def test_fires_beyond_its_limit_and_not_before(pair: Pair) -> None:
    assert at(list(solved((pair.old, pair.quiet)).findings), pair) == []
    (found,) = at(list(solved((pair.old, pair.fires)).findings), pair)
    assert found.severity is FINDING_KINDS[pair.code].severity
    assert found.state == "clean"
    assert found.cure and found.source and found.message
    assert found.value is None or found.value != found.limit
