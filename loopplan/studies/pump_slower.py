"""A pump below its speed: where its flow stops, and what it takes with the loop solved anew."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from loopplan.errors import LoopplanError
from loopplan.loop.solution import Solved, solve_scenario
from loopplan.physics.curve_fit import Curve, curve_value
from loopplan.physics.pump_curves import at_speed, shut_off_head, stop_speed
from loopplan.studies.lift_duty import LEAST_FLOW, Duty
from loopplan.studies.lift_sheet_results import Slower

if TYPE_CHECKING:
    from loopplan.studies.device_pumps import PumpStudy

SHARES = (1.0, 0.9, 0.8, 0.7, 0.6)
"""Speeds that are solved, as shares of that in the duty state [-]."""

_POINTS = 30
_FOLLOWS = 1e-3
"""Least share of the flow that goes with the speed, so that the flow follows from the pump [-]."""


def stop_share(study: PumpStudy, duty: Duty) -> float | None:
    """Return the share of full speed [-] below which a pump's flow stops; None without a curve.

    The static part of the duty is the difference of level between the basins on both sides, as
    it stands in that state.
    """
    if study.curve is None or shut_off_head(study.curve) <= 0.0:
        return None
    return float(stop_speed(study.curve, duty.static))


def slower(study: PumpStudy, solved: Solved) -> tuple[Slower, ...] | None:
    """Return the pump at lower speeds, the loop solved anew at each with the pump's curve.

    In the first duty state in which it runs. None without a frequency converter; empty where the
    flow does not follow from this pump, as other lifts or levels give it.
    """
    point, duty = study.point, study.point.first
    if not study.converter:
        return None
    if study.curve is None or duty.stands or duty.head <= 0.0:
        return ()
    scenario = solved.compiled.scenario
    base = scenario.states[point.number]
    full = study.share(duty)
    trials = {
        share: point.lift.model_copy(
            update={
                "flow": None,
                "curve": _between_levels(study, duty, at_speed(study.curve, share * full)),
                "speed": 1.0,
                "device": study.device,
            }
        )
        for share in SHARES
    }
    states = tuple(
        # An added state that cannot be solved is left out, and the others stand.
        replace(
            base,
            name=_name(share),
            elements={**base.elements, point.name: trial},
            added=share < 1.0,
        )
        for share, trial in trials.items()
    )
    first = {**scenario.elements, point.name: trials[1.0]}
    try:
        found = solve_scenario(replace(scenario, elements=first, states=states, adds_states=False))
    except LoopplanError:
        return ()
    compiled = found.compiled
    branch = next(j for j, b in enumerate(compiled.graph.branches) if b.element == point.name)
    ends = compiled.graph.branches[branch]
    names = [state.name for state in compiled.scenario.states]
    rows = []
    for share in SHARES:
        if _name(share) not in names:
            continue
        k = names.index(_name(share))
        flow = float(found.flows[branch, k]) / duty.units
        if flow <= LEAST_FLOW:
            rows.append(Slower(share * full, 0.0, 0.0))
            continue
        there = replace(
            duty,
            flow=flow,
            up=float(found.heads[ends.up, k]),
            down=float(found.heads[ends.down, k]),
        )
        shaft = study.shaft_at(there, share * full)
        rows.append(
            Slower(share * full, flow * duty.units, duty.units * study.electric(there, shaft))
        )
    follows = len(rows) > 1 and rows[-1].flow < (1.0 - _FOLLOWS) * rows[0].flow
    return tuple(rows) if follows else ()


def _name(share: float) -> str:
    return f"speed {share:.2f}"


def _between_levels(study: PumpStudy, duty: Duty, curve: Curve) -> list[list[float]]:
    """Points of a curve [m3/s, m] less what the setting takes, so from level to level."""
    flows = np.union1d(np.linspace(0.0, float(curve.x[-1]), _POINTS), curve.x)
    heads = curve_value(curve, flows)[0]
    taken = [sum(h for _, h in study.ends(replace(duty, flow=float(q)))) for q in flows]
    return [[float(q), float(h - t)] for q, h, t in zip(flows, heads, taken, strict=True)]
