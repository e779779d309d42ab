"""The lift at which airlift and propeller pump change places, and what moves it.

Prices and yearly costs are invented. Only directions are tested, and that both cost the same there.
"""

from __future__ import annotations

import pytest

from loopplan.studies.lift_sheet_results import LiftSheet
from tests.lift_loop import air, lift, loss, sheet


def compared(
    *, price: float = 0.10, pump: str = "", half: float = 2.0, at: float = 0.3
) -> LiftSheet:
    airlift = (
        f"{{kind: channel shaft, inlet half: 3 m2, outlet half: {half} m2, oxygen: 7 mg/L, "
        "yearly cost: 500, depth: 4.5 m, dry reserve: 1.5 m}"
    )
    return sheet(
        lift(f"airlift: {airlift}, propeller pump: {{yearly cost: 4500{pump}}}"),
        ("duty states", f"prices: {{currency: EUR, electricity: {price}}}\nduty states"),
        *([] if at == 0.3 else [loss(at)]),
    )


def crossover(**changes: float | str) -> float:
    found = compared(**changes).crossover  # type: ignore[arg-type]
    assert found is not None
    return found


def test_both_cost_the_same_where_they_change_places() -> None:
    # The sill of a drawn shaft moves with the outlet, so the loop is drawn anew at that lift.
    at = crossover()
    below, above = (compared(at=at + step) for step in (-0.03, 0.03))
    assert below.recommended == "airlift"
    assert above.recommended == "propeller pump"
    assert f"the airlift leads below {at:.2f} m" in compared().crossover_words
    assert "cost of a year" in compared().crossover_words


def test_it_stays_where_the_lift_of_the_loop_is_not_part_of_it() -> None:
    # The same shaft, its sill as far below the outlet level, at another lift of the loop.
    sill = {0.3: "0.80", 0.4: "0.90"}
    found = []
    for at, level in sill.items():
        drawn = (
            f"airlift: {{kind: channel shaft, inlet half: 3 m2, outlet half: 2 m2, outlet sill: "
            f"{level} m, oxygen: 7 mg/L, yearly cost: 500}}, propeller pump: {{yearly cost: 4500}}"
        )
        price = ("duty states", "prices: {electricity: 0.10}\nduty states")
        change = [] if at == 0.3 else [loss(at)]
        found.append(sheet(lift(drawn), price, *change).crossover)
    assert found[0] == pytest.approx(found[1], abs=2e-3)


def test_dearer_power_lowers_it() -> None:
    assert crossover(price=0.13) < crossover(price=0.10) < crossover(price=0.08)


def test_losses_of_the_propeller_pump_raise_it() -> None:
    usual = crossover()
    assert crossover(pump=", flap loss: 1.5") > usual
    assert crossover(pump=", column: 400 mm") > usual
    assert crossover(pump=", column: 800 mm") < usual


def test_plan_area_moves_it_both_ways() -> None:
    # Losses rule left of the area of least air, slip rules right of it.
    assert crossover(half=0.2) < crossover(half=0.3)
    assert crossover(half=4.0) < crossover(half=2.0)


def test_without_a_credit_or_owning_costs_the_pump_leads_throughout() -> None:
    one = sheet(air())
    assert one.crossover is None
    assert "the propeller pump leads at every lift" in one.crossover_words
