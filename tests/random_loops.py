"""Invented farms by seed: feasible loops of the kinds that the trade builds.

Built from the sump upward, so that every part stands at a believable height above the one
below it. Walls may be overtopped and velocities be poor: those are findings, no obstacles.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from random import Random
from typing import Any

from tests.random_parts import (
    BASINLIKE,
    CHAIN,
    INLETS,
    ON_SURFACE,
    OUTLETS,
    PLAIN,
    Amount,
    Fields,
    Made,
    Maker,
    basin,
    box,
    channel,
    flow,
    m,
    m2,
    pipe,
    weir,
)


@dataclass(frozen=True)
class Farm:
    """A scenario before it is written: elements, flow paths, closures, duty states."""

    elements: dict[str, Fields]
    paths: list[list[str]]
    levels: list[Fields]
    states: dict[str, Fields] = field(default_factory=lambda: {"clean": {}})

    def text(self, units: Mapping[str, tuple[str, float]] = PLAIN) -> str:
        """Write the scenario file, in one set of units or another."""
        body = {
            "farm": {"name": "Invented loop"},
            "water": {"temperature": "12 degC"},
            "elements": self.elements,
            "flow paths": {f"path {i}": names for i, names in enumerate(self.paths)},
            "levels": self.levels,
            "duty states": self.states,
        }
        parts = [f"{key}: {_flow_style(value, units)}" for key, value in body.items()]
        return "\n".join(["loopplan: 1", *parts, ""])

    def with_(self, name: str, **fields: Any) -> Farm:
        """Return the farm with some fields of one element changed."""
        return replace(self, elements={**self.elements, name: {**self.elements[name], **fields}})


def _flow_style(value: Any, units: Mapping[str, tuple[str, float]]) -> str:
    if isinstance(value, Amount):
        return value.text(units)
    if isinstance(value, Mapping):
        inner = (f"{json.dumps(k)}: {_flow_style(v, units)}" for k, v in value.items())
        return "{" + ", ".join(inner) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow_style(v, units) for v in value) + "]"
    return json.dumps(value) if isinstance(value, str) else str(value)


def _tank_parts(r: Random, q: float, below: float, kinds: tuple[Maker, Maker]) -> tuple[Made, Made]:
    """Outlet and inlet of a tank."""
    outlet = kinds[0](r, q, below)
    return outlet, kinds[1](r, q, outlet.above)


class _Builder:
    def __init__(self, seed: int) -> None:
        self.r = Random(seed)
        self.elements: dict[str, Fields] = {}
        self.paths: list[list[str]] = []
        self.levels: list[Fields] = []
        self.number = 0

    def add(self, fields: Fields) -> str:
        self.number += 1
        name = f"{fields['kind']} {self.number}"
        self.elements[name] = fields
        return name

    def chain(self, q: float, below: float, most: int) -> tuple[list[str], float]:
        """A run of parts that ends at a basin with level `below`: names, level above it."""
        names: list[str] = []
        level = below
        for _ in range(self.r.randint(0, most)):
            if self.r.random() < 0.12:
                level = self._split(q, level, names)
                continue
            maker = self.r.choice(CHAIN)
            made = maker(self.r, q, level)
            names.insert(0, self.add(made.fields))
            level = made.above
            if made.fields["kind"] in BASINLIKE:
                continue
            if self.r.random() < (0.3 if maker in ON_SURFACE else 0.8):
                names.insert(0, self.add(box(self.r, q, level)))
        if names and self.elements[names[0]]["kind"] not in ("box", *BASINLIKE):
            names.insert(0, self.add(box(self.r, q, level)))
        return names, level

    def _split(self, q: float, level: float, names: list[str]) -> float:
        """Two or three unlike parts side by side between two boxes; returns the level above."""
        merge = self.add(box(self.r, q, level))
        last = self.r.choice((pipe, weir))(self.r, q, level)
        level = last.above
        ways = self.r.randint(2, 3)
        made = [self.r.choice(CHAIN[:4])(self.r, q / ways, level) for _ in range(ways)]
        level = max(one.above for one in made)
        split = self.add(box(self.r, q, level))
        low = self.add(box(self.r, q, last.above))
        arms = [self.add(one.fields) for one in made]
        names[:0] = [split, arms[0], low, self.add(last.fields), merge]
        self.paths += [[split, arm, low] for arm in arms[1:]]
        if len(names) == 5 or self.elements[names[5]]["kind"] in ("box", *BASINLIKE):
            # Two basins cannot touch: a short pipe stands between them.
            names.insert(5, self.add(pipe(self.r, q, level).fields))
        return level

    def tanks(self, q: float, below: float) -> tuple[list[str], list[str], float]:
        """Tanks in parallel: names of the head side, of the low side, level above."""
        r = self.r
        number = r.randint(1, 10)
        counts = [r.choice((1, 1, 2, 4)) for _ in range(number)]
        collecting = r.choice(("channel", "box"))
        dividing = r.choice(("channel", "pipe", "box"))
        share = q / number
        low = [self.add(box(r, q, below))]
        level = below
        reaches: list[str] = []
        if collecting == "channel":
            against = r.random() < 0.3
            for i in range(number):
                made = channel(r, q * (number - i) / number, level)
                made.fields.pop("end", None)
                reaches.append(self.add(made.fields))
                level = min(made.above, level + 0.1)
            joins = reaches if against else list(reversed(reaches))
            self.paths.append([*reversed(reaches), low[0]])
        else:
            joins = low * number
        kinds: tuple[Maker, Maker] = (r.choice(OUTLETS), r.choice(INLETS))
        own = r.random() < 0.5
        design = r.random()
        designs: list[tuple[Made, Made]] = []
        for count in counts:
            each = share / count
            parts = _tank_parts(Random(design), each, level, kinds)
            if designs and r.random() < 0.15:
                # One unlike the others, set so high that the same level feeds it.
                unlike, own_kinds = r.random(), (weir, r.choice(INLETS))
                low_set = _tank_parts(Random(unlike), each, level, own_kinds)[1].above
                raised = level + max(0.0, designs[0][1].above - low_set)
                parts = _tank_parts(Random(unlike), each, raised, own_kinds)
            designs.append(parts)
        top = max(inlet.above for _, inlet in designs)
        made_tanks = [
            self._tank(share / count, count, parts, own)
            for count, parts in zip(counts, designs, strict=True)
        ]
        head = self._divide(dividing, q, top, [names for names, _ in made_tanks])
        for (names, _), join in zip(made_tanks, joins, strict=True):
            self.paths.append([*names, join])
        if not own and number > 1 and r.random() < 0.4:
            a, b = r.sample(range(number), 2)
            link = pipe(r, 0.2 * share, level).fields
            self.paths.append([made_tanks[a][1], self.add(link), made_tanks[b][1]])
        return [head], low, top + 0.03

    def _tank(
        self, q: float, count: int, parts: tuple[Made, Made], own: bool
    ) -> tuple[list[str], str]:
        """Add a tank with its outlet and inlet; returns its run and the tank's own name."""
        outlet, inlet = parts
        for made in parts:
            # Nothing is built exactly alike.
            for key in ("crest", "invert"):
                if key in made.fields:
                    made.fields[key] = m(made.fields[key].value + self.r.uniform(-0.005, 0.005))
        size = max(0.8, (q * self.r.uniform(600.0, 3000.0) / 1.2) ** 0.5)
        tank = basin(self.r, "round tank", outlet.above, diameter=m(size), count=count)
        tank["wall top"] = m(tank["wall top"].value + 0.5)
        if own:
            tank |= {"outlet": {**outlet.fields}, "inlet": {**inlet.fields}}
            name = self.add(tank)
            return [name], name
        for made in parts:
            made.fields["count"] = count * made.fields.get("count", 1)
        names = [self.add(inlet.fields), self.add(tank), self.add(outlet.fields)]
        return names, names[1]

    def _divide(self, way: str, q: float, top: float, tanks: list[list[str]]) -> str:
        """What hands water to the tanks; returns the head box."""
        level = top + 0.03
        head = self.add(box(self.r, q, level))
        before = head
        reaches = []
        for i, names in enumerate(tanks):
            if way != "box":
                left = q * (len(tanks) - i) / len(tanks)
                if way == "channel":
                    made = channel(self.r, left, level)
                    made.fields.pop("end", None)
                    deep = max(0.3, 1.5 * left**0.4)
                    made.fields.update({"floor up": m(level - deep), "floor down": m(level - deep)})
                else:
                    made = pipe(self.r, left, level)
                    made.fields["length"] = m(self.r.uniform(2.0, 8.0))
                reach = self.add(made.fields)
                reaches.append(reach)
                self.paths.append([before, reach])
                before = reach
            self.paths.append([before, names[0]])
        if way == "pipe" and len(reaches) > 1 and self.r.random() < 0.4:
            # A ring: a second run from the head box to the far end.
            far = pipe(self.r, 0.4 * q, level).fields
            self.paths.append([head, self.add(far), tanks[-1][0]])
        return head

    def lift(self, q: float, head: float, way: str) -> str:
        count = self.r.choice((1, 1, 2, 3))
        fields: Fields = {"kind": "lift"}
        if count > 1:
            fields["count"] = count
        if way == "given":
            fields["flow"] = flow(q / count)
        elif way == "curve":
            head = max(head, 0.1)
            top = head * self.r.uniform(1.4, 2.2) + 0.3
            curve = [(0.0, top), (0.5, 0.4 * top + 0.6 * head), (1.0, head), (1.7, 0.1 * head)]
            fields["curve"] = [[flow(s * q / count), m(h)] for s, h in curve]
        return self.add(fields)

    def farm(self) -> Farm:
        r = self.r
        q = 10.0 ** r.uniform(-2.0, 0.3)
        level = r.uniform(-1.0, 3.0)
        sump = self.add(basin(r, "sump", level, area=m2(max(0.5, q * r.uniform(8.0, 30.0)))))
        self._close(sump, q, level)
        run, above = self.chain(q, level, 5)
        if not run:
            made = pipe(r, q, level)
            run, above = [self.add(made.fields)], made.above
        first = self.elements[run[0]]["kind"]
        if first in ("box", "moving bed"):
            made = pipe(r, q, above)
            run, above = [self.add(made.fields), *run], made.above
        head_side, low_side, top = self.tanks(q, above)
        self.paths.append([*low_side, *run, sump])
        ways = ["given", "given", "curve", "curve", "kept"]
        if r.random() < 0.25:
            middle_level = level + r.uniform(0.3, 1.0)
            middle = self.add(box(r, q, middle_level))
            upper, middle_top = self.chain(q, middle_level, 2)
            first_lift = self.lift(q, middle_top - level + 0.2, r.choice(("given", "curve")))
            made = r.choice((pipe, weir))(r, q, middle_top)
            entry = self.add(box(r, q, made.above))
            self.paths.append([sump, first_lift, entry, self.add(made.fields), *upper, middle])
            if upper == []:
                pass
            way = r.choice(("curve", "middle"))
            second = self.lift(q, top - middle_level, way)
            if way == "middle":
                self._keep(middle, middle_level, second)
            self.paths.append([middle, second, *head_side])
        else:
            way = r.choice(ways)
            lift = self.lift(q, top - level, way)
            if way == "kept":
                self._keep(head_side[0], top + r.uniform(0.05, 0.3), lift)
            self.paths.append([sump, lift, *head_side])
        if r.random() < 0.2:
            side = self.add(box(r, 0.2 * q, level + 0.5))
            back = r.choice((pipe, weir))(r, 0.2 * q, level)
            lift = self.lift(0.2 * q, 0.5, r.choice(("given", "curve")))
            self.paths.append([sump, lift, side, self.add(back.fields), sump])
        states: dict[str, Fields] = {"clean": {}}
        if r.random() < 0.2:
            states |= {"fouled": {"condition": "fouled"}, "low flow": {"flow": "60 %"}}
        return Farm(self.elements, self.paths, self.levels, states)

    def _keep(self, at: str, level: float, by: str) -> None:
        self.levels.append({"way": "kept level", "at": at, "level": m(level), "by": by})

    def _close(self, sump: str, q: float, level: float) -> None:
        r = self.r
        way = r.choice(("overflow", "overflow", "outside level", "stored volume"))
        if way == "overflow":
            new = q * 10.0 ** r.uniform(-3.0, -1.0)
            sill = weir(r, new, level - 0.1).fields
            sill["crest"] = m(level - 0.02)
            spill = self.add({**sill, "kind": "overflow"})
            self.paths += [
                [self.add({"kind": "make-up", "flow": flow(new)}), sump],
                [sump, spill],
            ]
        elif way == "outside level":
            self.levels.append({"way": way, "at": sump, "level": m(level)})
            if r.random() < 0.5:
                new = self.add({"kind": "make-up", "flow": flow(0.01 * q)})
                self.paths.append([new, sump])
        else:
            fields = self.elements[sump]
            volume = fields["area"].value * (level - fields["floor"].value)
            amount = Amount(round(volume, 4), "m3")
            self.levels.append({"way": way, "in": [sump], "volume": amount})


def random_farm(seed: int) -> Farm:
    """Return an invented farm."""
    return _Builder(seed).farm()


def random_loop(seed: int) -> str:
    """Return the scenario file of an invented farm."""
    return random_farm(seed).text()
