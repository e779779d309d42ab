"""What closes the levels of a loop: decided before any number is solved, and said in words.

Groups of levels and their closures follow the water balance; all loops are invented.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import permutations
from random import Random

import pytest

from loopplan.errors import NoSolution, Problem, Refused
from loopplan.loop.solution import Solved, prepare, solve_scenario
from loopplan.scenario.reader import read

PARTS = {
    "tank": "kind: box, area: 20 m2, floor: 0 m, wall top: 1.6 m",
    "sill": "kind: weir, crest: 1.2 m, width: 1.5 m, crest height: 1.2 m",
    "sump": "kind: sump, area: 5 m2, floor: -0.8 m, wall top: 1 m",
    "pump": "kind: lift, flow: 100 m3/h",
}
LOOP = ("tank, sill, sump, pump, tank",)
BOX = "kind: box, area: 4 m2, floor: -0.4 m, wall top: 1.4 m"
WELL = "kind: make-up, flow: 2 m3/h"
DRAIN = "kind: pipe, length: 10 m, diameter: 200 mm"
SPILL = "kind: overflow, crest: 0.4 m, width: 0.6 m, crest height: 1.2 m"


def outside(at: str, level: float) -> str:
    return f"{{way: outside level, at: {at}, level: {level} m}}"


def kept(at: str, level: float, by: str) -> str:
    return f"{{way: kept level, at: {at}, level: {level} m, by: {by}}}"


def text(parts: Mapping[str, str], paths: Sequence[str], levels: Sequence[str] = ()) -> str:
    lines = ["loopplan: 1", "farm: {name: Invented loop}", "water: {temperature: 12 degC}"]
    lines += ["elements:", *(f"  {name}: {{{fields}}}" for name, fields in parts.items())]
    lines += ["flow paths:", *(f"  way {i}: [{names}]" for i, names in enumerate(paths))]
    if levels:
        lines += ["levels:", *(f"  - {entry}" for entry in levels)]
    return "\n".join([*lines, "duty states: {clean: {}}", ""])


def solved(parts: Mapping[str, str], paths: Sequence[str], levels: Sequence[str] = ()) -> Solved:
    return solve_scenario(read(text(parts, paths, levels).encode(), "farm.yaml"))


def refused(
    parts: Mapping[str, str], paths: Sequence[str], levels: Sequence[str] = ()
) -> dict[str, Problem]:
    """Problems of a loop that must be refused before solving, by the text of their line."""
    written = text(parts, paths, levels)
    with pytest.raises(Refused) as caught:
        prepare(read(written.encode(), "farm.yaml"))
    assert all(p.cure for p in caught.value.problems)
    return {written.splitlines()[(p.line or 0) - 1].strip(): p for p in caught.value.problems}


def line(name: str, parts: Mapping[str, str]) -> str:
    return f"{name}: {{{parts[name]}}}"


def level(found: Solved, basin: str) -> float:
    nodes = found.compiled.graph.nodes
    (i,) = [i for i, n in enumerate(nodes) if n.basin is not None and n.basin[0] == basin]
    return float(found.heads[i, 0])


def flow(found: Solved, element: str) -> float:
    branches = found.compiled.graph.branches
    (j,) = [j for j, b in enumerate(branches) if b.element == element]
    return float(found.flows[j, 0])


def test_level_of_a_tank_between_sill_and_given_flow_cannot_be_given() -> None:
    at_tank = outside("tank", 1.3)
    problems = refused(PARTS, LOOP, [at_tank])
    assert set(problems) == {f"- {at_tank}", line("sump", PARTS)}
    assert "{tank} is fixed twice: it is given at 'tank'" in problems[f"- {at_tank}"].message
    assert "{sump} is fixed by nothing" in problems[line("sump", PARTS)].message


def test_nothing_given_names_the_sump() -> None:
    problems = refused(PARTS, LOOP)
    (problem,) = problems.values()
    assert set(problems) == {line("sump", PARTS)}
    assert "{sump} is fixed by nothing" in problem.message
    for word in ("outside level", "kept level", "stored volume", "overflow"):
        assert word in problem.cure


def test_level_of_the_sump_closes_the_loop() -> None:
    found = solved(PARTS, LOOP, [outside("sump", 0.2)])
    assert level(found, "sump") == 0.2
    assert flow(found, "sill") == pytest.approx(100.0 / 3600.0, rel=1e-8)


def test_loop_without_a_lift_names_all_of_it() -> None:
    parts = {**PARTS, "pump": DRAIN}
    (problem,) = refused(parts, LOOP, [outside("sump", 0.2)]).values()
    assert "tank > sill > sump > pump > tank has no lift" in problem.message


def test_water_does_not_run_uphill_by_gravity() -> None:
    parts = {**PARTS, "filter": BOX, "drain": DRAIN}
    paths = ("tank, sill, filter, drain, sump, pump, tank",)
    problems = refused(parts, paths, [outside("filter", 0.3), outside("sump", 0.5)])
    assert set(problems) == {line("drain", parts)}
    (problem,) = problems.values()
    assert "from 'filter' (0.300 m) through drain to 'sump' (0.500 m)" in problem.message
    # Downhill the same two levels are another matter: their exchange must be that declared.
    with pytest.raises(NoSolution):
        solved(parts, paths, [outside("filter", 0.5), outside("sump", 0.3)])


def test_level_cannot_be_given_and_kept() -> None:
    parts = {**PARTS, "pump": "kind: lift"}
    problems = refused(parts, LOOP, [outside("sump", 0.2), kept("sump", 0.2, "pump")])
    assert set(problems) == {f"- {kept('sump', 0.2, 'pump')}"}
    (problem,) = problems.values()
    assert "'sump' is given twice" in problem.message


def test_group_fixed_by_its_sill_and_by_a_level_that_a_valve_keeps() -> None:
    parts = {**PARTS, "filter": BOX, "throttle": "kind: valve, diameter: 200 mm"}
    paths = ("tank, sill, filter, throttle, sump, pump, tank",)
    entry = kept("tank", 1.4, "throttle")
    problems = refused(parts, paths, [outside("sump", 0.2), entry])
    assert set(problems) == {f"- {entry}", line("filter", parts)}
    assert "{tank} is fixed twice: it is given at 'tank'" in problems[f"- {entry}"].message
    assert "{filter} is fixed by nothing" in problems[line("filter", parts)].message
    # Where the valve stands it can keep a level.
    found = solved(parts, paths, [outside("sump", 0.2), kept("filter", 0.5, "throttle")])
    assert level(found, "filter") == 0.5


def test_kept_tank_leaves_its_sump_open() -> None:
    parts = {**PARTS, "pump": "kind: lift"}
    problems = refused(parts, LOOP, [kept("tank", 1.3, "pump")])
    assert set(problems) == {line("sump", PARTS)}
    found = solved(parts, LOOP, [kept("tank", 1.3, "pump"), outside("sump", 0.2)])
    assert flow(found, "pump") == pytest.approx(flow(found, "sill"), rel=1e-8)


def test_two_outside_levels_that_the_flows_do_not_bear() -> None:
    with pytest.raises(NoSolution, match="the given levels and flows disagree") as caught:
        solved(PARTS, LOOP, [outside("tank", 1.4), outside("sump", 0.2)])
    assert caught.value.element == "tank"


def test_lift_keeps_the_level_of_its_sump() -> None:
    parts = {**PARTS, "pump": "kind: lift", "well": WELL, "waste": SPILL.replace("0.4", "1.25")}
    paths = (*LOOP, "well, sump", "tank, waste")
    found = solved(parts, paths, [kept("sump", 0.3, "pump")])
    # All that is new can leave over the tank's own overflow only.
    assert level(found, "sump") == 0.3
    assert flow(found, "waste") == pytest.approx(2.0 / 3600.0, rel=1e-6)
    assert flow(found, "pump") == pytest.approx(flow(found, "sill") + 2.0 / 3600.0, rel=1e-8)


def test_stored_volume_stays() -> None:
    parts = {"tank": PARTS["tank"], "drain": DRAIN, "sump": PARTS["sump"]}
    paths = ("tank, drain, sump, pump, tank",)
    volume = "{way: stored volume, in: [tank, sump], volume: 24 m3}"
    for share in (50, 100, 150):
        given = {**parts, "pump": f"kind: lift, flow: {share} m3/h"}
        found = solved(given, paths, [volume])
        water = 20.0 * level(found, "tank") + 5.0 * (level(found, "sump") + 0.8)
        assert water == pytest.approx(24.0, rel=1e-11)
    # More flow stands higher before the drain, and what is there is missing in the sump.
    assert level(found, "tank") - level(found, "sump") > 0.05


def test_each_group_without_a_closure_is_named() -> None:
    # Two loops that no water joins: each needs a closure of its own.
    other = {f"other {name}": fields for name, fields in PARTS.items()}
    paths = (*LOOP, "other tank, other sill, other sump, other pump, other tank")
    parts = {**PARTS, **other}
    problems = refused(parts, paths)
    assert set(problems) == {line("sump", parts), line("other sump", parts)}
    problems = refused(parts, paths, [outside("sump", 0.2)])
    assert set(problems) == {line("other sump", parts)}
    found = solved(parts, paths, [outside("sump", 0.2), outside("other sump", 0.1)])
    assert level(found, "other sump") == 0.1


def test_overflow_closes_the_level() -> None:
    parts = {**PARTS, "well": WELL, "spill": SPILL}
    found = solved(parts, (*LOOP, "well, sump", "sump, spill"))
    assert flow(found, "spill") == pytest.approx(2.0 / 3600.0, rel=1e-6)
    assert level(found, "sump") > 0.4


def test_exchange_that_is_not_what_was_declared_names_the_flows() -> None:
    parts = {**PARTS, "well": WELL}
    paths = (*LOOP, "well, sump")
    entry = outside("sump", 0.2)[:-1] + ", exchange: 5 m3/h}"
    with pytest.raises(NoSolution) as caught:
        solved(parts, paths, [entry])
    said = str(caught.value)
    assert caught.value.element == "sump"
    for piece in ("2.00 m3/h", "5.00 m3/h", "'well'", "'pump' 100.00 m3/h"):
        assert piece in said
    found = solved(parts, paths, [entry.replace("5 m3/h", "2 m3/h")])
    assert flow(found, "well") == pytest.approx(2.0 / 3600.0)


def test_make_up_needs_a_way_out() -> None:
    parts = {**PARTS, "well": WELL}
    problems = refused(parts, (*LOOP, "well, sump"))
    assert "{sump}" in "".join(p.message for p in problems.values())
    # A stored volume has no way out either: it would grow.
    volume = "{way: stored volume, in: [sump], volume: 5 m3}"
    with pytest.raises(NoSolution, match=r"'well' 2\.00 m3/h"):
        solved(parts, (*LOOP, "well, sump"), [volume])


CLOSURES = {
    "tank": [outside("tank", 1.3)],
    "nothing": [],
    "sump": [outside("sump", 0.2)],
    "both": [outside("tank", 1.3), outside("sump", 0.2)],
}


@pytest.mark.parametrize("closure", CLOSURES)
def test_order_in_the_file_does_not_matter(closure: str) -> None:
    def verdict(names: Sequence[str], paths: Sequence[str], levels: Sequence[str]) -> object:
        parts = {name: PARTS[name] for name in names}
        try:
            found = solved(parts, paths, levels)
        except Refused:
            problems = refused(parts, paths, levels)
            # Names are listed as the file has them.
            return {at: sorted(p.message.replace(",", "").split()) for at, p in problems.items()}
        except NoSolution as error:
            return error.quantity
        return round(level(found, "tank"), 9), round(level(found, "sump"), 9)

    halves = ("tank, sill, sump", "sump, pump, tank")
    entries = CLOSURES[closure]
    due = verdict(list(PARTS), LOOP, entries)
    r = Random(1)
    for names in permutations(PARTS):
        paths = r.choice((LOOP, halves, halves[::-1], ("sump, pump, tank, sill, sump",)))
        assert verdict(names, paths, r.choice((entries, entries[::-1]))) == due
