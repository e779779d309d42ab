"""What rules a pump out in a duty state, and what must be known of it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from loopplan.lifts.pumps import barred
from loopplan.physics.pump_generic import shut_off_power
from loopplan.physics.suction import bell_velocity_limits
from loopplan.studies.lift_duty import Duty
from loopplan.studies.lift_sheet_results import Remark
from loopplan.studies.pump_index import index_words

if TYPE_CHECKING:
    from loopplan.studies.device_pumps import PumpStudy

SLOW_MOTOR = 470.0
"""Speed [1/min] below which a motor of 12 poles at 50 Hz needs help."""


def pump_limits(study: PumpStudy, duty: Duty) -> tuple[list[str], list[Remark]]:
    """Return what speaks against a pump in a duty state, and remarks on it."""
    if study.head(duty) <= 0.0:
        against = [f"the levels fall by {-duty.head:.2f} m across it: nothing is left to lift"]
        return [*against, *_curve(study, duty)], []
    against = list(_class(study, duty))
    if study.number is None:
        return against, []
    against += [*_curve(study, duty), *_suction(study, duty)]
    shaft = study.shaft(duty)
    if shaft > study.motor * (1.0 + 1e-9):
        against.append(
            f"{shaft / 1e3:.2f} kW at the shaft overload its motor of {study.motor / 1e3:g} kW"
        )
    return against, list(_remarks(study, duty))


def _class(study: PumpStudy, duty: Duty) -> Iterable[str]:
    most, head = study.limits.propeller_most, study.head(duty)
    if study.propeller and duty.pressure > most:
        yield f"{duty.pressure:.1f} m of pressure is more than low-head pumps give"
    elif study.propeller and head > most:
        yield (f"{head:.2f} m is above the {most:.1f} m up to which low-head pumps are usual")
    kind = "propeller and mixed-flow" if study.propeller else "centrifugal"
    least, greatest = study.range
    if study.number is None:
        yield (
            f"at no motor speed does {head:.2f} m at {duty.flow * 3600.0:.0f} m3/h fall into the "
            f"specific speeds of {kind} pumps"
        )
    elif not study.known and not least * 0.999 <= study.number <= greatest * 1.001:
        yield (
            f"at {study.full_speed:.0f} turns a minute its duty asks for a specific speed of "
            f"{study.number:.0f}; those of {kind} pumps run from {least:g} to {greatest:g}"
        )


def _curve(study: PumpStudy, duty: Duty) -> Iterable[str]:
    points = study.curve_points
    if not points:
        return
    share, flow = study.share(duty), f"{duty.flow * 3600.0:.0f} m3/h"
    out = barred(points)
    if out is not None and duty.flow < out[1] * share:
        yield (
            f"{flow} lies in the saddle of its curve (up to {out[1] * share * 3600.0:.0f} "
            "m3/h), where it must not run"
        )
    end = points[-1][0] * share
    if duty.flow > end * (1.0 + 1e-9):
        yield f"{flow} is beyond the end of its curve ({end * 3600.0:.0f} m3/h)"
    if not study.fixed and share > 1.0 + 1e-9:
        yield f"its curve at full speed stays below the {study.head(duty):.2f} m that are asked"


def _suction(study: PumpStudy, duty: Duty) -> Iterable[str]:
    there = study.submergence(duty)
    if there is not None and there[1] is not None and there[1] < there[0]:
        yield (
            f"{there[1]:.2f} m of water stand over its bell, and {there[0]:.2f} m are needed "
            "against drawing air"
        )
    npsh = study.npsh(duty)
    if npsh is not None and npsh[1] < npsh[0]:
        yield (
            f"{npsh[1]:.2f} m of net positive suction head are there, and {npsh[0]:.2f} m are "
            "needed: it would cavitate"
        )


def _remarks(study: PumpStudy, duty: Duty) -> Iterable[Remark]:
    for code, words in _said(study, duty):
        yield Remark(code, words)


def _said(study: PumpStudy, duty: Duty) -> Iterable[tuple[str, str]]:
    choice, share = study.choice, study.share(duty)
    if choice is not None and choice.speed < SLOW_MOTOR and study.propeller:
        yield (
            "",
            f"asks for {choice.speed:.0f} turns a minute, slower than motors run from the mains: "
            "a gear or a frequency converter",
        )
    if not study.propeller:
        words = index_words(study)
        if words:
            yield "", words
    if study.stages > 1:
        yield "", f"{study.stages} stages in series"
    if study.stated is not None and study.stated.wire_to_water and study.stated.efficiency:
        yield "", "its stated wire-to-water value goes before its efficiency curve"
    if study.curve_points and not study.fixed and not study.converter and share < 0.99:
        yield (
            "pump-throttled",
            f"needs {100.0 * share:.0f} % of full speed and has no frequency converter: it would "
            "carry more, or be throttled at a loss",
        )
    worst = max(study.shaft(d) for d in study.working)
    closed = float(shut_off_power(worst, min(max(study.number or 0.0, 5.0), 500.0)))
    if study.propeller and closed > study.motor:
        yield (
            "pump-shut-off-power",
            f"against a closed valve it would ask for about {closed / 1e3:.1f} kW, more than its "
            f"motor of {study.motor / 1e3:g} kW gives: never start or run it shut",
        )
    speed = study.bell_velocity(duty)
    if speed is not None:
        low, high = bell_velocity_limits(duty.flow)
        if not low <= speed <= high:
            yield (
                "bell-velocity",
                f"{speed:.2f} m/s in the mouth of its bell; {low:g} to {high:g} m/s are usual",
            )
