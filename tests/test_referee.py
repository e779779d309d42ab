"""Loops solved twice: by the package, and by the referee's halving with laws of its own.

All loops are invented. Heads must agree to 1e-6 m, flows to 1e-6 of themselves.
"""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.referee import laws as ref
from tests.referee.loops import Q, Solved, basin, boxes_of, gravity_run, outside, pipe, run
from tests.referee.solve import carried, lifted, shared, walk

SIZES = {
    "crest": st.floats(4.2, 5.0), "width": st.floats(0.3, 2.0), "length": st.floats(2.0, 40.0),
    "bore": st.floats(0.15, 0.4), "k": st.floats(0.0, 5.0), "lost": st.floats(0.02, 0.3),
    "exponent": st.floats(1.0, 2.0), "sump": st.floats(-1.0, 0.2),
}  # fmt: skip


def weir_pipe_loss(
    crest: float, width: float, length: float, bore: float, k: float, lost: float, exponent: float
) -> tuple[dict[str, str], list[ref.Head]]:
    elements = {
        "sill": f"kind: weir, crest: {crest!r} m, width: {width!r} m, crest height: 0.6 m",
        "run": run(length, bore, k),
        "filter": f"kind: loss, loss: {lost!r} m, flow: {Q} m3/s, exponent: {exponent!r}",
    }
    chain = [
        ref.sill(crest, ref.sharp(width, 0.6)),
        pipe(length, bore, k),
        ref.power(lost, Q, exponent),
    ]
    return elements, chain


@settings(max_examples=12)
@given(speed=st.floats(0.4, 1.2), **SIZES)
def test_series_with_a_given_flow(speed: float, sump: float, **sizes: float) -> None:
    elements, chain = weir_pipe_loss(**sizes)
    q = speed * math.pi / 4.0 * sizes["bore"] ** 2
    found = gravity_run("sill, run, filter", elements, f"flow: {q!r} m3/s", sump)
    found.agrees(boxes_of(chain, q, sump), {"sill": q, "run": q, "filter": q})


@settings(max_examples=12)
@given(**SIZES)
def test_series_with_a_lift_curve(sump: float, **sizes: float) -> None:
    elements, chain = weir_pipe_loss(**sizes)
    points = [(0.0, 8.0), (0.04, 6.5), (0.09, 4.0), (0.12, 1.0)]
    written = ", ".join(f"[{a} m3/s, {h} m]" for a, h in points)
    found = gravity_run("sill, run, filter", elements, f"curve: [{written}]", sump)
    q = lifted(chain, ref.curve(points), sump, 0.012, 0.13)
    found.agrees(boxes_of(chain, q, sump), {"lift": q, "sill": q})


@settings(max_examples=8)
@given(
    bores=st.tuples(st.floats(0.12, 0.3), st.floats(0.12, 0.3), st.floats(0.12, 0.3)),
    crests=st.tuples(st.floats(1.0, 1.1), st.floats(1.0, 1.1), st.floats(1.0, 1.1)),
)
def test_tanks_with_unlike_inlets_share_by_head(
    bores: tuple[float, ...], crests: tuple[float, ...]
) -> None:
    elements = {"sump": basin("sump"), "head": basin(), "lift": "kind: lift, flow: 0.15 m3/s"}
    ways, arms = ["sump, lift, head"], []
    for i, (bore, crest) in enumerate(zip(bores, crests, strict=True)):
        elements |= {
            f"in {i}": run(8.0, bore, 2.0), f"tank {i}": basin(),
            f"out {i}": f"kind: weir, crest: {crest!r} m, width: 1 m, form: broad",
        }  # fmt: skip
        ways.append(f"head, in {i}, tank {i}, out {i}, sump")
        arms.append([pipe(8.0, bore, 2.0), ref.sill(crest, ref.broad(1.0), 0.75)])
    above, flows = shared(arms, 0.15, 0.0, max(crests) + 1e-3, 9.0)
    levels = {
        f"tank {i}": walk(arm, q, 0.0)[1]
        for i, (arm, q) in enumerate(zip(arms, flows, strict=True))
    }
    Solved(elements, "; ".join(ways), outside(0.0)).agrees(
        {"head": above, **levels}, {f"in {i}": q for i, q in enumerate(flows)}
    )


def test_two_lifts_in_series() -> None:
    low, high = [(0.0, 3.0), (0.1, 1.0)], [(0.0, 2.5), (0.05, 2.0), (0.1, 0.5)]
    elements = {
        "sump": basin("sump"), "upper": basin(), "middle": basin(), "tank": basin(),
        "sill": "kind: weir, crest: 1.5 m, width: 1 m, crest height: 1 m",
        "first": f"kind: lift, curve: {[[f'{q} m3/s', f'{h} m'] for q, h in low]}",
        "second": f"kind: lift, curve: {[[f'{q} m3/s', f'{h} m'] for q, h in high]}",
        "run": run(30.0, 0.2, 3.0),
    }  # fmt: skip
    sill, home = ref.sill(1.5, ref.sharp(1.0, 1.0)), pipe(30.0, 0.2, 3.0)
    # The sill cuts the loop in two: the first lift alone fixes the flow.
    q = ref.halve(lambda x: sill(x, 0.0) - ref.curve(low)(x), 0.01, 0.1)
    tank = home(q, 0.0)
    levels = {"upper": sill(q, 0.0), "tank": tank, "middle": tank - ref.curve(high)(q)}
    assert levels["middle"] < 1.5
    Solved(
        elements, "sump, first, upper, sill, middle, second, tank, run, sump", outside(0.0)
    ).agrees(levels, {"first": q, "second": q})


def test_lift_that_keeps_a_level() -> None:
    chain = [pipe(25.0, 0.2, 4.0), ref.sill(0.6, ref.by_coefficient(0.8, 0.6))]
    elements = {
        "tank": basin(), "run": run(25.0, 0.2, 4.0), "low": basin(), "sump": basin("sump"),
        "sill": "kind: weir, form: coefficient, discharge coefficient: 0.6, crest: 0.6 m, "
        "width: 0.8 m",
        "lift": "kind: lift",
    }  # fmt: skip
    more = (
        "levels:\n  - {way: outside level, at: sump, level: 0 m}\n"
        "  - {way: kept level, at: tank, level: 1.4 m, by: lift}\n"
    )
    q = carried(chain, 1.4, 0.0, 0.01, 1.0)
    Solved(elements, "tank, run, low, sill, sump, lift, tank", more).agrees(
        {"low": walk(chain, q, 0.0)[1]}, {"lift": q, "sill": q}
    )


def test_stored_volume_of_two_basins() -> None:
    run_pipe = pipe(15.0, 0.2, 2.0)
    elements = {
        "tank": "kind: round tank, diameter: 5 m, floor: 0 m, wall top: 5 m",
        "run": run(15.0, 0.2, 2.0), "lift": f"kind: lift, flow: {Q} m3/s",
        "sump": "kind: sump, area: 4 m2, floor: -1 m, wall top: 5 m",
    }  # fmt: skip
    area = math.pi * 6.25
    # Level of the sump at which both hold 30 m3 together.
    sump = ref.halve(lambda z: area * run_pipe(Q, z) + 4.0 * (z + 1.0) - 30.0, -1.0, 3.0)
    more = "levels: [{way: stored volume, in: [tank, sump], volume: 30 m3}]\n"
    Solved(elements, "tank, run, sump, lift, tank", more).agrees(
        {"sump": sump, "tank": run_pipe(Q, sump)}, {"run": Q}
    )


def test_overflow_closes_the_level() -> None:
    new, surplus = 0.004, ref.sill(0.3, ref.sharp(0.4, 0.5))
    run_pipe = pipe(15.0, 0.2, 2.0)
    elements = {
        "tank": basin(), "run": run(15.0, 0.2, 2.0), "sump": basin("sump"),
        "lift": f"kind: lift, count: 2, flow: {Q / 2.0} m3/s",
        "well": f"kind: make-up, flow: {new} m3/s",
        "spill": "kind: overflow, crest: 0.3 m, width: 0.4 m, crest height: 0.5 m",
    }  # fmt: skip
    level = surplus(new, -5.0)
    Solved(elements, "tank, run, sump, lift, tank; well, sump; sump, spill").agrees(
        {"sump": level, "tank": run_pipe(Q, level)}, {"spill": new, "lift": Q}
    )


def test_pipe_between_two_tanks_carries_what_their_levels_ask() -> None:
    # Two tanks at unlike sills, gates of unlike width before them, a pipe between them.
    gates, crests, cd = (0.25, 0.12), (1.0, 1.05), 0.6
    elements = {"sump": basin("sump"), "head": basin(), "lift": "kind: lift, flow: 0.1 m3/s"}
    ways = ["sump, lift, head"]
    for i in (0, 1):
        elements |= {
            f"gate {i}": f"kind: opening, invert: 0.9 m, height: 200 mm, width: {gates[i]} m",
            f"tank {i}": basin(),
            f"out {i}": f"kind: weir, form: coefficient, discharge coefficient: {cd}, "
            f"crest: {crests[i]} m, width: 1 m",
        }
        ways.append(f"head, gate {i}, tank {i}, out {i}, sump")
    elements["link"] = run(4.0, 0.15, 1.5) + ", friction factor: 0.02"
    ways.append("tank 0, link, tank 1")
    link = ref.stated(1.5 + 0.02 * 4.0 / 0.15, 0.15)

    def tank(i: int, above: float, gives: float) -> float:
        def miss(level: float) -> float:
            into = ref.opening_flow(above, level, 0.9, 0.2, gates[i], 0.62)
            out = ref.by_coefficient(1.0, cd)(max(level - crests[i], 0.0))
            return out + gives - into

        return ref.halve(miss, 0.5, above)

    def along(above: float) -> float:
        return ref.halve(lambda x: link(x, tank(1, above, -x)) - tank(0, above, x), -0.02, 0.02)

    def total(above: float) -> float:
        x = along(above)
        levels = (tank(0, above, x), tank(1, above, -x))
        out = (ref.by_coefficient(1.0, cd)(z - c) for z, c in zip(levels, crests, strict=True))
        return sum(out)

    above = ref.halve(lambda z: total(z) - 0.1, 1.25, 2.5)
    x = along(above)
    # Against its path: the tank that is named last has the higher sill.
    assert x < -1e-3
    Solved(elements, "; ".join(ways), outside(0.0)).agrees(
        {"head": above, "tank 0": tank(0, above, x), "tank 1": tank(1, above, -x)}, {"link": x}
    )
