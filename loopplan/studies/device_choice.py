"""Which device for a lift: energy and cost side by side, the crossover lift, and the words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import floor, log10

from loopplan.lifts.assign import AIRLIFT, PROPELLER
from loopplan.scenario.models import Prices
from loopplan.studies.lift_sheet_results import Band, DeviceResult

JOULE_PER_KWH = 3.6e6
_GRID = (0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6, 0.7, 0.85, 1.0)
"""Lifts [m] between which a crossover is looked for."""
_FINE = 8


def yearly(device: DeviceResult, owning: float | None, prices: Prices) -> float | None:
    """Yearly cost of a device in the currency of the prices; None without a price.

    Energy less that which other aeration would take for the oxygen that it adds, and what owning
    it costs.
    """
    if prices.electricity is None or device.energy is None:
        return None
    credit = device.gas.instead * prices.hours if device.gas is not None else 0.0
    used = (device.energy.value - credit) / JOULE_PER_KWH
    return used * prices.electricity + (owning or 0.0)


def net_energy(device: DeviceResult, prices: Prices) -> float | None:
    """Energy of a year [J], less what other aeration would take for the oxygen it adds."""
    if device.energy is None:
        return None
    credit = device.gas.instead * prices.hours if device.gas is not None else 0.0
    return device.energy.value - credit


def recommend(devices: tuple[DeviceResult, ...], prices: Prices) -> tuple[str, str]:
    """Return the device that is recommended, and why in plain words; "" if none can serve."""
    able = [d for d in devices if d.feasible and d.energy is not None]
    if not able:
        return (
            "",
            "None of the three devices can serve this lift as it is: see what is against each.",
        )
    by_cost = all(d.cost is not None for d in able)

    def burden(device: DeviceResult) -> float:
        value = device.cost if by_cost else net_energy(device, prices)
        return float("inf") if value is None else value

    able.sort(key=burden)
    best = able[0]
    if len(able) == 1:
        others = [d for d in devices if d is not best]
        why = "; ".join(f"the {d.device} cannot: {d.reason}" for d in others)
        return best.device, f"Take the {best.device}: it is the only one that serves. {_up(why)}."
    second = able[1]
    words = [f"Take the {best.device}."]
    money = prices.currency or "units of money"
    assert best.energy is not None and second.energy is not None
    here, there = best.energy.value / JOULE_PER_KWH, second.energy.value / JOULE_PER_KWH
    words.append(
        f"It takes about {_round(here)} kWh a year, the {second.device} about {_round(there)} kWh."
    )
    if by_cost and best.cost is not None and second.cost is not None:
        words.append(
            f"With what owning costs and what its air saves elsewhere, it comes "
            f"{_round(second.cost - best.cost)} {money} a year cheaper."
        )
    if _overlap(best.energy, second.energy):
        words.append("The bands of the two overlap, so the difference is not certain.")
    if second.device == AIRLIFT or best.device == AIRLIFT:
        air = next(d for d in able[:2] if d.device == AIRLIFT)
        if air.gas is not None:
            grams = air.gas.oxygen.value * 3.6e6
            words.append(
                f"The airlift {'adds' if grams >= 0 else 'takes away'} about {abs(grams):.0f} g of "
                "oxygen an hour; that is counted above."
            )
        else:
            words.append(
                "What the airlift's air does for oxygen and carbon dioxide is not counted: state "
                "`oxygen` of the water that comes to it."
            )
        words.append("The airlift's figures are not validated at farm size.")
    return best.device, " ".join(words)


Lead = Callable[[Sequence[float]], Sequence[float | None]]
"""Lifts [m] to how much the propeller pump is the better at each; None: not to be compared."""


def crossover(lead: Lead, unit: str) -> tuple[float | None, str]:
    """Return the lift [m] at which airlift and propeller pump change places, with words.

    `unit` is what they are compared by.
    """
    known = _known(lead, _GRID)
    if not known:
        return None, "No crossover: the two cannot be compared at this flow."
    found = _change(known)
    if found is None:
        leader = AIRLIFT if known[0][1] < 0.0 else PROPELLER
        return None, (
            f"By {unit} of a year at this flow the {leader} leads at every lift from "
            f"{known[0][0]:.2f} to {known[-1][0]:.2f} m."
        )
    low, high = found[0][0], found[1][0]
    fine = [low + (high - low) * i / _FINE for i in range(_FINE + 1)]
    (low, a), (high, b) = _change(_known(lead, fine)) or found
    share = a / (a - b) if b != float("inf") else 0.5
    at = low + (high - low) * share
    below, above = (AIRLIFT, PROPELLER) if a < 0.0 else (PROPELLER, AIRLIFT)
    return at, (
        f"By {unit} of a year at this flow the {below} leads below {at:.2f} m of lift and the "
        f"{above} above it."
    )


Point = tuple[float, float]


def _known(lead: Lead, lifts: Sequence[float]) -> list[Point]:
    found = zip(lifts, lead(lifts), strict=True)
    return [(lift, value) for lift, value in found if value is not None]


def _change(known: Sequence[Point]) -> tuple[Point, Point] | None:
    """Return the first two neighbours between which the lead changes sides."""
    for left, right in pairwise(known):
        if (left[1] < 0.0) != (right[1] < 0.0):
            return left, right
    return None


def _overlap(a: Band, b: Band) -> bool:
    return a.least <= b.most and b.least <= a.most


def _round(value: float) -> str:
    """Round to two digits, with blanks between thousands."""
    if value == 0.0:
        return "0"
    digits = 1 - floor(log10(abs(value)))
    return f"{round(value, digits):,.{max(digits, 0)}f}"


def _up(text: str) -> str:
    return text[:1].upper() + text[1:]
