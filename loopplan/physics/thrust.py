"""Thrust of channel flow: momentum flux plus pressure, as a depth of still water.

Where water joins a channel from the side without speed along it, momentum along the channel
is kept and energy is not (Chow, Open-Channel Hydraulics, 1959, chapter 12, from memory). The
thrust of a section over density and gravity is T = Q^2/(g A) + first moment of the area. It is
handed on here as the *still depth*: the depth of still water with the same thrust. For a
rectangle, a collecting channel that ends at critical depth y_c begins at sqrt(3) y_c.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from loopplan.physics.channels import FLOW_FLOOR
from loopplan.physics.constants import GRAVITY
from loopplan.physics.sections import Array, Section


class ThrustState(NamedTuple):
    """A depth [m] and its slopes with what it was found from [-] and with flow [s/m2]."""

    depth: Array
    slope: Array
    d_flow: Array


def still_depth(flow: Array, depth: Array, section: Section) -> ThrustState:
    """Return the still depth of a flow at a depth, and its slopes with depth and flow.

    Args:
        flow: flow [m3/s], 0 and up.
        depth: depth of the flow [m], at or above critical.
        section: the cross-sections.
    """
    area, top, _, _ = section.geometry(depth)
    speed = flow / area
    thrust = speed * flow / GRAVITY + section.first_moment(depth)
    still = np.asarray(depth + 0.0)
    for _ in range(40):
        under = section.area(still)
        step = (thrust - section.first_moment(still)) / under
        still = np.maximum(still + step, 0.5 * still)
        if (np.abs(step) <= 1e-13 * still).all():
            break
    under = section.area(still)
    return ThrustState(
        still,
        np.maximum(area - speed * speed * top / GRAVITY, 0.0) / under,
        2.0 * speed / GRAVITY / under,
    )


def depth_from_still(still: Array, flow: Array, section: Section, critical: Array) -> ThrustState:
    """Return the subcritical depth whose thrust is that of still water, held at critical.

    Slopes are with still depth and flow; near critical they are capped at 50.

    Args:
        still: still depth [m]; what has less thrust than critical flow is held at critical.
        flow: flow [m3/s], 0 and up.
        section: the cross-sections.
        critical: critical depth of that flow [m].
    """
    running = np.sqrt(flow * flow + FLOW_FLOOR**2)
    level = np.maximum(still, 1e-9)
    goal = section.first_moment(level)
    least = running * running / GRAVITY / section.area(critical) + section.first_moment(critical)
    held = goal <= least
    goal = np.maximum(goal, least)
    # Near critical the thrust is a parabola in depth: start above the root, Newton comes down.
    depth = np.maximum(level, critical * (1.0 + 1e-9))
    for _ in range(80):
        area, top, _, _ = section.geometry(depth)
        speed = running / area
        miss = goal - speed * running / GRAVITY - section.first_moment(depth)
        rise = np.maximum(area - speed * speed * top / GRAVITY, 1e-9 * area)
        trial = np.clip(depth + miss / rise, critical, np.maximum(level, critical))
        done = (np.abs(trial - depth) <= 1e-13 * depth).all()
        depth = trial
        if done:
            break
    area, top, _, _ = section.geometry(depth)
    speed = running / area
    rise = np.maximum(area - speed * speed * top / GRAVITY, 0.02 * area)
    return ThrustState(
        np.where(held, critical, depth),
        np.where(held, 0.0, np.minimum(section.area(level) / rise, 50.0)),
        np.where(held, 0.0, -2.0 * speed / GRAVITY / rise),
    )
