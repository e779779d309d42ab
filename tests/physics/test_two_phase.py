"""Drift-flux closures."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.two_phase_voidage import Nicklin_Wilkes_Davidson
from hypothesis import given
from hypothesis import strategies as st

from loopplan.physics.two_phase import (
    Closure,
    Phases,
    circulating_column,
    developed_rectangular,
    developed_round,
    evenly_spread,
    gas_fraction,
    large_duct_capped,
    large_duct_uniform,
    plume,
    small_circulating_column,
    surface_tension,
)
from loopplan.physics.two_phase_ladder import CLOSURES, LADDER, graded
from loopplan.physics.two_phase_tubes import large_pipe_drift, slug_drift, tube
from tests.validation_page import Published

# The state at which the check values were worked out.
WATER = Phases(998.2, 1.204, 0.0728, 1.004e-6)
SECOND = "second evaluation of the named closure, air and water at 20 degC"


def alpha(closure: Closure, jg: float, jl: float, size: float = 0.6) -> float:
    return float(gas_fraction(jg, jl, *closure(jg, jl, WATER, size)))


@pytest.mark.parametrize(
    ("closure", "jg", "jl", "expected"),
    [
        *((evenly_spread, jg, 0.0, a) for jg, a in
          [(0.02, 0.073), (0.05, 0.161), (0.10, 0.270), (0.20, 0.408)]),
        *((small_circulating_column, jg, 0.0, a) for jg, a in
          [(0.02, 0.054), (0.05, 0.107), (0.10, 0.165), (0.20, 0.233)]),
        *((circulating_column, jg, 0.0, a) for jg, a in
          [(0.02, 0.039), (0.05, 0.074), (0.10, 0.120), (0.20, 0.194)]),
        *((evenly_spread, jg, jl, a) for jg, jl, a in
          [(0.05, 0.07, 0.127), (0.10, 0.10, 0.204), (0.10, 0.28, 0.142), (0.14, 0.07, 0.279)]),
        *((large_duct_capped, jg, jl, a) for jg, jl, a in
          [(0.05, 0.07, 0.111), (0.10, 0.10, 0.159), (0.10, 0.28, 0.109), (0.14, 0.07, 0.208)]),
        *((large_duct_uniform, jg, jl, a) for jg, jl, a in
          [(0.05, 0.07, 0.115), (0.10, 0.10, 0.173), (0.10, 0.28, 0.134), (0.14, 0.07, 0.220)]),
    ],
)  # fmt: skip
def test_gas_fraction(
    published: Published, closure: Closure, jg: float, jl: float, expected: float
) -> None:
    published(
        "TP1",
        SECOND,
        f"gas fraction, {closure.__name__.replace('_', ' ')}, jg {jg:g}, jl {jl:g} m/s",
        expected,
        alpha(closure, jg, jl),
        5e-4,
        "-",
        "from memory",
    )


@pytest.mark.parametrize(
    ("what", "expected", "computed", "tolerance"),
    [
        ("drift of bubbles, Harmathy", 0.250, evenly_spread(0.1, 0.1, WATER, 1.0)[1], 5e-4),
        ("drift, churn-turbulent", 0.231, developed_round(0.1, 0.1, WATER, 1.0)[1], 5e-4),
        ("drift of slugs, bore 300 mm", 0.600, 0.35 / 0.352 * slug_drift(0.3, WATER), 2e-3),
        ("drift in large pipes, bore 50 mm", 0.289, large_pipe_drift(0.05, WATER), 5e-4),
        ("drift in large pipes, bore 75 mm", 0.401, large_pipe_drift(0.075, WATER), 5e-4),
        ("drift in large pipes, bore 200 mm", 0.432, large_pipe_drift(0.2, WATER), 2e-3),
    ],
)
def test_drift_velocity(
    published: Published, what: str, expected: float, computed: float, tolerance: float
) -> None:
    published("TP2", SECOND, what, expected, computed, tolerance, "m/s", "from memory")


@pytest.mark.parametrize(
    ("closure", "expected"), [(developed_round, 1.193), (developed_rectangular, 1.338)]
)
def test_developed_distribution(published: Published, closure: Closure, expected: float) -> None:
    published(
        "TP3", "Ishii 1977", f"C0, {closure.__name__.replace('_', ' ')}", expected,
        closure(0.1, 0.1, WATER, 1.0)[0], 5e-4, "-", "from memory",
    )  # fmt: skip


def test_small_tubes_slow_their_slugs() -> None:
    # Closed form of the bracket at Bo = 100: 1 - 0.0318 - 0.001477.
    diameter = np.sqrt(100.0 * 0.0728 / (9.80665 * (998.2 - 1.204)))
    plain = 0.352 * np.sqrt(9.80665 * diameter)
    assert slug_drift(diameter, WATER) / plain == pytest.approx(1 - 0.0318 - 0.001477, rel=1e-9)
    assert slug_drift(0.001, WATER) == 0.0


def test_slugs_as_a_library_has_them(published: Published) -> None:
    # The library's own number, and ours by the same superficial velocities.
    x, rho, gas, mass, d = 0.4, 800.0, 2.5, 1.0, 0.3
    theirs = Nicklin_Wilkes_Davidson(x=x, rhol=rho, rhog=gas, m=mass, D=d)
    area = np.pi / 4 * d * d
    ours = gas_fraction(
        x * mass / gas / area, (1 - x) * mass / rho / area, 1.2, 0.35 * np.sqrt(9.80665 * d)
    )
    published(
        "TP4", "open library fluids, regression value (no experiment)",
        "gas fraction, Nicklin, Wilkes and Davidson", 0.6798826626721, ours, 1e-6, "-", "read",
    )  # fmt: skip
    assert ours == pytest.approx(theirs, rel=1e-4)


@pytest.mark.parametrize(("temperature", "expected"), [(0, 75.65), (20, 72.74), (40, 69.60)])
def test_surface_tension(published: Published, temperature: float, expected: float) -> None:
    published(
        "TP5", "standard tables after IAPWS R1-76", f"surface tension at {temperature} degC",
        expected, 1e3 * surface_tension(temperature), 0.02, "mN/m", "from memory",
    )  # fmt: skip


def test_columns_at_rest_give_their_data_back() -> None:
    # Closed form: what was measured without net flow comes out at jl = 0.
    for jg in (0.03, 0.1, 0.28):
        assert alpha(circulating_column, jg, 0.0) == pytest.approx(0.6 * jg**0.7, rel=1e-9)
        a = alpha(small_circulating_column, jg, 0.0, 0.3)
        bond = 9.80665 * 0.09 * 998.2 / 0.0728
        galilei = 9.80665 * 0.027 / 1.004e-6**2
        right = 0.2 * bond ** (1 / 8) * galilei ** (1 / 12) * jg / np.sqrt(9.80665 * 0.3)
        assert a / (1 - a) ** 4 == pytest.approx(right, rel=1e-9)


def test_wide_columns_are_taken_as_sixty_centimetres() -> None:
    assert alpha(small_circulating_column, 0.1, 0.0, 3.0) == alpha(
        small_circulating_column, 0.1, 0.0, 0.6
    )


@given(
    st.sampled_from(sorted(set(CLOSURES) - {"large duct, cap bubbles"})),
    st.floats(1e-4, 2.0), st.floats(0.0, 2.0), st.floats(0.1, 5.0),
)  # fmt: skip
def test_gas_fraction_rises_with_gas_and_falls_with_water(
    name: str, jg: float, jl: float, size: float
) -> None:
    closure = CLOSURES[name]
    here = alpha(closure, jg, jl, size)
    assert 0.0 < here < 1.0
    assert alpha(closure, 1.01 * jg, jl, size) > here
    assert alpha(closure, jg, jl + 0.01, size) < here


@given(st.floats(0.0, 2.0), st.floats(0.0, 2.0), st.floats(0.1, 5.0))
def test_each_rung_holds_no_more_gas_than_the_one_below(jg: float, jl: float, size: float) -> None:
    rungs = np.linspace(0.0, 3.0, 31)
    found = gas_fraction(jg, jl, *graded(rungs, jg, jl, WATER, size))
    assert (np.diff(found) <= 1e-12).all()
    assert found[0] == pytest.approx(alpha(LADDER[0], jg, jl, size), rel=1e-12)
    # The last rung holds what the plume holds, or less where the column holds less.
    assert found[-1] <= alpha(plume, jg, jl, size) + 1e-12


def test_the_tube_closure_stops_at_large_pipes() -> None:
    assert tube(0.2, 0.2, WATER, 0.1)[1] == pytest.approx(slug_drift(0.1, WATER), rel=1e-12)
    assert tube(0.2, 0.2, WATER, 0.5)[1] == pytest.approx(large_pipe_drift(0.5, WATER), rel=1e-12)


@pytest.mark.parametrize("closure", [*CLOSURES.values(), tube], ids=lambda c: c.__name__)
def test_closures_work_on_batches_and_at_rest(closure: Closure) -> None:
    jg, jl = np.array([0.0, 0.1, 0.3]), np.array([0.0, 0.0, 0.2])
    both = gas_fraction(jg, jl, *closure(jg, jl, WATER, np.array([0.5, 1.0, 2.0])))
    assert both[0] == 0.0
    assert np.isfinite(both).all()
    assert both[2] == pytest.approx(alpha(closure, 0.3, 0.2, 2.0), rel=1e-12)
