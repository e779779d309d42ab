"""Published rules of thumb for airlift circuits, shown beside a choice and never used for it.

Practice works with half the air of the first rule (1:1), so that the two are told apart. Source
of all five: pfeiffer-malone-2007.
"""

from __future__ import annotations

from dataclasses import dataclass

_FOOT = 0.3048
AIR_TO_WATER = 2.0
"""Volume of air to volume of water [-]."""
SUBMERGENCE_TO_LIFT = 5.0
"""Depth of the air inlet under water over lift [-]."""
APPROACH_VELOCITY = 2.0 * _FOOT
"""Least velocity of the water towards the riser [m/s]."""
RISER_VELOCITY = 1.0 * _FOOT
"""Least velocity of the water in the riser [m/s]."""
CIRCUIT_HEAD = 1.0 * _FOOT
"""Head that all losses of the circuit stay below [m]."""


@dataclass(frozen=True)
class RuleScreen:
    """What the rules ask of one airlift.

    `air` [m3/s] (the source does not say at what pressure), `submergence` [m], greatest areas of
    flow `approach_area` and `riser_area` [m2], `head` [m] of the circuit, and whether it `fits`.
    """

    air: float
    submergence: float
    approach_area: float
    riser_area: float
    head: float
    fits: bool


def rule_screen(flow: float, head: float) -> RuleScreen:
    """Apply the rules to a lift of `flow` [m3/s] and `head` [m]."""
    return RuleScreen(
        AIR_TO_WATER * flow,
        SUBMERGENCE_TO_LIFT * head,
        flow / APPROACH_VELOCITY,
        flow / RISER_VELOCITY,
        head,
        head < CIRCUIT_HEAD,
    )
