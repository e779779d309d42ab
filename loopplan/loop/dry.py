"""How far down a level can lie: what is cut off stands at its lowest sill.

Below the lowest sill round a basin nothing runs in or out, whatever its level: water that once
stood there has drained down to that sill, and no further. Levels that passages without a sill
tie together have their lowest sill in common. Where a lift draws, or a level is given, there is
no such bound.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopplan.laws import LAWS, Array
from loopplan.loop.compile import LawGroup, System


def lowest_levels(system: System) -> Array:
    """Return the lowest level [m] at which each node can stand (nodes + 1, variants).

    It is -inf where a lift draws or pushes, or a given level is tied.
    """
    n = system.nodes
    low = np.full((n + 1, system.variants), np.inf)
    bound = ~system.fixed
    for j in system.free.tolist():
        bound[[system.up[j], system.down[j]]] = False
    ties: list[NDArray[np.intp]] = []
    for group in system.groups:
        sill = LAWS[group.law].sill(group.params)
        if sill is not None:
            level = np.broadcast_to(sill, group.units.shape)
            np.minimum.at(low, group.up, level)
            np.minimum.at(low, group.down, level)
        elif LAWS[group.law].tie == "given":
            bound[group.up] = False
        elif _lifts(group):
            bound[group.up] = bound[group.down] = False
        else:
            ties.append(np.stack([group.up, group.down]))
    low[~bound] = -np.inf
    tied = np.concatenate(ties, axis=1) if ties else np.empty((2, 0), dtype=np.intp)
    while tied.size:
        common = np.minimum(low[tied[0]], low[tied[1]])
        before = low.copy()
        np.minimum.at(low, tied[0], common)
        np.minimum.at(low, tied[1], common)
        if (before == low).all():
            break
    low[np.isposinf(low)] = -np.inf
    return low


def _lifts(group: LawGroup) -> bool:
    if LAWS[group.law].lifts:
        return True
    return group.law == "curve" and bool((group.params["heads"] > 0.0).any())
