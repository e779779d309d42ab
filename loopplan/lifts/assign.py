"""Which device class suits a lift: the rules of practice, with their reasons in words.

The limits are data of the scenario. Device models refine this choice; the rules of
practice stay printed beside them.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.limits import Limits

AIRLIFT, PROPELLER, CENTRIFUGAL = "airlift", "propeller pump", "centrifugal pump"


@dataclass(frozen=True)
class Choice:
    """A device class, the reason for it, and the reason against each other one."""

    device: str
    reason: str
    against: tuple[tuple[str, str], ...]


def assign(head: float, pressure: float, limits: Limits) -> Choice:
    """Choose the device class of a lift.

    `head` is the greatest total head over the duty states [m], `pressure` what the elements
    fed by it need [m].
    """
    needs_pressure = pressure >= limits.pressure_from
    air = _against_airlift(head, pressure, needs_pressure, limits)
    propeller = _against_propeller(head, pressure, needs_pressure, limits)
    centrifugal = (
        f"{head:.2f} m is far below the heads that it is made for: it would run beyond the end "
        "of its curve, at poor efficiency"
    )
    if not air:
        reason = (
            f"{head:.2f} m of lift without pressure need is within the "
            f"{limits.airlift_workable:.2f} m that an airlift works at; it also adds oxygen and "
            "strips carbon dioxide, but its efficiency is low: compare a low-head propeller pump"
        )
        if head <= limits.airlift_ideal:
            reason = (
                f"{head:.2f} m of lift without pressure need is an airlift's best range (up to "
                f"{limits.airlift_ideal:.2f} m); it also adds oxygen and strips carbon dioxide, "
                "but its efficiency is low: compare a low-head propeller pump"
            )
        less = (
            "moves the same water for less power, but adds no oxygen, strips no carbon dioxide "
            "and has electrical parts in the water"
        )
        return Choice(AIRLIFT, reason, ((PROPELLER, less), (CENTRIFUGAL, centrifugal)))
    if not propeller:
        reason = (
            f"{head:.2f} m of head at full flow is what low-head propeller pumps are made for "
            f"(up to {limits.propeller_most:.1f} m)"
        )
        return Choice(PROPELLER, reason, ((AIRLIFT, air), (CENTRIFUGAL, centrifugal)))
    reason = (
        f"pressure of {pressure:.2f} m is needed"
        if needs_pressure
        else f"{head:.2f} m of head is beyond low-head pumps"
    )
    return Choice(CENTRIFUGAL, reason, ((AIRLIFT, air), (PROPELLER, propeller)))


def _against_airlift(head: float, pressure: float, needs: bool, limits: Limits) -> str:
    if needs:
        return f"an airlift makes no pressure, and {pressure:.2f} m are needed"
    if head > limits.airlift_most:
        return f"{head:.2f} m is above the {limits.airlift_most:.2f} m at which airlifts end"
    if head > limits.airlift_workable:
        return (
            f"{head:.2f} m is above the {limits.airlift_workable:.2f} m up to which an airlift is "
            "workable: air need and risk of stalling grow fast"
        )
    return ""


def _against_propeller(head: float, pressure: float, needs: bool, limits: Limits) -> str:
    if needs and pressure > limits.propeller_most:
        return f"{pressure:.2f} m of pressure is more than low-head pumps give"
    if head > limits.propeller_most:
        return (
            f"{head:.2f} m is above the {limits.propeller_most:.1f} m up to which low-head pumps "
            "are the usual choice"
        )
    return ""
