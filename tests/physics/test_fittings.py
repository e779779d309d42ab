"""Local losses of fittings: tables, closed forms, and an independent library."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from fluids.fittings import bend_miter, bend_rounded, diffuser_sharp
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics.constants import GRAVITY
from loopplan.physics.fittings import FITTINGS, FittingK, fitting_k
from loopplan.sources import SOURCES
from tests.validation_page import Published

TABLE_6_4 = "table 6-4 of an environmental engineering textbook (inferred: Weiner and Matthews)"
TABLE_9_2 = "table 9.2, minor loss coefficients"
TABLE_26_3 = "civil engineering reference, table 26-3"
MUNSON = "Munson, Young and Okiishi, Fundamentals of Fluid Mechanics, table 8.2"
CRANE = "Crane TP-410, K = n f_T"

RATIO = st.floats(0.01, 1.0)


def k(name: str, **geometry: float) -> float:
    return fitting_k(name, **geometry).value


def test_the_table_loads_neither_numpy_nor_fluids() -> None:
    code = (
        "import sys\n"
        "from loopplan.physics.fittings import FITTINGS, fitting_k\n"
        "fitting_k('butterfly valve', angle=30.0)\n"
        "sys.exit(' '.join({'numpy', 'scipy', 'fluids'} & set(sys.modules)) or 0)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr


@pytest.mark.parametrize("name", FITTINGS)
def test_every_fitting_has_a_loss_a_method_and_a_source(name: str) -> None:
    found = fitting_k(name)
    assert isinstance(found, FittingK)
    assert 0.0 < found.value < 10.0
    assert found.method
    assert found.source in SOURCES
    assert FITTINGS[name].meaning


@pytest.mark.parametrize(
    ("name", "key"), [(name, key) for name, item in FITTINGS.items() for key in item.arguments]
)
def test_every_size_works_over_its_range_and_not_beyond(name: str, key: str) -> None:
    size = FITTINGS[name].arguments[key]
    assert size.low <= size.default <= size.high
    for share in (0.0, 0.3, 0.7, 1.0):
        value = k(name, **{key: size.low + share * (size.high - size.low)})
        assert math.isfinite(value)
        assert value >= 0.0
    for beyond in (size.low - 1e-3, size.high * 1.01, math.nan):
        with pytest.raises(ValueError, match=rf"{key}.*allowed: {size.low:g} to {size.high:g}"):
            fitting_k(name, **{key: beyond})
    assert fitting_k(name, **{key: size.default}) == fitting_k(name)


@pytest.mark.parametrize(("wrong", "near"), [("bend90", "bend 90"), ("gate valv", "gate valve")])
def test_unknown_name_is_told_its_neighbour(wrong: str, near: str) -> None:
    with pytest.raises(ValueError, match=f"did you mean '{near}'"):
        fitting_k(wrong)


def test_name_that_is_like_no_other_is_told_all_names() -> None:
    with pytest.raises(ValueError, match="known: sharp entrance"):
        fitting_k("xyz")


def test_unknown_size_is_told_the_known_ones() -> None:
    with pytest.raises(ValueError, match="its sizes: angle"):
        fitting_k("butterfly valve", opening=0.5)
    with pytest.raises(ValueError, match="its sizes: none"):
        fitting_k("exit", angle=1.0)


def test_entrances(published: Published) -> None:
    for name, value, slack in (
        ("sharp entrance", 0.5, 0.005),
        ("bell-mouth entrance", 0.04, 0.005),
        ("projecting entrance", 0.9, 0.1),
        ("rounded entrance", 0.23, 0.015),
    ):
        published("entrance", TABLE_6_4, f"K, {name}", value, k(name), slack, "-", "read")


def test_rounding_the_edge_of_an_entrance_never_costs() -> None:
    # Closed form at the end: an edge that is not rounded is the sharp entrance.
    values = [k("rounded entrance", rounding=0.01 * step) for step in range(21)]
    assert values[0] == pytest.approx(k("sharp entrance"))
    assert values == sorted(values, reverse=True)
    assert values[-1] < 0.05


def test_exit_loses_one_velocity_head_as_an_expansion_without_end() -> None:
    # Closed form: Borda and Carnot.
    assert k("exit") == pytest.approx(k("expansion", diameter_ratio=0.01), rel=1e-3)


def test_m1_sudden_expansion(published: Published) -> None:
    velocity = 0.450 / 60.0 / (math.pi / 4.0 * 0.06**2)
    head = k("expansion", diameter_ratio=6.0 / 9.0) * velocity**2 / (2.0 * GRAVITY)
    source = "Subramanya, 1000 Solved Problems in Fluid Mechanics, Ex. 11.1 p. 238"
    published("M1", source, "head lost", 0.111, head, "0.5 %", "m", "read")


def test_m4_conical_expansion(published: Published) -> None:
    # The book's 0.43 stands on (V1 - V2)^2 / 2g.
    book = 0.43 * (1.0 - 0.5**2) ** 2
    source = "Vennard, Elementary Fluid Mechanics, Ex. 9.12 p. 312"
    computed = k("conical expansion", diameter_ratio=0.5, angle=20.0)
    published(
        "M4", source, "K of a cone of 20 deg, 12 to 24 in", book, computed, "3 %", "-", "read"
    )


@pytest.mark.parametrize(("ratio", "value"), [(0.25, 0.92), (0.5, 0.56), (0.75, 0.19)])
def test_sudden_expansion_of_the_table(published: Published, ratio: float, value: float) -> None:
    computed = k("expansion", diameter_ratio=ratio)
    quantity = f"K, expansion from {ratio:g} of the diameter"
    published("expansion", TABLE_6_4, quantity, value, computed, "5 %", "-", "read")


@given(RATIO)
def test_sudden_expansion_matches_the_library(ratio: float) -> None:
    expected = diffuser_sharp(Di1=ratio, Di2=1.0)
    assert k("expansion", diameter_ratio=ratio) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_jet_behind_a_sudden_contraction(published: Published) -> None:
    rows = (0.624, 0.632, 0.643, 0.659, 0.681, 0.712, 0.755, 0.813, 0.892)
    for tenth, share in enumerate(rows, start=1):
        loss = k("contraction", diameter_ratio=math.sqrt(tenth / 10.0))
        quantity = f"jet over pipe area, contraction to {tenth / 10:g} of the area"
        published(
            "contraction",
            f"{TABLE_9_2}, after Streeter and Wylie 1975 (Weisbach)",
            quantity,
            share,
            1.0 / (1.0 + math.sqrt(loss)),
            0.0005,
            "-",
            "read",
        )


@pytest.mark.parametrize(("ratio", "value"), [(0.25, 0.42), (0.5, 0.33), (0.75, 0.19)])
def test_sudden_contraction_of_another_table(
    published: Published, ratio: float, value: float
) -> None:
    computed = k("contraction", diameter_ratio=ratio)
    quantity = f"K, contraction to {ratio:g} of the diameter"
    published("contraction", TABLE_6_4, quantity, value, computed, 0.05, "-", "read")


@pytest.mark.parametrize("name", ["contraction", "expansion", "conical expansion"])
def test_change_of_size_costs_more_the_larger_it_is(name: str) -> None:
    values = [k(name, diameter_ratio=0.1 * step) for step in range(1, 11)]
    assert values == sorted(values, reverse=True)
    assert values[-1] == pytest.approx(0.0, abs=0.02)


@given(RATIO)
def test_contracting_costs_less_than_a_sharp_entrance(ratio: float) -> None:
    assert 0.0 <= k("contraction", diameter_ratio=ratio) < k("sharp entrance")


@pytest.mark.parametrize(("radius", "low", "high"), [(1.0, 0.3, 0.6), (1.5, 0.07, 0.33)])
def test_bend_of_90_lies_in_the_published_band(
    published: Published, radius: float, low: float, high: float
) -> None:
    published(
        "bend",
        f"{TABLE_9_2}, after Miller 1990: {low:g} to {high:g}",
        f"K, bend of 90 deg, radius {radius:g} diameters (middle of the band)",
        (low + high) / 2.0,
        k("bend 90", radius=radius),
        (high - low) / 2.0,
        "-",
        "read",
    )


@pytest.mark.parametrize("radius", [1.0, 1.5, 2.0, 3.0])
@pytest.mark.parametrize(("name", "turn"), [("bend 90", 90.0), ("bend 45", 45.0)])
def test_bend_is_of_the_size_that_miller_gives(name: str, turn: float, radius: float) -> None:
    # Another author through the same library; bends differ by half and more between books.
    other = bend_rounded(
        Di=0.2, angle=turn, rc=0.2 * radius, Re=1e6, fd=0.018, roughness=3e-5, method="Miller"
    )
    assert 0.5 < k(name, radius=radius) / other < 2.0


def test_bend_carries_the_friction_of_its_arc() -> None:
    # Closed form: friction on the length of the centre line, f L / D.
    friction = 0.02
    arc = math.pi / 2.0 * 10.0
    assert k("bend 90", radius=10.0, friction_factor=friction) > friction * arc


@pytest.mark.parametrize("radius", [0.5, 1.0, 1.5, 3.0, 10.0])
def test_half_a_turn_costs_less_but_more_than_half(radius: float) -> None:
    whole, half = k("bend 90", radius=radius), k("bend 45", radius=radius)
    assert 0.3 * whole < half < whole


def test_mitres(published: Published) -> None:
    for name, wall, value in (
        ("mitre 45", 0.0, 0.236),
        ("mitre 45", 1.0, 0.320),
        ("mitre 90", 0.0, 1.129),
        ("mitre 90", 1.0, 1.265),
    ):
        words = "rough" if wall else "smooth"
        published(
            "mitre",
            TABLE_26_3,
            f"K, {name}, {words}",
            value,
            k(name, wall=wall),
            0.0005,
            "-",
            "read",
        )


@pytest.mark.parametrize(("name", "turn"), [("mitre 45", 45.0), ("mitre 90", 90.0)])
def test_mitre_is_of_the_size_that_miller_gives(name: str, turn: float) -> None:
    other = bend_miter(Di=0.2, angle=turn, Re=1e6, roughness=0.0, method="Miller")
    assert k(name) == pytest.approx(other, rel=0.25)


def test_tees(published: Published) -> None:
    for name, value in (("tee run", 0.2), ("tee branch", 1.0)):
        published("tee", MUNSON, f"K, {name}, flanged", value, k(name), 0.005, "-", "read")


def test_gate_valve(published: Published) -> None:
    for closed, value, source in (
        (0.0, 0.15, f"{TABLE_9_2}, after Kalsi and Tullis 1993"),
        (0.25, 0.26, MUNSON),
        (0.5, 2.1, MUNSON),
        (0.75, 17.0, MUNSON),
    ):
        quantity = f"K, gate valve, {closed:.0%} closed"
        computed = k("gate valve", closed=closed)
        published("gate valve", source, quantity, value, computed, "0.5 %", "-", "read")


def test_butterfly_valve_by_angle(published: Published) -> None:
    table = {20: 1.54, 30: 3.91, 40: 10.8, 50: 32.6, 60: 118.0, 70: 751.0}
    for angle, value in table.items():
        computed = k("butterfly valve", angle=float(angle))
        quantity = f"K, butterfly valve, turned {angle} deg"
        published(
            "butterfly valve", "Weisbach", quantity, value, computed, "0.5 %", "-", "from memory"
        )


def test_open_butterfly_valve(published: Published) -> None:
    # Weisbach's thin disc loses less below some 10 deg (0.24 at 5 deg, 0.52 at 10 deg).
    for angle in (0.0, 5.0, 10.0):
        computed = k("butterfly valve", angle=angle)
        quantity = f"K, butterfly valve, turned {angle:g} deg, taken as open"
        published("butterfly valve", TABLE_9_2, quantity, 0.56, computed, "0.5 %", "-", "read")
        assert "open" in fitting_k("butterfly valve", angle=angle).method


def test_butterfly_valve_goes_in_ratios_between_the_angles() -> None:
    # Closed form: on a straight line of log K the middle is the geometric mean.
    assert k("butterfly valve", angle=25.0) == pytest.approx(math.sqrt(1.54 * 3.91), rel=1e-9)
    values = [k("butterfly valve", angle=float(angle)) for angle in range(71)]
    assert values == sorted(values)


def test_valves_of_crane(published: Published) -> None:
    fully_turbulent = {0.0525: 0.019, 0.1023: 0.017, 0.2027: 0.014, 0.3033: 0.013}
    for name, multiple in (("ball valve", 3.0), ("swing check", 100.0), ("foot valve", 75.0)):
        for diameter, factor in fully_turbulent.items():
            quantity = f"K, {name}, {1e3 * diameter:.0f} mm"
            computed = k(name, diameter=diameter)
            published(
                "valves", CRANE, quantity, multiple * factor, computed, "6 %", "-", "from memory"
            )


def test_swing_check_lies_in_the_published_band(published: Published) -> None:
    published(
        "valves",
        f"{TABLE_9_2}, after Kalsi and Tullis 1993: 0.29 to 2.2",
        "K, swing check (middle of the band)",
        1.245,
        k("swing check"),
        0.955,
        "-",
        "read",
    )


@pytest.mark.parametrize("name", ["ball valve", "swing check", "foot valve"])
def test_small_valve_costs_more_than_a_large_one(name: str) -> None:
    values = [k(name, diameter=diameter) for diameter in (0.05, 0.1, 0.2, 0.4)]
    assert values == sorted(values, reverse=True)


def test_loss_of_fittings_is_ordered_as_the_trade_knows_it() -> None:
    # Common practice, no source.
    assert k("bell-mouth entrance") < k("rounded entrance") < k("sharp entrance")
    assert k("sharp entrance") < k("projecting entrance")
    assert k("bend 90") < k("mitre 90")
    assert k("bend 45") < k("mitre 45") < k("mitre 90")
    assert k("tee run") < k("tee branch")
    assert k("ball valve") < k("gate valve") < k("butterfly valve") < k("swing check")
