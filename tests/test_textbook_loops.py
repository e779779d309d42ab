"""Worked examples of networks and flow balances, as scenario files through the loop solver."""

from __future__ import annotations

import math

import pytest

from loopplan.physics.water import kinematic_viscosity
from loopplan.scenario.reader import read
from loopplan.studies.budget import budget
from loopplan.studies.results import StateResult
from tests.validation_page import Published

FOOT, CUBIC_FOOT = 0.3048, 0.3048**3
BARE = "entrance: none, exit: none"
"""Pipes of textbook networks have neither entrance nor exit loss unless stated."""


def solve(elements: str, paths: str, *, temperature: float = 15.0, more: str = "") -> StateResult:
    """Solve a loop without fish in its first duty state."""
    return solve_all(elements, paths, temperature=temperature, more=more)[0]


def solve_all(
    elements: str, paths: str, *, temperature: float = 15.0, more: str = ""
) -> tuple[StateResult, ...]:
    text = (
        f"loopplan: 1\nfarm: {{name: example}}\nwater: {{temperature: {temperature!r} degC}}\n"
        f"elements:\n{elements}\nflow paths:\n{paths}\n"
        + (more or "duty states: {clean: {}}")
    )  # fmt: skip
    states = budget(read(text, "example.yaml")).states
    for state in states:
        assert state.residuals.water_balance <= 1e-9
        assert state.residuals.head_budget <= 1e-7
    return states


def flow(state: StateResult, element: str) -> float:
    """Flow of an element [m3/s]."""
    return next(r.flow for r in state.rows if r.element == element)


def loss(state: StateResult, element: str) -> float:
    """Loss of an element [m]."""
    return next(r.loss for r in state.rows if r.element == element)


def run(name: str, length: float, bore: float, *fields: str) -> str:
    more = "".join(f", {f}" for f in (*fields, BARE))
    return f"  {name}: {{kind: pipe, length: {length!r} m, diameter: {bore!r} m{more}}}\n"


def water(name: str, level: float) -> str:
    return f"  {name}: {{kind: open water, level: {level!r} m}}\n"


def test_three_reservoirs(published: Published) -> None:
    elements = "".join(
        water(f"lake {n}", z * FOOT) + run(n, length * FOOT, FOOT, "friction factor: 0.02")
        for n, z, length in (("A", 100.0, 1000.0), ("B", 20.0, 500.0), ("C", 0.0, 400.0))
    )
    state = solve(elements, "  down: [lake A, A, C, lake C]\n  side: [A, B, lake B]")
    source = "Munson et al., Fundamentals of Fluid Mechanics, example 8.14, p. 462"
    for name, printed in (("A", 12.5), ("B", 2.26), ("C", 10.3)):
        found = flow(state, name) / CUBIC_FOOT
        published("N1", source, f"flow of pipe {name}", printed, found, "1.5 %", "ft3/s", "read")


def test_parallel_pipes_and_the_same_in_series(published: Published) -> None:
    low, high = 10.0, 30.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if kinematic_viscosity(middle) > 1.02e-6 else (low, middle)
    pipes = "".join(
        run(f"pipe {n}", length, bore, f"roughness: {rough} mm")
        for n, length, bore, rough in (
            (1, 100.0, 0.08, 0.24),
            (2, 150.0, 0.06, 0.12),
            (3, 80.0, 0.04, 0.20),
        )
    )
    ends = water("upper", 20.3) + water("lower", 0.0)
    paths = "\n".join(f"  way {n}: [upper, pipe {n}, lower]" for n in (1, 2, 3))
    state = solve(ends + pipes, paths, temperature=low)
    source = "White, Fluid Mechanics, examples 6.17 and 6.18"
    total = 0.0
    for n, printed in ((1, 62.5), (2, 25.9), (3, 11.4)):
        found = flow(state, f"pipe {n}") * 3600.0
        total += found
        published("N3", source, f"flow of pipe {n}", printed, found, 0.06, "m3/h", "from memory")
    published("N3", source, "flow of all three", 99.8, total, 0.1, "m3/h", "from memory")
    in_series = solve(
        water("upper", 20.3) + water("lower", 0.0) + pipes,
        "  way: [upper, pipe 1, pipe 2, pipe 3, lower]",
        temperature=low,
    )
    found = flow(in_series, "pipe 1") * 3600.0
    published("N3", source, "flow in series", 10.2, found, 0.05, "m3/h", "from memory")


def test_ring_of_resistances(published: Published) -> None:
    # 16 600 Pa at 1 L/s, as a column of water by the conventional 9806.65 Pa for a metre.
    head = 16600.0 / 9806.65
    pipes = "".join(
        f"  {n}: {{kind: loss, loss: {head!r} m, flow: 1 L/s, exponent: 2}}\n"
        for n in ("AB", "BC", "AD", "DC")
    )
    given = (
        "  in A: {kind: make-up, flow: 3.0 L/s}\n  in B: {kind: make-up, flow: 0.5 L/s}\n"
        "  out D: {kind: discharge, flow: 0.9 L/s}\n"
    )
    state = solve(
        pipes + given + water("at C", 0.0),
        "  north: [in A, AB, BC, at C]\n  south: [in A, AD, DC, at C]\n"
        "  second: [in B, BC]\n  third: [AD, out D]",
    )
    source = "Schaschke, Fluid Mechanics, example 8.12, p. 216; withdrawals from its balances"
    for name, printed, drop in (
        ("AB", 1.175, 22.9),
        ("BC", 1.675, 46.6),
        ("AD", 1.825, 55.3),
        ("DC", 0.925, 14.2),
    ):
        found = flow(state, name) * 1000.0
        published("N6", source, f"flow {name}", printed, found, 0.0005, "L/s", "read")
        pressure = loss(state, name) * 9.80665
        published("N6", source, f"pressure drop {name}", drop, pressure, 0.05, "kPa", "read")
    assert dict(state.balance.exchanges)["at C"] == pytest.approx(2.6e-3, rel=1e-9)


# Node: elevation [m], demand [m3/h], published pressure [m]. Pipe: ends, bore [in], flow [m3/h].
NODES = {
    2: (150.0, 100.0, 53.25), 3: (160.0, 100.0, 30.46), 4: (155.0, 120.0, 43.45),
    5: (150.0, 270.0, 33.81), 6: (165.0, 330.0, 30.44), 7: (160.0, 200.0, 30.55),
}  # fmt: skip
PIPES = {
    (1, 2): (18, 1120.0), (2, 3): (10, 336.9), (2, 4): (16, 683.1), (4, 5): (4, 32.6),
    (4, 6): (16, 530.6), (6, 7): (10, 200.6), (3, 5): (10, 236.9), (5, 7): (1, -0.56),
}  # fmt: skip


def test_two_loops(published: Published) -> None:
    elements = water("node 1", 210.0)
    paths = ""
    for n, (ground, demand, _) in NODES.items():
        elements += (
            f"  node {n}: {{kind: box, area: 1 m2, floor: {ground!r} m, wall top: 220 m}}\n"
            f"  taken {n}: {{kind: discharge, flow: {demand!r} m3/h}}\n"
        )
        paths += f"  demand {n}: [node {n}, taken {n}]\n"
    for (a, b), (inches, _) in PIPES.items():
        at = 10.0 / 3600.0
        bore = inches * 0.0254
        head = 10.667 * 1000.0 * at**1.852 / (130.0**1.852 * bore**4.871)
        elements += f"  {a}-{b}: {{kind: loss, loss: {head!r} m, flow: 10 m3/h, exponent: 1.852}}\n"
        paths += f"  way {a}-{b}: [node {a}, {a}-{b}, node {b}]\n"
    state = solve(elements, paths)
    source = (
        "Alperovits & Shamir 1977, solution of Savic & Walters 1997; Hazen-Williams C 130 with "
        "10.667 L Q^1.852/(C^1.852 D^4.871)"
    )
    note = "from memory; the constant was matched"
    depth = {level.element: level.depth for level in state.levels}
    for n, (_, _, printed) in NODES.items():
        pressure = depth[f"node {n}"]
        assert pressure is not None
        published("N10", source, f"pressure at node {n}", printed, pressure, 0.01, "m", note)
    # Frozen: flows of an independent solver of these equations, to the digits kept of them.
    for (a, b), (_, expected) in PIPES.items():
        digits = 0.006 if abs(expected) < 1.0 else 0.06
        assert flow(state, f"{a}-{b}") * 3600.0 == pytest.approx(expected, abs=digits)


def test_system_head_of_a_rising_main(published: Published) -> None:
    share = "\n".join(f"  {q} L/s: {{flow: {q * 2.5!r} %}}" for q in (10, 20, 30, 40))
    states = solve_all(
        water("sewer", 0.0) + water("works", 15.0) + "  pump: {kind: lift, flow: 40 L/s}\n"
        + run("main", 2500.0, 0.2, "roughness: 0.15 mm", "k: 10"),
        "  up: [sewer, pump, main, works]",
        more=f"duty states:\n{share}",
    )  # fmt: skip
    source = "Nalluri & Featherstone, Civil Engineering Hydraulics, two identical pumps"
    for state, printed in zip(states, (16.53, 20.80, 27.37, 36.48), strict=True):
        head = -loss(state, "pump")
        what = f"system head at {state.name}"
        published("P7 loop", source, what, printed, head, "1 %", "m", "read; 15 degC assumed")


def test_main_that_branches(published: Published) -> None:
    factor = "friction factor: 0.04"
    state = solve(
        water("top", 0.0) + water("left", -16.0) + water("right", -24.0)
        + run("main", 120.0, 0.12, factor) + run("wide", 60.0, 0.075, factor)
        + run("narrow", 40.0, 0.06, factor),
        "  a: [top, main, wide, left]\n  b: [main, narrow, right]",
    )  # fmt: skip
    source = "Douglas et al., Fluid Mechanics, example 14.4, p. 476 (f 0.01 as h = 4 f L v2/2gD)"
    for name, printed in (("main", 20.6), ("wide", 10.5), ("narrow", 10.1)):
        found = flow(state, name) * 1000.0
        published("N7", source, f"flow of the {name} pipe", printed, found, 0.05, "L/s", "read")


def test_two_pipes_side_by_side(published: Published) -> None:
    fields = ("friction factor: 0.032", "k: 1.5")
    state = solve(
        water("upper", 10.0) + water("lower", 0.0) + run("small", 100.0, 0.05, *fields)
        + run("large", 100.0, 0.1, *fields),
        "  a: [upper, small, lower]\n  b: [upper, large, lower]",
    )  # fmt: skip
    source = "Douglas et al., Fluid Mechanics, example 14.3, p. 473 (f 0.008 as h = 4 f L v2/2gD)"
    for name, printed in (("small", 3.4), ("large", 19.0)):
        found = flow(state, name) * 1000.0
        published("N8", source, f"flow of the {name} pipe", printed, found, 0.05, "L/s", "read")


def test_equivalent_pipe(published: Published) -> None:
    factor, drop = 0.02, 10.0
    pipes = "".join(
        run(name, length, bore, f"friction factor: {factor}")
        for name, length, bore in (("a", 1800.0, 0.5), ("b", 1200.0, 0.4), ("c", 600.0, 0.3))
    )
    ends = water("upper", drop) + water("lower", 0.0)
    series = flow(solve(ends + pipes, "  way: [upper, a, b, c, lower]"), "a")
    ways = "\n".join(f"  way {n}: [upper, {n}, lower]" for n in "abc")
    beside = solve(ends + pipes, ways)
    total = sum(flow(beside, n) for n in "abc")

    def length(bore: float, q: float) -> float:
        area = math.pi / 4.0 * bore**2
        return drop * 2.0 * 9.80665 * area**2 * bore / (factor * q**2)

    source = "Subramanya, Fluid Mechanics and Hydraulic Machines, example 11.4, p. 239"
    long, short = length(0.4, series), length(0.5, total)
    bore = 0.4 * (3600.0 / long) ** 0.2 * 100.0
    published("N12", source, "length of 40 cm, series", 4318.0, long, 0.5, "m", "read")
    published("N12", source, "bore of 3600 m, series", 38.57, bore, 0.005, "cm", "read")
    published("N12", source, "length of 50 cm, parallel", 377.4, short, 0.1, "m", "read")


def test_second_line_beside_a_main(published: Published) -> None:
    five = 5.0 * CUBIC_FOOT
    head = 70.0 * FOOT

    def part(name: str, share: float, count: int) -> str:
        return (
            f"  {name}: {{kind: loss, count: {count}, loss: {share * head!r} m, "
            f"flow: {five!r} m3/s, exponent: 1.85}}\n"
        )

    parts = part("single", 0.6, 1) + part("double", 0.4, 2)
    ends = water("upper", head) + water("lower", 0.0)
    state = solve(ends + parts, "  way: [upper, single, double, lower]")
    source = "Vennard, Elementary Fluid Mechanics, example 9.16, p. 327"
    found = flow(state, "single") / CUBIC_FOOT
    published("N13", source, "flow with a second line", 6.0, found, 0.05, "ft3/s", "read")


def test_flow_closure_of_a_trout_tank(published: Published) -> None:
    state = solve(
        "  tank: {kind: round tank, diameter: 8 m, floor: 0 m, wall top: 2.4 m}\n"
        "  sill: {kind: weir, crest: 1.95 m, width: 1 m}\n"
        "  filter box: {kind: box, area: 4 m2, floor: 0 m, wall top: 2.2 m}\n"
        "  biofilter: {kind: loss, loss: 50 mm, flow: 41.44 L/s}\n"
        "  shaft: {kind: sump, area: 3 m2, floor: -2 m, wall top: 2.2 m}\n"
        "  airlift: {kind: lift, flow: 41.44 L/s}\n"
        "  make-up: {kind: make-up, flow: 2.10 L/s}\n"
        "  bottom drain: {kind: discharge, flow: 1.87 L/s}\n"
        "  backwash: {kind: discharge, flow: 0.23 L/s}",
        "  loop: [tank, sill, filter box, biofilter, shaft, airlift, tank]\n"
        "  new: [make-up, tank]\n"
        "  drain: [tank, bottom drain]\n  wash: [filter box, backwash]",
        more="levels: [{way: stored volume, in: [shaft], volume: 10.5 m3}]\n"
        "duty states: {clean: {}}",
    )  # fmt: skip
    source = (
        "mass-balance memorandum of a salmonid hatchery, Chilean environmental-assessment file, "
        "2013, tables 8 and 9 (a design calculation)"
    )
    enters = 1000.0 * (flow(state, "make-up") + flow(state, "airlift"))
    leaves = 1000.0 * (flow(state, "sill") + flow(state, "bottom drain"))
    new = 1000.0 * state.balance.replacement
    waste = 1000.0 * state.balance.discharge
    for what, printed, found in (
        ("water into the tank", 43.54, enters),
        ("water out of the tank", 43.54, leaves),
        ("tank to loop", 41.67, 1000.0 * flow(state, "sill")),
        ("make-up", 2.10, new),
        ("water to waste", 2.10, waste),
    ):
        published("flow closure A", source, what, printed, found, 0.01, "L/s", "read")
