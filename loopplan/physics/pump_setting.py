"""The losses of a pump's setting, each counted once.

Makers measure the head of a pump at one of three places. What lies between that place and the
two levels is lost besides, and must be added to what the pump has to lift:

- `flange`: across the pump itself (total head from its inlet to its outlet);
- `column outlet`: from the suction level to the end of the column, total head; entry, column and
  bend are in it;
- `level to level`: all is in it, the exit loss too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loopplan.physics._check import Array, Numbers
from loopplan.physics.constants import GRAVITY
from loopplan.physics.friction import pipe_friction

COUNTED: dict[str, frozenset[str]] = {
    "flange": frozenset(),
    "column outlet": frozenset({"entry", "column", "bend"}),
    "level to level": frozenset({"entry", "column", "bend", "flap", "exit"}),
}
"""Terms that the stated head holds already, by where it was measured."""


@dataclass(frozen=True)
class Setting:
    """How a pump stands in the water and hands it on.

    Attributes:
        bore: inside diameter of column, bend and flap [m], above 0.
        outlet_bore: inside diameter where the water leaves into the open [m], above 0.
        column_length: length of the column [m], 0 and up.
        roughness: sand roughness of the column [m].
        entry_k: K of the entry on the velocity head in the column [-].
        bend_k: K of the bend on the velocity head in the column [-].
        flap_k: K of the flap valve on the velocity head at the outlet [-].
        exit_k: share of the velocity head at the outlet that is lost [-]: 1 into still water, 0
            where a pipe carries on.
    """

    bore: Numbers
    outlet_bore: Numbers
    column_length: Numbers = 0.0
    roughness: Numbers = 0.0
    entry_k: Numbers = 0.0
    bend_k: Numbers = 0.0
    flap_k: Numbers = 0.0
    exit_k: Numbers = 1.0


@dataclass(frozen=True)
class SettingLoss:
    """Head that a pump has to make besides the difference of the levels.

    Attributes:
        entry, column, bend, flap, exit: the terms [m]; 0 where the stated head holds them.
        total: their sum [m].
        slope: rise of the sum with flow [s/m2].
    """

    entry: Array
    column: Array
    bend: Array
    flap: Array
    exit: Array
    total: Array
    slope: Array


def velocity_head(flow: Numbers, bore: Numbers) -> Array:
    """Velocity head in a full round pipe.

    Args:
        flow: flow [m3/s].
        bore: inside diameter [m], above 0.

    Returns:
        v^2/2g [m].

    Source: closed form.
    """
    speed = np.asarray(flow) / (np.pi / 4.0 * np.asarray(bore) ** 2)
    return np.asarray(speed**2 / (2.0 * GRAVITY))[()]


def setting_loss(
    measured_at: str, flow: Numbers, setting: Setting, viscosity: Numbers
) -> SettingLoss:
    """Head that the setting of a pump takes and its stated curve does not hold.

    Args:
        measured_at: where the head of the curve was measured, one of `COUNTED`.
        flow: flow [m3/s]; backward flow gives heads below zero.
        setting: the setting.
        viscosity: kinematic viscosity [m2/s], above 0.

    Returns:
        The terms.

    Raises:
        ValueError: a place that is not known.

    Source: `darcy-weisbach`, `colebrook`; the places: `trade-practice`.
    """
    if measured_at not in COUNTED:
        raise ValueError(f"head measured at '{measured_at}'; allowed: {', '.join(COUNTED)}")
    q = np.asarray(flow, dtype=np.float64)
    inside = np.sign(q) * velocity_head(q, setting.bore)
    outside = np.sign(q) * velocity_head(q, setting.outlet_bore)
    friction, friction_slope = pipe_friction(
        q, setting.column_length, setting.bore, setting.roughness, viscosity
    )
    terms = {
        "entry": setting.entry_k * inside,
        "column": friction,
        "bend": setting.bend_k * inside,
        "flap": setting.flap_k * outside,
        "exit": setting.exit_k * outside,
    }
    held = COUNTED[measured_at]
    kept = {
        name: np.zeros_like(term) if name in held else np.asarray(term)
        for name, term in terms.items()
    }
    per_flow = np.divide(2.0, q, out=np.zeros_like(q), where=q != 0.0)
    square = sum(term for name, term in kept.items() if name != "column")
    slope = per_flow * square + (0.0 if "column" in held else friction_slope)
    return SettingLoss(
        **{name: np.asarray(term)[()] for name, term in kept.items()},
        total=np.asarray(sum(kept.values()))[()],
        slope=np.asarray(slope)[()],
    )
