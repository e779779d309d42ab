"""Parts of invented farms: each sized for a flow and a level below it, by rules of thumb.

A part is made from its flow [m3/s] and the level below it [m], and tells the level that will
stand above it, roughly: enough for the next part to be set at a believable height.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from random import Random
from typing import Any

Fields = dict[str, Any]
PLAIN = {"m": ("m", 1.0), "mm": ("mm", 1e3), "m3/s": ("m3/h", 3600.0), "m3": ("m3", 1.0)}
SMALL = {"m": ("cm", 1e2), "mm": ("m", 1.0), "m3/s": ("L/s", 1e3), "m3": ("L", 1e3)}


@dataclass(frozen=True)
class Amount:
    """A value in SI units, and the unit that it is written in by default."""

    value: float
    unit: str

    def text(self, units: Mapping[str, tuple[str, float]]) -> str:
        unit, factor = units.get(self.unit, (self.unit, 1.0))
        return f"{self.value * factor!r} {unit}"


def m(value: float) -> Amount:
    return Amount(round(value, 4), "m")


def mm(value: float) -> Amount:
    return Amount(round(value, 4), "mm")


def flow(value: float) -> Amount:
    return Amount(float(f"{value:.5g}"), "m3/s")


def m2(value: float) -> Amount:
    return Amount(round(value, 2), "m2")


@dataclass(frozen=True)
class Made:
    """A part's fields and the level that stands above it [m]."""

    fields: Fields
    above: float


Maker = Callable[[Random, float, float], Made]


def basin(r: Random, kind: str, level: float, **more: Any) -> Fields:
    floor = level - r.uniform(0.8, 2.0)
    return {"kind": kind, "floor": m(floor), "wall top": m(level + r.uniform(0.3, 0.8)), **more}


def box(r: Random, q: float, level: float) -> Fields:
    return basin(r, "box", level, area=m2(max(0.4, q * r.uniform(4.0, 15.0))))


def bore(r: Random, q: float) -> float:
    return max(0.05, math.sqrt(4.0 * q / (math.pi * r.uniform(0.4, 1.8))))


def pipe(r: Random, q: float, below: float) -> Made:
    count = r.choice((1, 1, 1, 2, 3))
    wide = bore(r, q / count)
    long = r.uniform(2.0, 60.0)
    speed = q / count / (math.pi / 4.0 * wide**2)
    fields: Fields = {"kind": "pipe", "length": m(long), "diameter": mm(wide)}
    if count > 1:
        fields["count"] = count
    if r.random() < 0.5:
        fields["fittings"] = {"bend 90": r.randint(1, 4)}
    if r.random() < 0.2:
        fields["chezy"] = round(r.uniform(50.0, 75.0), 1)
    return Made(fields, below + (0.022 * long / wide + 3.0) * speed**2 / 19.6)


def weir(r: Random, q: float, below: float) -> Made:
    head = r.uniform(0.03, 0.22)
    drowned = r.random() < 0.35
    crest = below - head * r.uniform(0.1, 1.5) if drowned else below + r.uniform(0.02, 0.35)
    forms = ("sharp", "broad", "rounded", "contracted", "coefficient")
    form = "V-notch" if q < 0.05 and r.random() < 0.3 else r.choice(forms)
    width = max(0.1, q / (1.75 * head**1.5))
    fields: Fields = {"kind": "weir", "crest": m(crest), "form": form}
    if form == "V-notch":
        fields["angle"] = f"{r.choice((60, 75, 90))} deg"
        head = (q / 1.4) ** 0.4
    else:
        fields["width"] = m(width)
    if form in ("sharp", "contracted"):
        fields["crest height"] = m(r.uniform(0.3, 1.2))
    if form == "contracted":
        fields["channel width"] = m(width * r.uniform(1.1, 2.0))
    if form == "coefficient":
        fields["discharge coefficient"] = round(r.uniform(0.5, 0.7), 3)
    return Made(fields, max(crest + head, below + 0.3 * head))


def fall(r: Random, q: float, below: float) -> Made:
    made = weir(r, q, below)
    drop = max(0.02, made.fields["crest"].value - below)
    return Made({**made.fields, "kind": "fall", "needed fall": m(drop)}, made.above)


def opening(r: Random, q: float, below: float) -> Made:
    speed = r.uniform(0.3, 1.2)
    area = q / (0.62 * speed)
    high = min(0.5, math.sqrt(area) * r.uniform(0.4, 1.2))
    # Drowned, half drowned or free above the water below it.
    invert = below - high * r.uniform(-0.5, 2.5)
    fields = {"kind": "opening", "invert": m(invert), "height": mm(high), "width": m(area / high)}
    return Made(fields, max(below, invert + 0.5 * high) + speed**2 / 19.6)


def strainer(r: Random, q: float, below: float) -> Made:
    deep = r.uniform(0.2, 1.2)
    width = max(0.2, q / (r.uniform(0.1, 0.5) * deep))
    fields: Fields = {"width": m(width), "floor": m(below - deep)}
    if r.random() < 0.5:
        spacing = r.uniform(0.008, 0.03)
        fields |= {"kind": "bar rack", "bar thickness": "6 mm", "bar spacing": mm(spacing)}
        return Made(fields, below + 0.01)
    fields |= {"kind": "screen", "free area": f"{r.randint(30, 60)} %"}
    if r.random() < 0.3:
        fields["wet height"] = m(deep * r.uniform(0.6, 1.5))
    return Made(fields, below + 0.04)


def loss(r: Random, q: float, below: float) -> Made:
    head = r.uniform(0.02, 0.3)
    if r.random() < 0.3:
        points = [[flow(q * s), m(head * s**1.8)] for s in (0.4, 0.8, 1.2, 1.6)]
        return Made({"kind": "loss", "points": points}, below + head)
    fields = {"kind": "loss", "loss": mm(head), "flow": flow(q)}
    if r.random() < 0.5:
        fields["exponent"] = r.choice((1, 1.5, 1.85, 2))
    return Made(fields, below + head)


def bed(r: Random, q: float, below: float) -> Made:
    fields = {
        "kind": "media bed", "area": m2(max(0.2, q / r.uniform(0.004, 0.02))),
        "depth": m(r.uniform(0.4, 1.5)), "media size": mm(r.uniform(0.005, 0.02)),
        "porosity": f"{r.randint(38, 55)} %", "direction": r.choice(("up", "down")),
    }  # fmt: skip
    return Made(fields, below + 0.1)


def moving_bed(r: Random, q: float, below: float) -> Made:
    deep = r.uniform(0.6, 1.5)
    screen = {
        "kind": "screen", "width": m(max(0.3, q / (0.15 * deep))), "floor": m(below - deep),
        "free area": f"{r.randint(35, 55)} %",
    }  # fmt: skip
    size = math.sqrt(max(1.0, q * 150.0))
    fields = {
        "kind": "moving bed", "length": m(size), "width": m(size), "floor": m(below - deep - 0.2),
        "wall top": m(below + r.uniform(0.3, 0.6)), "screen": screen,
    }  # fmt: skip
    return Made(fields, below + 0.01)


def channel(r: Random, q: float, below: float) -> Made:
    """A channel that meets the level below it, or now and then falls freely into it."""
    speed = r.uniform(0.12, 0.6)
    deep = min(1.2, max(0.08, math.sqrt(q / speed) * r.uniform(0.4, 1.0)))
    width = max(0.1, q / (speed * deep))
    long = r.uniform(2.0, 40.0)
    fields: Fields = {"kind": "channel", "length": m(long), "width": m(width)}
    critical = (q / width) ** (2.0 / 3.0) / 9.80665 ** (1.0 / 3.0)
    floor = below - deep
    above = below + 0.01
    if r.random() < 0.15:
        fields["end"] = "free"
        floor = below + r.uniform(0.0, 0.2)
        above = floor + 1.6 * critical + 0.05
    elif r.random() < 0.1:
        # Set so high that a brink forms by itself.
        floor = below - 0.5 * critical
        above = floor + 1.6 * critical + 0.05
    slope = r.choice((0.0, 0.0, 0.0005, 0.002))
    fields |= {"floor up": m(floor + slope * long), "floor down": m(floor)}
    if r.random() < 0.25:
        fields["side slope"] = r.choice((0.5, 1, 1.5))
    elif r.random() < 0.1:
        del fields["width"]
        fields["diameter"] = m(max(2.0 * deep, width))
    if r.random() < 0.2:
        fields["chezy"] = round(r.uniform(45.0, 70.0), 1)
    if r.random() < 0.3:
        fields["k"] = round(r.uniform(0.1, 1.5), 2)
    return Made(fields, above + slope * long)


def nozzles(r: Random, q: float, below: float) -> Made:
    head = r.uniform(0.2, 0.8)
    number = r.randint(4, 20)
    area = q / (0.95 * math.sqrt(19.6 * head))
    wide = math.sqrt(4.0 * area / number / math.pi)
    return Made({"kind": "nozzles", "number": number, "diameter": mm(wide)}, below + head)


BASINLIKE = {"moving bed"}
ON_SURFACE: tuple[Maker, ...] = (strainer, channel)
CHAIN: tuple[Maker, ...] = (
    pipe, weir, fall, opening, strainer, strainer, loss, bed, moving_bed, channel, channel
)  # fmt: skip
OUTLETS: tuple[Maker, ...] = (weir, weir, pipe, opening)
INLETS: tuple[Maker, ...] = (opening, pipe, weir, nozzles)
