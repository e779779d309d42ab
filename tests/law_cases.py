"""Believable parameters and points of every law, drawn by seed; a minimal form of every kind.

A case is (parameters, flow of one unit, head before, head after). `held` tells where a law
states on purpose that its slope with the flow is steeper than its residual's: near rest, on a
flat piece, or where the own flow has no say.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from random import Random
from typing import Any

from loopplan.physics.curve_fit import monotone_slopes
from loopplan.physics.weirs import weir_coefficients

Params = dict[str, Any]
Case = tuple[Params, float, float, float]


def way(r: Random) -> float:
    return r.choice((1.0, 1.0, 1.0, -1.0))


def heads(r: Random, about: float, most: float) -> tuple[float, float]:
    """Two heads, mostly the higher one first."""
    low = about + r.uniform(-most, most)
    fall = 10.0 ** r.uniform(-3.0, math.log10(most))
    return (low + fall, low) if r.random() < 0.75 else (low, low + fall)


def pipe(r: Random) -> Case:
    bore = r.uniform(0.05, 0.8)
    p = {
        "length": r.uniform(0.5, 200.0), "diameter": bore,
        "roughness": r.choice((0.0, 3e-5, 6e-4)), "viscosity": r.uniform(0.7e-6, 1.8e-6),
        "factor": r.choice((0.0, 0.0, 0.02)), "k": r.choice((0.0, r.uniform(0.5, 20.0))),
    }  # fmt: skip
    q = way(r) * 10.0 ** r.uniform(-3.0, 0.5) * math.pi / 4.0 * bore**2
    return p, q, *heads(r, 1.0, 2.0)


def loss(r: Random) -> Case:
    q = 10.0 ** r.uniform(-3.0, 0.0)
    p = {
        "c1": r.choice((0.0, 0.1 / q)), "c2": r.choice((0.0, 0.1 / q**2)), "cn": 0.0,
        "n": r.uniform(1.0, 3.0), "cap": r.choice((math.inf, 0.15)), "small": 1e-3 * q,
    }  # fmt: skip
    p["cn"] = r.choice((0.0, 0.1 / q ** p["n"])) if p["c1"] + p["c2"] else 0.1 / q ** p["n"]
    return p, way(r) * q * 10.0 ** r.uniform(-4.0, 0.3), *heads(r, 1.0, 1.0)


def curve(r: Random) -> Case:
    flows, gains = [0.0], [r.uniform(0.5, 4.0)]
    for _ in range(r.randint(1, 5)):
        flows.append(flows[-1] + r.uniform(0.01, 0.2))
        gains.append(gains[-1] - r.choice((0.0, r.uniform(0.1, 0.9))))
    p = {
        "flows": flows, "heads": gains, "slopes": monotone_slopes(flows, gains),
        "speed": r.choice((1.0, 0.7, 1.2)),
    }  # fmt: skip
    return p, r.uniform(-0.2, 1.4) * flows[-1], *heads(r, 1.0, 2.0)


def weir(r: Random) -> Case:
    form, geometry = r.choice((
        ("sharp", {"width": 1.2, "crest_height": 0.6}),
        ("contracted", {"width": 0.8, "crest_height": 0.4, "channel_width": 1.5}),
        ("V-notch", {"angle": math.radians(r.choice((60.0, 90.0)))}),
        ("broad", {"width": 2.0}),
        ("rounded", {"width": 0.7}),
        ("coefficient", {"width": 1.0, "coefficient": 0.62}),
    ))  # fmt: skip
    found = weir_coefficients(form, **geometry)
    names = ("c0", "c1", "kh", "exponent", "modular_limit", "drown_exponent")
    p = {"crest": r.uniform(-1.0, 2.0), **{name: getattr(found, name) for name in names}}
    return p, way(r) * 10.0 ** r.uniform(-4.0, 0.0), *heads(r, p["crest"] + 0.1, 0.4)


def opening(r: Random) -> Case:
    invert = r.uniform(-1.0, 1.0)
    p = {
        "invert": invert, "soffit": invert + r.uniform(0.05, 0.6), "width": r.uniform(0.1, 2.0),
        "cd": 0.62,
    }  # fmt: skip
    return p, way(r) * 10.0 ** r.uniform(-4.0, 0.0), *heads(r, 0.5 * (invert + p["soffit"]), 0.5)


def one_way(r: Random) -> Case:
    p = {
        "k": r.uniform(0.3, 5.0), "diameter": r.uniform(0.05, 0.6),
        "opening_head": r.choice((0.0, r.uniform(0.005, 0.3))), "leak": r.choice((0.0, 0.05, 1.0)),
    }  # fmt: skip
    return p, way(r) * 10.0 ** r.uniform(-4.0, -0.5), *heads(r, 1.0, 1.0)


def channel(r: Random) -> Case:
    floor, length, shape = r.uniform(-0.5, 0.5), r.uniform(2.0, 40.0), r.random()
    p = {
        "width": 0.0 if shape < 0.2 else r.uniform(0.3, 2.0),
        "side_slope": 1.0 if shape > 0.8 else 0.0,
        "diameter": r.uniform(0.6, 1.2) if shape < 0.2 else 0.0,
        "length": length, "floor_up": floor + r.choice((0.0, 0.001, 0.01)) * length,
        "floor_down": floor, "chezy": r.choice((0.0, 60.0)), "manning": 0.013,
        "k": r.choice((0.0, 1.0)), "entrance_k": r.choice((0.0, 0.5)),
        "to_basin": r.choice((0.0, 1.0)), "free_end": r.choice((0.0, 0.0, 1.0)),
        "thrust_up": r.choice((0.0, 1.0)), "thrust_down": 0.0, "steps": 32.0,
    }  # fmt: skip
    # Reaches of a collecting channel: the last one ends in the open.
    p["thrust_down"] = r.choice((0.0, p["thrust_up"]))
    wide = p["width"] or p["diameter"]
    level = p["floor_up"] + r.uniform(0.15, 0.6)
    return p, way(r) * wide * r.uniform(0.02, 0.25), level + r.uniform(-0.05, 0.1), level


def strainer(r: Random) -> Case:
    p = {
        "k": r.uniform(0.1, 20.0), "width": r.uniform(0.5, 3.0), "floor": r.uniform(-1.0, 1.0),
        "height": r.choice((math.inf, 0.3)),
    }  # fmt: skip
    low, fall = p["floor"] + r.uniform(0.25, 1.2), 10.0 ** r.uniform(-3.0, -1.0)
    q = 10.0 ** r.uniform(-3.0, -0.7) * p["width"]
    return (p, q, low + fall, low) if r.random() < 0.6 else (p, -q, low, low + fall)


def tap(r: Random) -> Case:
    shape = r.random()
    p = {
        "width": r.uniform(0.4, 1.5) if shape < 0.7 else 0.0,
        "side_slope": r.choice((0.0, 1.0)) if shape < 0.5 else 0.0,
        "diameter": r.uniform(0.8, 1.5) if shape >= 0.7 else 0.0, "floor": r.uniform(-0.5, 0.5),
    }  # fmt: skip
    p["main"] = r.uniform(0.02, 0.3) * (p["diameter"] or p["width"])
    up = p["floor"] + r.uniform(0.35, 0.7)
    return p, way(r) * 0.3 * p["main"], up, up - r.uniform(0.0, 0.05)


def header(r: Random) -> Case:
    p, q, up, down = pipe(r)
    p["parting"], p["meeting"] = r.choice(((0.4, 0.0), (0.0, 1.0)))
    p["main"] = q * r.uniform(0.1, 1.5)
    return p, q, up, down


def tee(r: Random) -> Case:
    bore = r.uniform(0.1, 0.6)
    area = math.pi / 4.0 * (bore * r.uniform(0.2, 1.0)) ** 2
    p = {
        "bore": bore, "side": r.choice((1.0, -1.0, 0.0)), "small": 0.01 * area,
        "c2": r.uniform(0.5, 4.0) / 19.6133 / area**2,
        "main": way(r) * r.uniform(0.1, 2.0) * bore**2,
    }  # fmt: skip
    return p, way(r) * 10.0 ** r.uniform(-3.0, 0.5) * area, *heads(r, 1.0, 1.0)


def plate(r: Random) -> Case:
    p = {"plate": r.uniform(-1.0, 3.0), "c2": 10.0 ** r.uniform(-1.0, 3.0)}
    q = way(r) * (0.3 / p["c2"]) ** 0.5 * r.uniform(0.1, 1.5)
    return p, q, *heads(r, p["plate"], 1.0)


def drum(r: Random) -> Case:
    q, lost, n = r.uniform(0.01, 0.3), r.uniform(0.02, 0.1), r.uniform(1.0, 2.0)
    p = {"cn": lost / q**n, "n": n, "trigger": r.choice((0.0, 2.0 * lost)), "small": 0.02 * q}
    return p, way(r) * q * r.choice((0.004, 0.3, 1.0, 4.0)), *heads(r, 1.0, 0.5)


def given(r: Random) -> Case:
    return {"flow": r.uniform(1e-3, 1.0)}, r.uniform(-1.0, 1.0), *heads(r, 1.0, 2.0)


def _site(r: Random) -> Params:
    t = r.uniform(2.0, 28.0)
    return {
        "temperature": t, "water_density": r.uniform(997.0, 1027.0),
        "viscosity": r.uniform(0.8e-6, 1.7e-6), "surface_tension": r.uniform(0.072, 0.076),
        "vapour_pressure": 611.2 * math.exp(17.62 * t / (243.12 + t)),
        "atmosphere": r.uniform(85e3, 102e3),
    }  # fmt: skip


def airlift_shaft(r: Random) -> Case:
    outlet, level = r.uniform(0.5, 6.0), r.uniform(2.0, 4.0)
    p = {
        **_site(r), "rung": r.uniform(0.0, 3.0), "floor": r.uniform(-3.0, 0.0),
        "depth": level + 0.5, "inlet_area": outlet * r.uniform(0.5, 2.0), "outlet_area": outlet,
        "partition_width": math.sqrt(outlet) * r.uniform(0.7, 1.5),
        "partition_gap": r.uniform(0.3, 0.7), "diffuser_height": r.uniform(0.3, 0.6),
        "sill_height": level - r.uniform(0.0, 0.5), "sill_width": math.sqrt(outlet),
    }  # fmt: skip
    q = outlet * r.uniform(0.03, 0.3)
    p["air"] = 1.2 * q * r.uniform(0.3, 2.0)
    up = p["floor"] + level
    return p, q, up, up + r.uniform(0.05, 0.8)


def airlift_tube(r: Random) -> Case:
    bore, deep, tubes = r.uniform(0.05, 0.3), r.uniform(0.5, 3.0), float(r.randint(1, 12))
    area = tubes * math.pi / 4.0 * bore**2
    p = {
        **_site(r), "injection_level": r.uniform(-2.0, 0.0), "outlet_level": -1e3,
        "diameter": bore, "tubes": tubes, "foot_length": r.uniform(0.0, 0.5),
        "entry_k": 0.5, "discharge_k": r.choice((0.0, 1.0)), "roughness": 1e-5,
        "air": 1.2 * area * r.uniform(0.05, 1.0),
    }  # fmt: skip
    up = p["injection_level"] + deep
    rise = deep * r.uniform(0.02, 0.4)
    if r.random() < 0.3:
        p["outlet_level"] = up + rise + 0.1
    return p, area * r.uniform(0.1, 0.8), up, up + rise


CASES: dict[str, Callable[[Random], Case]] = {
    "pipe": pipe,
    "loss": loss,
    "curve": curve,
    "weir": weir,
    "opening": opening,
    "one-way": one_way,
    "channel": channel,
    "strainer": strainer,
    "tap": tap,
    "header": header,
    "tee": tee,
    "plate": plate,
    "drum": drum,
    "given": given,
    "airlift shaft": airlift_shaft,
    "airlift tube": airlift_tube,
}
"""One generator for each law."""


def _slow(p: Params, q: float) -> bool:
    """Slower than 1 cm/s in a pipe, where quadratic losses keep a finite slope."""
    return abs(q) < 0.01 * math.pi / 4.0 * p["diameter"] ** 2


def _capped(p: Params, q: float) -> bool:
    size = abs(q)
    return p["c1"] * size + p["c2"] * size**2 + p["cn"] * size ** p["n"] >= p["cap"]


def _flat(p: Params, q: float) -> bool:
    return any(a == b for a, b in zip(p["heads"], p["heads"][1:], strict=False))


HELD: dict[str, Callable[[Params, float], bool]] = {
    "pipe": _slow,
    "loss": lambda p, q: abs(q) < p["small"] or _capped(p, q),
    "curve": _flat,
    "strainer": lambda p, q: abs(q) < 0.01 * p["width"] * 1.5,
    "channel": lambda p, q: True,
    "tap": lambda p, q: True,
    "header": _slow,
    "tee": lambda p, q: abs(q) < p["small"],
    "drum": lambda p, q: abs(q) < p["small"] or p["trigger"] > 0.0,
}
"""Where the slope with the flow may be steeper than that of the residual."""

_RUN = {"length": "10 m", "diameter": "200 mm"}
_SILL = {"crest": "1 m", "width": "1 m"}
_BOX = {"floor": "0 m", "wall top": "1.5 m"}
_SCREEN = {"width": "1 m", "floor": "0 m", "free area": "40 %"}
_PLATE = {
    "plate": "3 m", "rim": "3.4 m", "area": "1 m2", "holes": "100", "hole diameter": "20 mm",
    "needed fall": "0.5 m",
}  # fmt: skip
_CHANNEL = {"length": "20 m", "width": "1 m", "floor up": "0 m", "floor down": "0 m"}

_MANIFOLD = {**_RUN, "branch diameter": "50 mm", "places": {"a": "3 m", "b": "6 m"}}

KINDS_MINIMAL: dict[str, dict[str, Any]] = {
    "raceway": {**_BOX, "length": "20 m", "width": "2 m"},
    "round tank": {**_BOX, "diameter": "5 m"},
    "sump": {**_BOX, "area": "4 m2"},
    "box": {**_BOX, "area": "4 m2"},
    "open water": {"level": "0 m"},
    "channel": _CHANNEL,
    "dividing channel": {**_CHANNEL, "places": {"a": "10 m"}},
    "collecting channel": {**_CHANNEL, "places": {"a": "10 m"}},
    "pipe": _RUN,
    "dividing manifold": _MANIFOLD,
    "collecting manifold": _MANIFOLD,
    "valve": {"diameter": "200 mm"},
    "check valve": {"diameter": "200 mm"},
    "flap valve": {"diameter": "200 mm", "opening head": "20 mm"},
    "weir": _SILL,
    "overflow": _SILL,
    "centre drain": {**_RUN, "plate diameter": "400 mm", "free area": "40 %"},
    "side box": {
        **_SILL, "free area": "40 %", "opening width": "1 m", "opening height": "0.4 m",
        "invert": "0.8 m",
    },
    "fall": {**_SILL, "needed fall": "0.2 m"},
    "opening": {"invert": "0 m", "height": "0.3 m", "width": "0.5 m"},
    "nozzles": {"number": "8", "diameter": "30 mm"},
    "bar rack": {
        "width": "1 m", "floor": "0 m", "bar thickness": "6 mm", "bar spacing": "20 mm",
    },
    "screen": _SCREEN,
    "moving bed": {
        **_BOX, "length": "4 m", "width": "3 m", "screen": {"kind": "screen", **_SCREEN},
    },
    "media bed": {"area": "4 m2", "depth": "1 m", "media size": "8 mm", "porosity": "45 %"},
    "drum filter": {
        **_BOX, "axis": "0.8 m", "diameter": "1 m", "drum width": "1 m", "clean loss": "60 mm",
        "flow": "300 m3/h", "trigger": "200 mm", "greatest differential": "250 mm",
        "sill crest": "0.7 m", "sill width": "1 m", "area": "2 m2",
    },
    "settling basin": {**_BOX, "length": "10 m", "width": "4 m"},
    "degasser": _PLATE,
    "low-head oxygenator": _PLATE,
    "oxygen cone": {"level": "1 m", "needed pressure": "2 m", "loss": "0.3 m", "flow": "100 m3/h"},
    "UV unit": {"form": "closed", "loss": "0.1 m", "flow": "100 m3/h"},
    "siphon": {**_RUN, "crest": "2 m"},
    "standpipe": {**_RUN, "rim": "1 m"},
    "loss": {"loss": "0.1 m", "flow": "100 m3/h"},
    "make-up": {"flow": "5 m3/h"},
    "discharge": {"flow": "5 m3/h"},
    "lift": {"flow": "100 m3/h"},
}  # fmt: skip
"""The fewest fields that each kind can do with."""
