"""What the solver relies on of every law, and what every kind of element must hand it.

Expected values are the laws' own residuals (central differences) and closed statements.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from random import Random
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from loopplan.declare import Conditions, Element, Ends, Passage
from loopplan.elements import KINDS, _register
from loopplan.laws import LAWS
from tests.law_cases import CASES, HELD, KINDS_MINIMAL, Case, Params

LAW_NAMES = sorted(LAWS)
TRIALS = 80
STEPS = (1e-5, 2e-6)
MOST_KINKS = 0.2
Points = Sequence[Sequence[float]]

CLEAN = Conditions(12.0, 0.0, 999.5, 1.235e-6, False, 1.0)
FOULED = Conditions(4.0, 35.0, 1027.8, 1.61e-6, True, 0.6)


def test_every_law_and_every_kind_has_its_cases() -> None:
    assert set(CASES) == set(LAWS)
    assert set(KINDS_MINIMAL) == set(KINDS)


def cases(law: str, number: int = TRIALS) -> Iterator[Case]:
    r = Random(f"law {law}")
    for _ in range(number):
        yield CASES[law](r)


def ask(law: str, p: Params, points: Points, by: str = "residual") -> NDArray[np.float64]:
    """Value and slopes (4, points) of a law's residual or tangent at (q, ha, hb)."""
    q, ha, hb = np.array(points, dtype=float).T[:, None, :]
    fields = {
        name: np.broadcast_to(
            np.array(value, dtype=float)[..., None, None], (*np.shape(value), 1, q.shape[1])
        )
        for name, value in p.items()
    }
    found: Any = LAWS[law].residual(fields, q, ha, hb)
    if by == "tangent":
        found = LAWS[law].tangent(fields, q, ha, hb, found)
    return np.array([x[0] for x in found])


def value(law: str, p: Params, *point: float) -> float:
    return float(ask(law, p, [point])[0, 0])


def moved(point: Sequence[float], i: int, by: float) -> tuple[float, ...]:
    return tuple(x + by * (i == j) for j, x in enumerate(point))


@pytest.mark.parametrize("law", LAW_NAMES)
def test_slopes_are_those_of_the_residual(law: str) -> None:
    kinks = 0
    for p, *point in cases(law):
        size = (max(abs(point[0]), 1e-3), 1.0, 1.0)
        ways = [(i, sign * size[i] * step) for i in range(3) for step in STEPS for sign in (1, -1)]
        found = ask(law, p, [point, *(moved(point, *way) for way in ways)])
        stated = found[1:, 0]
        for i in range(3):
            up, down, fine_up, fine_down = found[0, 1 + 4 * i : 5 + 4 * i]
            coarse = (up - down) / (2.0 * size[i] * STEPS[0])
            fine = (fine_up - fine_down) / (2.0 * size[i] * STEPS[1])
            if coarse != pytest.approx(fine, rel=1e-3, abs=1e-6):
                kinks += 1
                continue
            if i == 0 and law in HELD and HELD[law](p, point[0]):
                # Steeper than the residual's on purpose, never flatter.
                assert stated[0] <= fine * (1.0 - 1e-3) + 1e-6
                continue
            assert stated[i] == pytest.approx(fine, rel=2e-3, abs=2e-6), (i, p, point)
            assert stated[i] == pytest.approx(coarse, rel=2e-3, abs=2e-6), (i, p, point)
    assert kinks <= MOST_KINKS * 3 * TRIALS


@pytest.mark.parametrize("law", [name for name in LAW_NAMES if "main" in LAWS[name].fields])
def test_slope_with_the_flow_beside_is_that_of_the_residual(law: str) -> None:
    kinks = 0
    for case, *point in cases(law):
        for sign in (1.0, -1.0):
            p = {**case, "main": sign * case["main"]}
            at = [np.full((1, 1), x) for x in point]
            stated = LAWS[law].by_main({n: np.full((1, 1), x) for n, x in p.items()}, *at)
            size = max(abs(p["main"]), 1e-3)
            coarse, fine = (
                (
                    value(law, {**p, "main": p["main"] + size * step}, *point)
                    - value(law, {**p, "main": p["main"] - size * step}, *point)
                )
                / (2.0 * size * step)
                for step in STEPS
            )
            if coarse != pytest.approx(fine, rel=1e-3, abs=1e-6):
                kinks += 1
                continue
            assert stated[0, 0] == pytest.approx(fine, rel=2e-3, abs=2e-6), (p, point)
    assert kinks <= MOST_KINKS * 2 * TRIALS


def levels_about(p: Params, up: float, down: float) -> list[float]:
    """Far below, just below, at and just above a sill or floor, in the water, and far above."""
    ground = next((p[n] for n in ("crest", "invert", "floor", "floor_down") if n in p), down)
    return sorted({-30.0, ground - 0.5, ground, ground + 0.01, up, ground + 20.0})


@pytest.mark.parametrize("by", ["residual", "tangent"])
@pytest.mark.parametrize("law", LAW_NAMES)
def test_signs_hold_and_nothing_is_lost_at_any_point(law: str, by: str) -> None:
    flows = (0.0, 1e-12, -1e-12, 1e-3, -1e-3, 0.3, -0.3, 50.0, -50.0)
    for p, _, up, down in cases(law, 12):
        levels = levels_about(p, up, down)
        points = list(product(flows, levels, levels))
        found = ask(law, p, points, by)
        assert np.isfinite(found).all(), p
        for row, wrong in ((1, found[1] > 0.0), (2, found[2] < 0.0), (3, found[3] > 0.0)):
            assert not wrong.any(), (row, p, points[int(wrong.argmax())])


@pytest.mark.parametrize("law", LAW_NAMES)
def test_what_the_newton_follows_does_not_hang_on_the_company(law: str) -> None:
    for p, q, up, down in cases(law, 12):
        points = [(share * q, up, down) for share in (0.3, 1.0, 1.7, 3.0, 20.0)]
        together = ask(law, p, points, "tangent").T
        for point, found in zip(points, together, strict=True):
            assert found == pytest.approx(ask(law, p, [point], "tangent")[:, 0], rel=1e-4, abs=1e-9)


@pytest.mark.parametrize("law", LAW_NAMES)
def test_residual_itself_is_monotone(law: str) -> None:
    r = Random(3)
    for p, *point in cases(law):
        if law == "channel" and p["thrust_up"] and point[0] < 0.0:
            continue  # a test of its own
        rise = (abs(point[0]) * r.uniform(0.01, 1.0), r.uniform(0.0, 0.3), r.uniform(0.0, 0.3))
        more = [moved(point, i, rise[i]) for i in range(3)]
        here, by_flow, by_up, by_down = ask(law, p, [point, *more])[0]
        assert by_flow <= here + 1e-9
        assert by_up >= here - 1e-9
        assert by_down <= here + 1e-9


@pytest.mark.xfail(
    strict=True, reason="a reach of a collecting channel that runs backward eases with more flow"
)
def test_backward_reach_of_a_collecting_channel_is_monotone() -> None:
    for p, q, ha, hb in cases("channel", 300):
        if p["thrust_up"] and q < 0.0:
            here, there = ask("channel", p, [(q, ha, hb), (0.9 * q, ha, hb)])[0]
            assert there <= here + 1e-9


@pytest.mark.parametrize("law", LAW_NAMES)
def test_start_is_finite_or_says_that_no_level_is_needed(law: str) -> None:
    for p, q, *_ in cases(law):
        at = np.array([[q, -q, 0.0, 1e-9, 10.0]])
        fields = {
            name: np.broadcast_to(
                np.array(x, dtype=float)[..., None, None], (*np.shape(x), *at.shape)
            )
            for name, x in p.items()
        }
        least, lost = LAWS[law].start(fields, at)
        assert least.shape == lost.shape == at.shape
        assert np.isfinite(lost).all()
        assert (np.isfinite(least) | (least == -np.inf)).all()
        ease = LAWS[law].ease(fields, at)
        assert ease.shape == at.shape
        assert (np.isfinite(ease) & (ease > 0.0)).all()


def solution(law: str, p: Params, q: float, ha: float, hb: float) -> tuple[float, float, float]:
    """A point near the given one at which the residual is zero."""
    g = value(law, p, q, ha, hb)
    if LAWS[law].unit == "m3/s":
        # Linear in the flow by declaration.
        return q + g, ha, hb
    if law == "tap" or (law == "channel" and q < 0.0):
        return q, ha, hb + g
    if law == "strainer":
        # The deeper side counts in the loss as well: fixed-point steps, the loss being small.
        for _ in range(60):
            g = value(law, p, q, ha, hb)
            ha, hb = (ha - g, hb) if q > 0.0 else (ha, hb + g)
        return q, ha, hb
    if law.startswith("airlift"):
        # The margin rises with the inlet level, and not along a straight line.
        low, high = ha - 10.0, ha + 10.0
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if value(law, p, q, middle, hb) > 0.0 else (middle, high)
        return q, high, hb
    return q, ha - g, hb


@pytest.mark.parametrize("law", LAW_NAMES)
def test_what_the_newton_follows_is_zero_where_the_residual_is(law: str) -> None:
    checked = 0
    for p, *near in cases(law):
        points = [solution(law, p, q, *near[1:]) for q in (near[0], 0.0)]
        for g, line in zip(ask(law, p, points)[0], ask(law, p, points, "tangent")[0], strict=True):
            if abs(g) <= 1e-10:
                checked += 1
                assert abs(line) <= 1e-9, (p, points)
    assert checked >= 1.5 * TRIALS


@pytest.mark.parametrize("law", ["channel", "opening", "weir"])
def test_no_solution_runs_below_the_sill_or_carries_more_than_the_most(law: str) -> None:
    checked = 0
    for p, *near in cases(law):
        q, ha, hb = solution(law, p, *near)
        if abs(q) < 1e-6 or abs(value(law, p, q, ha, hb)) > 1e-9:
            continue
        checked += 1
        fields = {name: np.full((1, 1), x) for name, x in p.items()}
        sill = LAWS[law].sill(fields)
        assert sill is not None and max(ha, hb) > sill
        most = LAWS[law].most(fields, np.full((1, 1), ha), np.full((1, 1), hb))
        assert most is None or abs(q) <= most
    assert checked >= 0.5 * TRIALS


def every_part(element: Element) -> Iterator[tuple[Conditions, Passage]]:
    for at, a, b in product((CLEAN, FOULED), (False, True), (False, True)):
        for part in element.parts(at, Ends(a, b)):
            if isinstance(part, Passage):
                yield at, part


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_kind_builds_and_feeds_its_laws(kind: str) -> None:
    element = KINDS[kind].model_validate({"kind": kind, **KINDS_MINIMAL[kind]})
    assert list(element.refusals()) == []
    assert element.parts(CLEAN, Ends(True, True))
    for _, part in every_part(element):
        law = LAWS[part.law]
        assert set(law.fields) - {"main"} <= set(part.params), part
        assert ("main" in law.fields) == (part.beside is not None)
        assert part.sources or part.law == "given"
        p = {name: part.params.get(name, 0.01) for name in law.fields}
        assert np.isfinite(ask(part.law, p, [(0.01, 1.2, 1.1)])).all()


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_count_is_the_number_of_like_units(kind: str) -> None:
    fields = {"kind": kind, **KINDS_MINIMAL[kind]}
    one = KINDS[kind].model_validate(fields).parts(CLEAN, Ends(True, True))
    if kind == "open water":
        return
    three = KINDS[kind].model_validate({**fields, "count": "3"}).parts(CLEAN, Ends(True, True))
    assert [p.units for p in three] == [3.0 * p.units for p in one]
    for a, b in zip(one, three, strict=True):
        if isinstance(a, Passage):
            assert isinstance(b, Passage)
            assert a.params == b.params


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_no_field_of_the_minimum_can_be_left_out(kind: str) -> None:
    # Else the table would not be the minimum that it says it is.
    for left in KINDS_MINIMAL[kind]:
        fields = {k: v for k, v in KINDS_MINIMAL[kind].items() if k != left}
        try:
            element = KINDS[kind].model_validate({"kind": kind, **fields})
        except ValueError:
            continue
        idle_lift = kind == "lift" and left == "flow"
        assert list(element.refusals()) or idle_lift, left


def concrete(base: type[Element]) -> Iterator[type[Element]]:
    for cls in base.__subclasses__():
        if "kind" in cls.__annotations__:
            yield cls
        yield from concrete(cls)


def test_registry_holds_every_kind_once() -> None:
    assert set(concrete(Element)) == set(KINDS.values())
    for kind, cls in KINDS.items():
        assert cls.model_validate({"kind": kind, **KINDS_MINIMAL[kind]}).kind == kind
    with pytest.raises(TypeError, match="'weir' is declared twice"):
        _register((KINDS["weir"], KINDS["pipe"], KINDS["weir"]))


def test_every_law_serves_some_kind() -> None:
    used = {
        part.law
        for kind, fields in KINDS_MINIMAL.items()
        for _, part in every_part(KINDS[kind].model_validate({"kind": kind, **fields}))
    }
    shaft = {"kind": "channel shaft", "floor": "-3 m", "inlet half": "1 m2", "outlet half": "1 m2"}
    tube = {"kind": "tube", "bore": "100 mm", "injection level": "-1 m", "injection depth": "1 m"}
    for fields in (
        {"curve": [["0 m3/h", "2 m"], ["100 m3/h", "1 m"]]},
        {"device": "airlift", "airlift": {**shaft, "air": "300 m3/h"}},
        {"device": "airlift", "airlift": {**tube, "air": "10 m3/h"}},
    ):
        lift = KINDS["lift"].model_validate({"kind": "lift", **fields})
        used |= {part.law for _, part in every_part(lift)}
    assert used == set(LAWS)
