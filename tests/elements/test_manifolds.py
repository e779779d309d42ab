"""Dividing and collecting manifolds: head along the header, shares of what is joined to it."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import accumulate

import pytest

from loopplan.errors import BadFile, NoSolution, Refused
from loopplan.loop.solution import prepare
from loopplan.loop.standing import weak_lift
from loopplan.report.terminal import terminal_text
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import BudgetResult, Row

TWO_G = 2.0 * 9.80665
NOZZLE = "{kind: nozzles, number: 1, diameter: BORE}"
SMOOTH = "friction factor: 0.0000001"


def names(count: int) -> list[str]:
    return [f"unit {i}" for i in range(1, count + 1)]


def dividing(
    header: str = "",
    count: int = 8,
    nozzle: float = 30.0,
    flow: float = 400.0,
    units: str = NOZZLE,
) -> BudgetResult:
    """A head box, a header over like units into one pond, and a pump back."""
    listed = ", ".join(names(count))
    places = f"spacing: 2 m, places: [{listed}]{', ' + header if header else ''}"
    return budget(read(dividing_text(places, count, nozzle, flow, units).encode()))


def dividing_text(
    places: str,
    count: int = 8,
    nozzle: float = 30.0,
    flow: float = 400.0,
    units: str = NOZZLE,
) -> str:
    """The same as a file, with what is said of the places."""
    each = units.replace("BORE", f"{nozzle} mm")
    return f"""
loopplan: 1
farm: {{name: dividing}}
water: {{temperature: 12 degC}}
elements:
  head box: {{kind: box, area: 3 m2, floor: -1 m, wall top: 900 m}}
  header: {{kind: dividing manifold, length: {2 * count} m, diameter: 300 mm,
    branch diameter: 110 mm, {places}}}
{chr(10).join(f"  {n}: {each}" for n in names(count))}
  pond: {{kind: box, area: 30 m2, floor: -2 m, wall top: 9 m}}
  pump: {{kind: lift, flow: {flow} m3/h}}
flow paths:
  feed: [head box, header]
{chr(10).join(f"  {n}: [header, {n}, pond]" for n in names(count))}
  back: [pond, pump, head box]
levels:
  - {{way: outside level, at: pond, level: 0 m}}
duty states: {{clean: {{}}}}
"""


def collecting(header: str = "", count: int = 8, flow: float = 400.0) -> BudgetResult:
    """A pond, like pipes out of it into one header, a sump, and a pump back."""
    listed = ", ".join(names(count))
    text = f"""
loopplan: 1
farm: {{name: collecting}}
water: {{temperature: 12 degC}}
elements:
  pond: {{kind: box, area: 30 m2, floor: -20 m, wall top: 90 m}}
{chr(10).join(f"  {n}: {{kind: pipe, length: 3 m, diameter: 110 mm}}" for n in names(count))}
  header: {{kind: collecting manifold, length: {2 * count + 2} m, diameter: 300 mm, spacing: 2 m,
    places: [{listed}], branch diameter: 110 mm{", " + header if header else ""}}}
  sump: {{kind: sump, area: 5 m2, floor: -1 m, wall top: 2 m}}
  pump: {{kind: lift, flow: {flow} m3/h}}
flow paths:
{chr(10).join(f"  {n}: [pond, {n}, header]" for n in names(count))}
  back: [header, sump, pump, pond]
levels:
  - {{way: outside level, at: sump, level: 0 m}}
duty states: {{clean: {{}}}}
"""
    return budget(read(text.encode()))


def rows_of(result: BudgetResult) -> dict[str, Row]:
    return {row.name: row for row in result.states[0].rows}


def reaches(rows: dict[str, Row]) -> list[Row]:
    return [row for name, row in rows.items() if name.startswith("header, reach")]


def branches(rows: dict[str, Row]) -> list[Row]:
    return [row for name, row in rows.items() if name.startswith("header, branch")]


def per(flow: float, bore: float) -> float:
    """Velocity head [m] of a flow [m3/s] in a bore [m]."""
    return (flow / (math.pi / 4.0 * bore**2)) ** 2 / TWO_G


def test_static_head_comes_back_along_a_smooth_dividing_header() -> None:
    """Closed form, like outflows q of N: V0^2/2g (1 - 1/N^2) less 0.4 (V0/N)^2/2g at each tee."""
    result = dividing(SMOOTH, nozzle=15.0, flow=300.0)
    rows = rows_of(result)
    whole = per(300.0 / 3600.0, 0.3)
    # The level printed with a branch is the static head in the header, before the tee but for
    # what the run loses there.
    static = [row.level_before for row in branches(rows)]
    dip = 0.4 * whole / 64.0
    assert static[-1] - static[0] == pytest.approx(whole * (1.0 - 1.0 / 64.0) - 7.0 * dip, rel=2e-3)
    without = rows_of(dividing(SMOOTH + ", run coefficient: 0", nozzle=15.0, flow=300.0))
    static = [row.level_before for row in branches(without)]
    assert static[-1] - static[0] == pytest.approx(whole * (1.0 - 1.0 / 64.0), rel=2e-3)


@pytest.mark.parametrize("count", [2, 8, 20])
def test_friction_of_like_outflows_is_a_third_of_that_of_the_whole_flow(count: int) -> None:
    """Published: Christiansen 1942, F = 1/(m+1) + 1/(2N) + sqrt(m-1)/(6 N^2) with m = 2, from
    memory; for a stated friction factor it is closed form too."""
    rows = rows_of(dividing("friction factor: 0.02", count=count, nozzle=12.0, flow=200.0))
    whole = 0.02 * 2.0 * count / 0.3 * per(200.0 / 3600.0, 0.3)
    factor = 1.0 / 3.0 + 1.0 / (2.0 * count) + 1.0 / (6.0 * count**2)
    assert sum(row.friction for row in reaches(rows)) == pytest.approx(factor * whole, rel=2e-3)


def colebrook(flow: float, bore: float, rough: float, viscosity: float) -> float:
    """Darcy friction factor by fixed-point steps of Colebrook's equation."""
    reynolds = 4.0 * flow / (math.pi * bore * viscosity)
    x = 7.0
    for _ in range(60):
        x = -2.0 * math.log10(rough / bore / 3.7 + 2.51 * x / reynolds)
    return 1.0 / x**2


def march(total: float, nozzle: float, viscosity: float, count: int = 8) -> list[float]:
    """Shares of a dividing header by a march from its closed end, the end flow bracketed."""
    loss = 1.0 / (TWO_G * (math.pi / 4.0) ** 2)
    own = 1.0 / 0.11**4 + 1.0 / (0.95**2 * nozzle**4)

    def flows(end: float) -> list[float]:
        found, run = [end], end
        # Static head before the last tee, where all that is left turns into the branch.
        static = own * loss * end**2
        for _ in range(count - 1):
            friction = colebrook(run, 0.3, 3e-5, viscosity) * 2.0 / 0.3 * per(run, 0.3)
            behind = static + per(run, 0.3) + friction
            # The branch sees the static head before the tee: found by bracketing its flow.
            low, high = 0.0, 4.0 * end
            for _ in range(100):
                side = 0.5 * (low + high)
                before = behind + 0.4 * per(side, 0.3) - per(run + side, 0.3)
                low, high = (side, high) if own * loss * side**2 < before else (low, side)
            run += side
            found.append(side)
            static = own * loss * side**2
        return found[::-1]

    low, high = 0.0, total
    for _ in range(100):
        end = 0.5 * (low + high)
        low, high = (end, high) if sum(flows(end)) < total else (low, end)
    return flows(end)


@pytest.mark.parametrize("nozzle", [40.0, 70.0, 110.0])
def test_eight_nozzles_share_as_a_march_by_bracketing_says(nozzle: float) -> None:
    from loopplan.physics.water import kinematic_viscosity

    rows = rows_of(dividing(nozzle=nozzle))
    due = march(400.0 / 3600.0, nozzle / 1000.0, float(kinematic_viscosity(12.0, 0.0)))
    found = [rows[name].flow for name in names(8)]
    assert found == pytest.approx(due, rel=1e-5)
    assert sum(found) == pytest.approx(400.0 / 3600.0, rel=1e-9)


def test_wider_nozzles_share_less_evenly() -> None:
    def spread(nozzle: float) -> float:
        rows = rows_of(dividing(nozzle=nozzle))
        flows = [rows[name].flow for name in names(8)]
        return (max(flows) - min(flows)) / (sum(flows) / 8.0)

    assert 10.0 * spread(40.0) < spread(80.0) < spread(110.0)


def test_collecting_header_falls_by_momentum() -> None:
    """Closed form: smooth, the head falls by V^2/2g from the closed end to the outlet, the
    static head by twice that; by energy alone the head would not fall."""
    rows = rows_of(collecting(SMOOTH + ", exit: none"))
    run = reaches(rows)
    whole = per(400.0 / 3600.0, 0.3)
    assert run[0].head_before - run[-1].head_after == pytest.approx(whole, rel=1e-5)
    # Still water at the closed end, before the first tee: its level is its head.
    static_out = run[-1].head_after - whole
    assert run[0].head_before - static_out == pytest.approx(2.0 * whole, rel=1e-5)
    shared = rows_of(collecting(SMOOTH + ", exit: none, run coefficient: 0.8"))
    run = reaches(shared)
    assert run[0].head_before - run[-1].head_after == pytest.approx(0.8 * whole, rel=1e-5)


def test_branch_into_a_collecting_header_as_published() -> None:
    """Published: Idelchik section 7, from memory, K = 1 + (w/V)^2 - 2 (1 - share)^2 of the branch
    on the velocity head of the joined flow."""
    rows = rows_of(collecting(SMOOTH))
    run, side = reaches(rows), branches(rows)
    for place in range(1, 8):
        joined, share = run[place].flow, side[place].flow / run[place].flow
        # What the run loses by momentum at the tee lies at the start of the next reach.
        gain = per(joined, 0.3) - per(run[place - 1].flow, 0.3)
        behind = run[place].head_before - gain
        speeds = (side[place].flow / run[place].flow * (0.3 / 0.11) ** 2) ** 2
        k = 1.0 + speeds - 2.0 * (1.0 - share) ** 2
        found = (side[place].head_before - behind) / per(joined, 0.3)
        assert found == pytest.approx(k, rel=1e-4)


def test_the_last_pipe_gives_most_to_a_collecting_header() -> None:
    rows = rows_of(collecting())
    flows = [rows[name].flow for name in names(8)]
    assert flows == sorted(flows)
    assert list(accumulate(flows)) == pytest.approx([r.flow for r in reaches(rows)], rel=1e-9)
    assert sum(flows) == pytest.approx(400.0 / 3600.0, rel=1e-9)


@pytest.mark.parametrize("made", [dividing, collecting])
def test_rows_round_the_loop_close(made: Callable[[], BudgetResult]) -> None:
    result = made()
    left = result.states[0].residuals
    assert left.water_balance <= 1e-9
    assert left.head_budget <= 1e-7
    assert max(abs(row.mismatch) for row in result.states[0].rows) <= 1e-7


def test_path_tells_the_branch_before_the_header_that_it_joins() -> None:
    rows = [r for r in collecting(count=3).states[0].rows if r.path == "unit 2"]
    told = ["unit 2", "header, branch from unit 2", "header, reach 2", "header, reach 3"]
    assert [r.name for r in rows] == told
    assert rows[0].head_before - rows[-1].head_after == pytest.approx(
        sum(r.loss for r in rows), abs=1e-9
    )


def test_two_headers_carry_half_each() -> None:
    one = rows_of(dividing(flow=400.0, nozzle=80.0))
    two = rows_of(
        dividing(
            "count: 2", flow=800.0, units="{kind: nozzles, count: 2, number: 1, diameter: 80 mm}"
        )
    )
    for name in names(8):
        assert two[name].flow == pytest.approx(2.0 * one[name].flow, rel=1e-7)


def test_branch_straight_into_a_tank_loses_its_speed_there() -> None:
    """Closed form: K 1 of the tee and K 1 of the exit, on the branch's velocity head."""
    text = """
loopplan: 1
farm: {name: straight}
water: {temperature: 12 degC}
elements:
  head box: {kind: box, area: 3 m2, floor: -1 m, wall top: 9 m}
  header: {kind: dividing manifold, length: 4 m, diameter: 300 mm, branch diameter: 150 mm,
    places: {near: 2 m, far: 4 m}, entrance: none, %s}
  near: {kind: box, area: 3 m2, floor: -1 m, wall top: 9 m, outlet: {kind: weir, crest: 0.5 m,
    width: 1 m}}
  far: {kind: box, area: 3 m2, floor: -1 m, wall top: 9 m, outlet: {kind: weir, crest: 0.5 m,
    width: 1 m}}
  pond: {kind: box, area: 30 m2, floor: -2 m, wall top: 9 m}
  pump: {kind: lift, flow: 200 m3/h}
flow paths:
  feed: [pond, pump, head box, header]
  near: [header, near, pond]
  far: [header, far, pond]
levels:
  - {way: outside level, at: pond, level: 0 m}
duty states: {clean: {}}
"""
    rows = rows_of(budget(read((text % "branch k: 1.3").encode())))
    far = rows["header, branch to far"]
    # The run's own loss at the last tee lies in the reach; the branch sees the head before it.
    due = 2.3 * per(far.flow, 0.15) - 0.4 * per(far.flow, 0.3) + per(far.flow, 0.3)
    assert far.loss == pytest.approx(due, rel=1e-6)
    rows = rows_of(budget(read((text % "orifices: {far: 60 mm}").encode())))
    far = rows["header, branch to far"]
    jet = per(far.flow, 0.06) / 0.62**2
    assert far.loss == pytest.approx(jet + 0.6 * per(far.flow, 0.3), rel=1e-6)
    assert far.flow < 0.5 * rows["header, branch to near"].flow


def test_what_is_joined_must_stand_next_to_it_in_a_path() -> None:
    text = dividing_text("places: {unit 1: 3 m, unit 2: 6 m, unit 3: 16 m}", count=8)
    with pytest.raises(Refused) as caught:
        budget(read(text.encode()))
    # Units 4 to 8 are led on from it, and it has no branch for them.
    said = [p.message for p in caught.value.problems]
    assert "'unit 4' would follow on the closed end of 'header'" in said
    listed = ", ".join([*names(8), "unit 99"])
    with pytest.raises(BadFile) as bad:
        read(dividing_text(f"spacing: 1 m, places: [{listed}]").encode())
    assert [p.message for p in bad.value.problems] == [
        "no flow path has 'unit 99' right after 'header'"
    ]


def test_header_that_runs_on_feeds_what_follows_it() -> None:
    """Closed form: past its last branch the run keeps its head but for the loss of the tee."""
    text = dividing_text(f"{SMOOTH}, spacing: 2 m, places: [unit 1, unit 2]", count=3)
    rows = rows_of(budget(read(text.encode())))
    run, side = reaches(rows), branches(rows)
    assert [r.flow for r in run] == pytest.approx(
        [sum(rows[n].flow for n in names(3)[i:]) for i in range(3)], rel=1e-9
    )
    assert run[1].loss == pytest.approx(0.4 * per(side[1].flow, 0.3), rel=1e-4)
    assert run[2].loss == pytest.approx(0.0, abs=1e-6)
    assert rows["unit 3"].head_before == pytest.approx(run[2].head_after, abs=1e-12)


def test_pump_too_weak_for_its_header_is_named() -> None:
    text = dividing_text("spacing: 2 m, places: [unit 1, unit 2]", count=2).replace(
        "{kind: lift, flow: 400.0 m3/h}",
        "{kind: lift, curve: [[0 m3/h, 1 m], [400 m3/h, 0.5 m]]}",
    )
    text = text.replace(
        "feed: [head box, header]", "feed: [head box, header]\n  up: [rise, head box]"
    )
    text = text.replace("pond, pump, head box", "pond, pump, rise").replace(
        "  pump:", "  rise: {kind: fall, crest: 3 m, width: 1 m, needed fall: 0.1 m}\n  pump:"
    )
    with pytest.raises(NoSolution) as caught:
        budget(read(text.encode()))
    assert caught.value.element == "pump"
    # What is asked where the Newton gives up, before the lift is named.
    found = weak_lift(prepare(read(text.encode())), 0)
    assert found is not None and found.element == "pump"


def test_places_by_list_and_spacing_are_those_by_distance() -> None:
    places = ", ".join(f"{name}: {2 * i} m" for i, name in enumerate(names(8), 1))
    listed = rows_of(dividing())
    given = rows_of(budget(read(dividing_text(f"places: {{{places}}}").encode())))
    assert [given[n].flow for n in names(8)] == [listed[n].flow for n in names(8)]


def test_shares_show_the_spread_and_what_a_wide_nozzle_takes() -> None:
    """Closed form: little else is lost, so that a jet takes by its bore squared, 4.04 %, and
    gives back what the mean of eight falls by."""
    (found,) = dividing(nozzle=30.0).shares
    assert found.kind == "nozzles"
    flows = [s.flow for s in found.shares]
    assert found.spread == pytest.approx((max(flows) - min(flows)) / (sum(flows) / 8.0), rel=1e-9)
    assert found.spread > 0.0
    for share in found.shares:
        assert share.nozzle == share.element
        assert share.sill is None and share.error is None
        due = 1.02**2 / ((7.0 + 1.02**2) / 8.0) - 1.0
        assert share.nozzle_error == pytest.approx(due, rel=0.02)
    taken = found.shares[0].nozzle_error
    assert taken is not None
    text = terminal_text(dividing(nozzle=30.0))
    (line,) = (t for t in text.splitlines() if t.strip().startswith("unit 1 ") and "+" in t)
    assert line.split()[-2:] == [f"{100.0 * taken:+.1f}", "%"]
    assert "nozzle 2 % wide" in text and "sill 5 mm low" not in text


@pytest.mark.parametrize(
    ("places", "message"),
    [
        ("places: {unit 1: 0 m}", "at the very start"),
        ("places: {unit 1: 17 m}", "17 m along a header of 16 m"),
        ("places: [unit 1, unit 2]", "places are due here"),
        ("spacing: 1 m, places: [unit 1, unit 1]", "a name stands twice"),
        ("places: {unit 1: 3 m}, orifices: {unit 9: 40 mm}", "'unit 9' is not joined"),
        ("places: {unit 1: 3 m}, orifice: 150 mm", "hole of 'unit 1' is wider"),
        ("places: {unit 1: 3 m}, branch diameters: {unit 1: 400 mm}", "wider than its header"),
        ("places: {unit 1: 3 m}, branch ks: {unit 1: 0}", "loses less than the run"),
        ("places: {unit 1: 3 m}, branch ks: {unit 1: -1}", "out of range"),
        ("places: {unit 1: 3 m}, size: PE 355 SDR 17", "the bore is given twice"),
    ],
)
def test_what_cannot_be_built_is_refused(places: str, message: str) -> None:
    with pytest.raises(BadFile) as caught:
        read(dividing_text(places).encode())
    assert any(message in p.message for p in caught.value.problems)


STOP = """
loopplan: 1
farm: {name: stop}
water: {temperature: 12 degC}
elements:
  head box: {kind: box, area: 3 m2, floor: 0 m, wall top: 3 m}
  header: {kind: dividing manifold, length: 4 m, diameter: 300 mm, branch diameter: 150 mm,
    places: {run a: 2 m, run b: 4 m}, inlet level: 1.1 m}
  run a: {kind: pipe, length: 2 m, diameter: 150 mm}
  run b: {kind: pipe, length: 2 m, diameter: 150 mm}
  high: {kind: box, area: 3 m2, floor: 0 m, wall top: 2 m, outlet: {kind: weir, crest: 0.9 m,
    width: 1 m}}
  low: {kind: box, area: 3 m2, floor: 0 m, wall top: 2 m, outlet: {kind: weir, crest: 0.5 m,
    width: 1 m}}
  pond: {kind: box, area: 30 m2, floor: -2 m, wall top: 1 m}
  pump: {kind: lift, flow: 200 m3/h}
flow paths:
  feed: [pond, pump, head box, header]
  a: [header, run a, high, pond]
  b: [header, run b, low, pond]
levels:
  - {way: outside level, at: pond, level: 0 m}
duty states: {clean: {}}
"""


def test_stopped_tanks_meet_through_their_header() -> None:
    """The head box stops at the header's inlet; the tanks drain through each other below it."""
    power = budget(read(STOP.encode())).power_off
    assert power is not None
    stops = {place.element: place.stop_level for place in power.cases[0].places}
    assert stops["head box"] == pytest.approx(1.1, abs=1e-9)
    assert stops["high"] == pytest.approx(0.5, abs=1e-9)
    assert stops["low"] == pytest.approx(0.5, abs=1e-9)


def test_collecting_header_has_no_inlet_level() -> None:
    with pytest.raises(BadFile) as caught:
        collecting("inlet level: 0.3 m")
    assert "no inlet of its own" in caught.value.problems[0].message
