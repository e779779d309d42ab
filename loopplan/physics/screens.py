"""Racks, plates and meshes across a flow: K on the velocity head of the approach.

`blinded` is the share of the clean free area that debris or growth has closed. It takes free
area; it does not multiply the loss:

- a plate, mesh or rack that is described by its free area is calculated with what is left of it;
- for Kirschmer's rack, whose formula was measured on clean bars, the clean K is read as that of a
  jet which fills the share m = 1/(1 + sqrt K) of the approach and then spreads (Borda and
  Carnot); debris narrows the jet to m (1 - blinded).
"""

from __future__ import annotations

import numpy as np

from loopplan.physics._check import Array, Numbers, positive, within

BAR_SHAPES: dict[str, float] = {
    "sharp": 2.42,
    "rounded upstream": 1.83,
    "round": 1.79,
    "rounded both": 1.67,
    "tear-drop": 0.76,
}
"""Kirschmer's factor [-] by the section of the bars (`kirschmer-1926`)."""

_MOST_BLINDED = 0.95


def _left(free_area: Numbers, blinded: Numbers) -> Array:
    clean = within("free area", free_area, 0.01, 1.0)
    closed = within("blinded share", blinded, 0.0, _MOST_BLINDED)
    return np.asarray(clean * (1.0 - closed))


def bar_rack_k(
    thickness: Numbers,
    spacing: Numbers,
    angle: Numbers,
    shape: str = "sharp",
    blinded: Numbers = 0.0,
) -> Array:
    """Loss coefficient of a rack of bars square to the flow in plan.

    Args:
        thickness: thickness of a bar [m], above 0.
        spacing: clear distance of bars [m], above 0.
        angle: angle of the bars to the floor [rad], above 0 to 1.571.
        shape: section of the bars, one of `BAR_SHAPES`.
        blinded: share of the clear distance that is closed [-], 0 to 0.95.

    Returns:
        K on v^2/2g of the approach [-]. About 20 % when clean; rough when blinded.

    Raises:
        ValueError: outside the range, or a shape that is not known.

    Source: `kirschmer-1926`; blinding: `borda-carnot`, see above.
    """
    if shape not in BAR_SHAPES:
        raise ValueError(f"'{shape}' is not a section of bars; known: {', '.join(BAR_SHAPES)}")
    ratio = positive("thickness", thickness, "m") / positive("spacing", spacing, "m")
    lean = within("angle", angle, 1e-3, 1.571, "rad")
    closed = within("blinded share", blinded, 0.0, _MOST_BLINDED)
    clean = BAR_SHAPES[shape] * ratio ** (4.0 / 3.0) * np.sin(lean)
    return np.asarray(((1.0 + np.sqrt(clean)) / (1.0 - closed) - 1.0) ** 2)[()]


def net_area_rack_k(free_area: Numbers, blinded: Numbers = 0.0) -> Array:
    """Loss coefficient of a rack that is known by its net area only.

    Args:
        free_area: net over gross area when clean [-], 0.01 to 1; measured for about 0.5 to 0.8.
        blinded: share of the free area that is closed [-], 0 to 0.95.

    Returns:
        K on v^2/2g of the approach [-].

    Raises:
        ValueError: outside the range.

    Source: `usbr-rack`.
    """
    r = _left(free_area, blinded)
    return np.asarray((1.45 - 0.45 * r - r * r) / r**2)[()]


def perforated_plate_k(free_area: Numbers, blinded: Numbers = 0.0) -> Array:
    """Loss coefficient of a thin plate with sharp-edged holes or slots.

    Args:
        free_area: free over gross area when clean [-], 0.01 to 1.
        blinded: share of the free area that is closed [-], 0 to 0.95.

    Returns:
        K on v^2/2g of the approach [-]. Holes at a Reynolds number above some 1e3.

    Raises:
        ValueError: outside the range.

    Source: `idelchik-8-1`.
    """
    f = _left(free_area, blinded)
    return np.asarray(((0.707 * np.sqrt(1.0 - f) + 1.0 - f) / f) ** 2)[()]


def mesh_k(free_area: Numbers, blinded: Numbers = 0.0, wire_reynolds: Numbers = np.inf) -> Array:
    """Loss coefficient of a mesh of round wire.

    Args:
        free_area: free over gross area when clean [-], 0.01 to 1.
        blinded: share of the free area that is closed [-], 0 to 0.95.
        wire_reynolds: velocity in the clean meshes times wire thickness over viscosity [-],
            above 0; fine cloth in slow water lies below 50, where viscosity adds to the loss.

    Returns:
        K on v^2/2g of the approach [-].

    Raises:
        ValueError: outside the range.

    Source: `idelchik-8-6`; its addition 22/Re for Re below 50 is kept above, where it dies out.
    """
    f = _left(free_area, blinded)
    re = np.asarray(wire_reynolds, dtype=np.float64)
    if not (re > 0.0).all():
        raise ValueError("wire Reynolds number; allowed: above 0")
    return np.asarray(1.3 * (1.0 - f) + (1.0 / f - 1.0) ** 2 + 22.0 / re)[()]
