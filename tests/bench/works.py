"""Large works for benchmarks: two rings, joined by rungs of one tank each. Invented.

A supply ring of boxes and channels feeds every tank; each tank spills over a sill into a drain
that leads to a return ring of boxes and pipes. Every tenth rung is a station: the return ring
drains through a filter into a sump, and a lift raises the water to the supply ring. Sizes vary
from rung to rung by fixed pseudo-random numbers, so that no two flows are equal.
"""

from __future__ import annotations

import math
import random
from typing import Any

from loopplan.declare import Conditions
from loopplan.elements import KINDS
from loopplan.limits import Limits
from loopplan.scenario.document import Document
from loopplan.scenario.models import Farm, Scenario, State, Stock, Water

RUNGS = 10
"""Rungs from one station to the next."""

LEVELS = 4 * RUNGS + 1
"""Levels that one station and its rungs have."""

_CURVE = [["0 m3/h", "1.30 m"], ["400 m3/h", "0.90 m"], ["800 m3/h", "0.20 m"]]


def works(levels: int) -> Scenario:
    """Return ring-shaped works of at least that many levels, in one duty state."""
    return _Works(math.ceil(levels / LEVELS)).scenario()


class _Works:
    def __init__(self, stations: int) -> None:
        self.stations, self.rungs = stations, stations * RUNGS
        self.random = random.Random(1)
        self.fields: dict[str, dict[str, Any]] = {}
        self.paths: dict[str, tuple[str, ...]] = {}

    def scenario(self) -> Scenario:
        """Lay out rungs, rings and stations."""
        for i in range(self.rungs):
            self._rung(i)
        for i in range(self.rungs):
            self._ring(i)
        for s in range(self.stations):
            self._station(s)
        elements = {n: KINDS[f["kind"]].model_validate(f) for n, f in self.fields.items()}
        conditions = Conditions(12.0, 0.0, 999.5, 1.235e-6, False, 1.0)
        return Scenario(
            Document("works", {}, {}),
            Farm.model_validate({"name": "Works"}),
            Water.model_validate({"temperature": "12 degC"}),
            Stock(),
            elements,
            self.paths,
            (),
            (State("design", conditions, {}, elements),),
            Limits(),
        )

    def _vary(self, value: float, unit: str, share: float = 0.15) -> str:
        return f"{value * self.random.uniform(1.0 - share, 1.0 + share):.4f} {unit}"

    def _box(self, name: str, floor: float) -> None:
        area = self._vary(2.0, "m2")
        self.fields[name] = {
            "kind": "box",
            "area": area,
            "floor": f"{floor} m",
            "wall top": f"{floor + 1.4} m",
        }

    def _pipe(self, name: str, length: float, diameter: int) -> None:
        self.fields[name] = {
            "kind": "pipe",
            "length": self._vary(length, "m"),
            "diameter": f"{diameter} mm",
        }

    def _rung(self, i: int) -> None:
        """Supply box, inlet, tank with its sill, drain box, drain, return box."""
        self._box(f"supply {i}", 0.4)
        self._box(f"drain box {i}", 0.2)
        self._box(f"return {i}", 0.1)
        self.fields[f"tank {i}"] = {
            "kind": "round tank",
            "diameter": "6 m",
            "floor": "0 m",
            "wall top": "1.80 m",
            "outlet": {
                "kind": "weir",
                "crest": self._vary(1.2, "m", 0.004),
                "width": self._vary(1.0, "m"),
                "crest height": "1.2 m",
            },
        }
        inlet = f"inlet {i}"
        if i % 2:
            self._pipe(inlet, 5.0, 250)
        else:
            self.fields[inlet] = {
                "kind": "opening",
                "invert": "0.80 m",
                "height": "150 mm",
                "width": self._vary(0.35, "m"),
            }
        self._pipe(f"drain {i}", 9.0, 230)
        names = ("supply", "inlet", "tank", "drain box", "drain", "return")
        self.paths[f"rung {i}"] = tuple(f"{name} {i}" for name in names)

    def _ring(self, i: int) -> None:
        """One piece of either ring: supply runs off from the stations, return runs to them."""
        j = (i + 1) % self.rungs
        away = i % RUNGS < RUNGS // 2
        self.fields[f"channel {i}"] = {
            "kind": "channel",
            "length": self._vary(6.0, "m"),
            "width": self._vary(1.0, "m"),
            "floor up": "0.70 m",
            "floor down": "0.70 m",
        }
        self._pipe(f"main {i}", 6.0, 560)
        near, far = (i, j) if away else (j, i)
        self.paths[f"supply ring {i}"] = (f"supply {near}", f"channel {i}", f"supply {far}")
        self.paths[f"return ring {i}"] = (f"return {far}", f"main {i}", f"return {near}")

    def _station(self, s: int) -> None:
        """Filter, sump and lift; every fifth also takes new water and has the overflow."""
        rung = s * RUNGS
        self.fields[f"filter {s}"] = {
            "kind": "loss",
            "loss": self._vary(120.0, "mm"),
            "flow": "600 m3/h",
        }
        self._box(f"sump {s}", -0.6)
        lift = {"curve": _CURVE} if s % 3 == 1 else {"flow": self._vary(600.0, "m3/h", 0.05)}
        self.fields[f"lift {s}"] = {"kind": "lift", **lift}
        self.paths[f"station {s}"] = (
            f"return {rung}",
            f"filter {s}",
            f"sump {s}",
            f"lift {s}",
            f"supply {rung}",
        )
        if s % 5 == 0:
            self.fields[f"spring {s}"] = {"kind": "make-up", "flow": "30 m3/h"}
            self.fields[f"overflow {s}"] = {
                "kind": "overflow",
                "crest": "0.60 m",
                "width": "1.0 m",
                "crest height": "1.2 m",
            }
            self.paths[f"new water {s}"] = (f"spring {s}", f"sump {s}")
            self.paths[f"surplus {s}"] = (f"sump {s}", f"overflow {s}")
