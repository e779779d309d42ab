"""Classes of blowers and materials of air pipes, as data.

This file loads no numpy; it serves the parser and the help.
"""

from __future__ import annotations

from dataclasses import dataclass

CYCLES = ("isochoric", "adiabatic", "isothermal")


@dataclass(frozen=True)
class BlowerClass:
    """A class of blowers.

    Attributes:
        name: its name in the trade.
        cycle: ideal cycle of its compression, one of `CYCLES`.
        efficiency: least and most efficiency [-]: lossless adiabatic power over power taken.
        taken: where that power is taken: `shaft` or `wire` (motor losses included).
        rise: least and most pressure rise of its usual use [Pa].
        displacement: whether it delivers a volume per turn, nearly whatever the back-pressure.
        least_speed: least speed with a frequency converter over full speed [-].
        source: key of the source of the efficiency.
        words: a note, in words.
    """

    name: str
    cycle: str
    efficiency: tuple[float, float]
    taken: str
    rise: tuple[float, float]
    displacement: bool
    least_speed: float
    source: str
    words: str


BLOWERS: dict[str, BlowerClass] = {
    kind.name: kind
    for kind in (
        BlowerClass(
            "rotary lobe", "isochoric", (0.45, 0.65), "shaft", (10e3, 100e3), True, 0.40,
            "epa-832-r-10-005",
            "compresses against the full back-pressure; least speed is set by its cooling",
        ),
        BlowerClass(
            "rotary screw", "adiabatic", (0.60, 0.75), "shaft", (30e3, 150e3), True, 0.30,
            "trade-practice",
            "compresses inside; away from its built-in pressure ratio it loses",
        ),
        BlowerClass(
            "side channel", "adiabatic", (0.25, 0.45), "wire", (5e3, 70e3), False, 0.50,
            "side-channel-range",
            "flow falls as back-pressure rises; best below some 3 m of water",
        ),
        BlowerClass(
            "turbo", "adiabatic", (0.70, 0.80), "shaft", (30e3, 120e3), False, 0.60,
            "epa-832-r-10-005",
            "surges at low flow, so turndown ends early; wants clean air",
        ),
    )
}  # fmt: skip
"""Classes of blowers. Ranges of pressure and least speeds: common practice, no source, save the
70 kPa of side channels (`side-channel-range`)."""


@dataclass(frozen=True)
class PipeMaterial:
    """What an air pipe is made of.

    Attributes:
        name: the material.
        warm: temperature from which it needs a rating of its maker [degC]; infinite for metal.
        words: caution.
    """

    name: str
    warm: float
    words: str


AIR_PIPE_MATERIALS: dict[str, PipeMaterial] = {
    material.name: material
    for material in (
        PipeMaterial("steel", float("inf"), "hot to the touch: guard it or lag it"),
        PipeMaterial("stainless steel", float("inf"), "hot to the touch: guard it or lag it"),
        PipeMaterial("PVC-U", 40.0, "softens, and breaks in shards: not for air under pressure"),
        PipeMaterial("PE", 40.0, "loses strength fast with heat: only with its maker's rating"),
        PipeMaterial("PP", 60.0, "only with its maker's rating"),
        PipeMaterial("ABS", 50.0, "only with its maker's rating for air"),
        PipeMaterial("GRP", 60.0, "depends on the resin: only with its maker's rating"),
    )
}
"""Air pipes by material. Common practice, no source; no plastic without a rating for air."""
