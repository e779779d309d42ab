"""Texts and small choices that several reports share."""

from __future__ import annotations

from collections.abc import Iterable

from loopplan.findings import Finding, Severity, worst
from loopplan.lifts.rule_screen import (
    AIR_TO_WATER,
    APPROACH_VELOCITY,
    CIRCUIT_HEAD,
    RISER_VELOCITY,
    SUBMERGENCE_TO_LIFT,
    RuleScreen,
)
from loopplan.report.numbers import flow_m3_h
from loopplan.studies.results import BudgetResult, LiftResult, StateResult

NOT_VALIDATED = "not validated at farm size"
"""Said of every airlift: no published measurements of farm size could be reached."""

CAUTIONS = (
    "These numbers are for screening: a responsible engineer checks them before anyone builds, "
    "and local codes and licensed practice come first. Electricity stands near water: protect "
    "and isolate it. Shafts, sumps and degasser rooms are confined spaces in which hydrogen "
    "sulphide (H2S) and carbon dioxide (CO2) gather: ventilate, measure, never enter alone. "
    "People drown, and sink in aerated water: guard shafts and aerated basins. Empty tanks and "
    "shafts can float in groundwater. Never rely on one lift or one supply. Protect the make-up "
    "against backflow."
)

AIR_CAUTIONS = (
    "Air pipes behind a blower burn: guard or lag them, and use no plastic without its maker's "
    "rating for air at that temperature. Blowers are loud: ears, neighbours and fish; house them, "
    "with silencers and cooling air. A shut valve on a running blower bursts something: one relief "
    "valve each."
)
"""Said wherever air is pressed into water."""


def states_of(finding: Finding, names: Iterable[str]) -> tuple[str, ...]:
    """Return the duty states, out of `names`, that a finding speaks of."""
    told = (finding.state, *finding.also)
    return tuple(name for name in names if not finding.state or name in told)


def worst_in(result: BudgetResult, state: str) -> Severity | None:
    """Return the severity of the worst finding of one duty state."""
    return worst(f for f in result.findings if states_of(f, (state,)))


def path_losses(state: StateResult) -> dict[str, float]:
    """Return what each flow path loses [m], in the order of the paths."""
    found: dict[str, float] = {}
    for row in state.rows:
        if not (row.bypass or row.shut):
            found[row.path] = found.get(row.path, 0.0) + max(row.loss, 0.0)
    return found


def main_path_loss(state: StateResult) -> float:
    """Return what the main path loses [m].

    Of the paths through the lift that carries most, it is the one that loses most: a side stream
    at high pressure is no measure of the loop. Where part of that path is shut, its water goes
    another way and loses there what the lifts of the path gain.
    """
    lifts = [row for row in state.rows if row.loss < 0.0 and row.device != 0.0]
    rows = lifts or [row for row in state.rows if not row.bypass]
    most = max((abs(row.flow) for row in rows), default=0.0)
    main = {row.path for row in rows if abs(row.flow) >= most * (1.0 - 1e-6)}
    losses = path_losses(state)
    for path in {row.path for row in state.rows if row.shut} & main:
        losses[path] = sum(-row.loss for row in lifts if row.path == path)
    return max((loss for p, loss in losses.items() if p in main), default=0.0)


def lowest_freeboard(result: BudgetResult, element: str) -> tuple[float, str] | None:
    """Return the lowest freeboard [m] of a basin over all duty states, and the state."""
    boards = [
        (row.freeboard, state.name)
        for state in result.states
        for row in state.levels
        if row.element == element and row.freeboard is not None and not row.isolated
    ]
    return min(boards, key=lambda b: b[0], default=None)


def device_remarks(lift: LiftResult) -> tuple[str, ...]:
    """Return what must be said beside the suggested device of a lift."""
    found = []
    if "airlift" in (lift.device, lift.asked):
        found.append(f"airlift: {NOT_VALIDATED}")
    if lift.rules is not None:
        found.append(_rules(lift.rules))
    return tuple(found)


def _rules(rules: RuleScreen) -> str:
    """Say what published rules would ask, which decide nothing here."""
    fits = "met" if rules.fits else "not met"
    return (
        f"for information, rules of Pfeiffer and Malone 2007 that decide nothing here: air to "
        f"water {AIR_TO_WATER:g}:1 ({flow_m3_h(rules.air)} m3/h; practice works from 1:1), "
        f"submergence {SUBMERGENCE_TO_LIFT:g} times the lift ({rules.submergence:.2f} m), at least "
        f"{APPROACH_VELOCITY:.2f} m/s towards the riser and {RISER_VELOCITY:.3f} m/s in it (up to "
        f"{rules.approach_area:.2f} and {rules.riser_area:.2f} m2), head of the circuit under "
        f"{CIRCUIT_HEAD:.3f} m ({rules.head:.3f} m: {fits})"
    )


def one_line(text: str) -> str:
    """Return a text of the user's on one line."""
    return " ".join(text.split())
