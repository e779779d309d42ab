"""Read a scenario file: one pass, all problems at once, nothing half-read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import ValidationError

from loopplan.declare import Conditions, Declared, Element, as_written
from loopplan.elements import KINDS
from loopplan.errors import BadFile, Problem, UnitError
from loopplan.limits import Limits
from loopplan.scenario._document_words import MOST_PROBLEMS, key_text
from loopplan.scenario._places import misplaced
from loopplan.scenario._reader_words import nearest, short, walk, without_echoes
from loopplan.scenario.air import AirHeader, air_refusals
from loopplan.scenario.document import Document, key_path, load
from loopplan.scenario.models import (
    DEFAULT_STATES,
    FORMAT,
    Closure,
    DutyState,
    Farm,
    Prices,
    Scenario,
    State,
    Stock,
    Water,
    WaterLost,
)
from loopplan.scenario.out_of_service import take_out
from loopplan.scenario.usual_states import low_and_high_water, misplaced_margins
from loopplan.units import read_quantity

SECTIONS = (
    "loopplan",
    "farm",
    "water",
    "stock",
    "water lost",
    "elements",
    "flow paths",
    "levels",
    "air supply",
    "duty states",
    "limits",
    "prices",
)
NEEDED = ("loopplan", "farm", "water", "elements", "flow paths")
"""Sections that every file has."""

MOST_ELEMENTS = 2000
"""Most elements of one scenario; like units in parallel are one element with a `count`."""
MOST_STATES = 100
"""Most duty states of one scenario."""

D = TypeVar("D", bound=Declared)
Path_ = tuple[str | int, ...]


def read(source: Path | str | bytes, name: str | None = None) -> Scenario:
    """Read a scenario from a path, or from bytes.

    Raises :class:`BadFile` with every problem found.
    """
    return _Reader(load(source, name or "")).scenario()


class _Reader:
    def __init__(self, document: Document) -> None:
        self.document = document
        self.problems: list[Problem] = []

    def say(self, path: Path_, message: str, cure: str, read: object = None) -> None:
        place = self.document.line(path), key_path(path)
        self.problems.append(Problem(self.document.name, *place, short(read), message, cure))
        if len(self.problems) >= MOST_PROBLEMS:
            raise BadFile(self.problems)

    def scenario(self) -> Scenario:
        tree = self.document.tree
        for key in tree:
            if key not in SECTIONS:
                self.say((key,), f"`{key}` is not a section", nearest(str(key), SECTIONS))
        for key in NEEDED:
            if tree.get(key) is None:
                self.say((), f"the section `{key}` is missing", f"add `{key}:` to the file")
        self._version(tree.get("loopplan"))
        farm = self.declared(Farm, tree.get("farm"), ("farm",))
        water = self.declared(Water, tree.get("water"), ("water",))
        if water is not None:
            self._warmest(water)
        stock = self.declared(Stock, _or_empty(tree.get("stock")), ("stock",))
        prices = self.declared(Prices, _or_empty(tree.get("prices")), ("prices",))
        limits = self.declared(Limits, _or_empty(tree.get("limits")), ("limits",))
        lost = self.declared(WaterLost, _or_empty(tree.get("water lost")), ("water lost",))
        for key, message, cure in lost.refusals() if lost else ():
            self.say(("water lost", key), message, cure)
        elements = self._elements(tree.get("elements"))
        paths = self._paths(tree.get("flow paths"))
        closures = self._closures(tree.get("levels"))
        self._idle_lifts(elements, closures)
        for where, message, cure in misplaced(elements, paths):
            self.say(where, message, cure)
        usual_water = water or _ANY_WATER
        states = self._states(tree.get("duty states"), usual_water, elements, paths, closures)
        air_supply = self._air_supply(tree.get("air supply"), elements, states)
        if self.problems or not (farm and water and stock and limits and prices and lost):
            raise BadFile(self.problems)
        states = tuple(
            replace(s, conditions=replace(s.conditions, altitude=farm.altitude)) for s in states
        )
        return Scenario(
            self.document,
            farm,
            water,
            stock,
            elements,
            paths,
            closures,
            states,
            limits,
            tuple(_assumed(farm, water, lost, limits, elements, "duty states" in tree)),
            prices,
            lost,
            tree.get("duty states") is None,
            air_supply,
        )

    def _version(self, value: Any) -> None:
        if value is not None and value != str(FORMAT):
            self.say(
                ("loopplan",),
                f"format version {short(value)} is not one that this release reads",
                f"write `loopplan: {FORMAT}`",
                value,
            )

    def _warmest(self, water: Water) -> None:
        if "warmest" in water.model_fields_set and water.warmest < water.temperature:
            message = "the warmest water is colder than the usual temperature"
            self.say(("water", "warmest"), message, "check both temperatures")

    def declared(self, cls: type[D], tree: Any, path: Path_) -> D | None:
        """Validate one declaration; problems are collected, None comes back."""
        if tree is None and path[0] in NEEDED:
            return None
        if not isinstance(tree, Mapping):
            self.say(path, "a list of `key: value` lines is due here", "indent keys below it", tree)
            return None
        try:
            return cls.model_validate(dict(tree))
        except ValidationError as error:
            for item in without_echoes(error.errors()):
                self._explain(cls, item, path)
        return None

    def _explain(self, cls: type[Declared], item: Any, path: Path_) -> None:
        inner, loc = walk(cls, [p for p in item["loc"] if isinstance(p, str | int)])
        where = (*path, *loc)
        read = item.get("input")
        kind = item["type"]
        if kind in ("quantity", "range"):
            self.say(where, item["ctx"]["message"], item["ctx"]["cure"], read)
        elif kind == "extra_forbidden":
            known = [i.alias or as_written(n) for n, i in inner.model_fields.items()]
            name = str(loc[-1])
            self.say(where, f"`{key_text(name)}` is not known here", nearest(name, known))
        elif kind == "missing":
            info = {i.alias: i for i in inner.model_fields.values()}.get(str(loc[-1]))
            meaning = f" ({info.description.rstrip('.')})" if info and info.description else ""
            choices = get_args(info.annotation) if info and loc[-1] == "kind" else ()
            value = choices[0] if choices else "..."
            self.say(where[:-1], f"`{loc[-1]}` is missing{meaning}", f"add `{loc[-1]}: {value}`")
        elif kind == "literal_error":
            cure = "write " + item["ctx"]["expected"].replace("'", "")
            self.say(where, "this word is not one of the choices", cure, read)
        elif kind == "union_tag_invalid":
            cure = "write `kind:` with one of " + item["ctx"]["expected_tags"].replace("'", "")
            if isinstance(read, Mapping) and "kind" in read:
                self.say((*where, "kind"), "this kind cannot stand here", cure, read["kind"])
            else:
                self.say(where, "it is not said what stands here", cure, read)
        elif kind in ("dict_type", "model_type", "model_attributes_type"):
            cure = "write `{key: value, ...}` or indent keys below it"
            self.say(where, "keys and values are due here", cure, read)
        elif kind in ("list_type", "string_type"):
            cure = "write `[a, b]`" if kind == "list_type" else "write a word"
            self.say(where, "this does not fit here", cure, read)
        else:
            self.say(where, item["msg"], "see `loopplan explain` for what may stand here", read)

    def _elements(self, tree: Any) -> dict[str, Element]:
        elements: dict[str, Element] = {}
        if not isinstance(tree, Mapping) or not tree:
            if tree is not None:
                self.say(("elements",), "no elements", "name each tank, channel, filter and lift")
            return elements
        if len(tree) > MOST_ELEMENTS:
            message = f"{len(tree)} elements are named, and {MOST_ELEMENTS} are allowed"
            self.say(("elements",), message, "write like units once, with a `count`")
            raise BadFile(self.problems)
        for name, fields in tree.items():
            element = self.element(str(name), fields, ("elements", str(name)))
            if element is not None:
                elements[str(name)] = element
        return elements

    def element(self, name: str, fields: Any, path: Path_) -> Element | None:
        """Validate one element by its kind."""
        if not isinstance(fields, Mapping) or "kind" not in fields:
            cure = "add `kind: ...`, one of those that `loopplan explain` lists"
            self.say(path, f"`{key_text(name)}` has no `kind`", cure, fields)
            return None
        kind = fields["kind"]
        cls = KINDS.get(kind) if isinstance(kind, str) else None
        if cls is None:
            cure = nearest(str(kind), KINDS)
            message = f"`{short(kind)}` is not a kind of element"
            self.say((*path, "kind"), message, cure, kind)
            return None
        element = self.declared(cls, fields, path)
        if element is not None:
            for key, message, cure in element.refusals():
                self.say((*path, *key.split(".")), message, cure)
        return element

    def _paths(self, tree: Any) -> dict[str, tuple[str, ...]]:
        paths: dict[str, tuple[str, ...]] = {}
        if not isinstance(tree, Mapping):
            if tree is not None:
                cure = "write `name: [element, element, ...]` below it"
                self.say(("flow paths",), "named lists of elements are due here", cure, tree)
            return paths
        names = self._names()
        for path, members in tree.items():
            if not isinstance(members, list) or len(members) < 2:
                self.say(
                    ("flow paths", path),
                    "a flow path is a list of two or more elements",
                    "write `[element, element, ...]`",
                    members,
                )
                continue
            for index, member in enumerate(members if names else ()):
                if not isinstance(member, str):
                    message = "the name of an element is due here"
                    self.say(("flow paths", path, index), message, "write a name", member)
                elif member not in names:
                    self.say(
                        ("flow paths", path, index),
                        f"`{key_text(member)}` is not an element",
                        nearest(member, names),
                        member,
                    )
            paths[str(path)] = tuple(str(m) for m in members)
        return paths

    def _closures(self, tree: Any) -> tuple[Closure, ...]:
        if tree is None:
            return ()
        if not isinstance(tree, list):
            cure = "write `- way: ...` below it, one entry a basin"
            self.say(("levels",), "a list is due here", cure, tree)
            return ()
        found = []
        names = self._names()
        for index, entry in enumerate(tree):
            path = ("levels", index)
            closure = self.declared(Closure, entry, path)
            if closure is None:
                continue
            needed, allowed = _CLOSURE_FIELDS[closure.way]
            for key in needed:
                if getattr(closure, key) in (None, []):
                    written = as_written(key)
                    self.say(path, f"`{written}` is missing", f"add `{written}: ...`")
            for key in closure.model_fields_set - {"way", *needed, *allowed}:
                message = f"`{as_written(key)}` does not go with `way: {closure.way}`"
                self.say((*path, as_written(key)), message, "take it out, or choose another way")
            for key, message in misplaced_margins(closure):
                self.say((*path, key), message, "check both, or take this one out")
            named = [("at", closure.at), ("by", closure.by), *(("in", n) for n in closure.in_)]
            for key, word in named:
                if word is not None and word not in names:
                    message = f"`{key_text(word)}` is not an element"
                    self.say((*path, key), message, nearest(word, names))
            found.append(closure)
        return tuple(found)

    def _names(self) -> dict[str, None]:
        """Return the names of all elements in the file, well declared or not."""
        tree = self.document.tree.get("elements")
        return dict.fromkeys(tree) if isinstance(tree, Mapping) else {}

    def _idle_lifts(self, elements: Mapping[str, Element], closures: tuple[Closure, ...]) -> None:
        """A lift's flow comes from somewhere: stated, from its curve, or from a level."""
        keeps = {c.by for c in closures}
        keepers = {c.by for c in closures if c.way == "kept level"}
        for name, element in elements.items():
            if element.role != "lift":
                continue
            if getattr(element, "self_acting", False):
                if name in keeps and getattr(element, "curve", None):
                    message = "a lift with a curve cannot keep a level as well"
                    cure = "drop the curve, or the entry under `levels`"
                    self.say(("elements", name, "curve"), message, cure)
            elif getattr(element, "flow", None) is not None and name in keepers:
                message = "a lift with a flow of its own cannot keep a level as well"
                cure = "drop the flow, or the entry under `levels`"
                self.say(("elements", name, "flow"), message, cure)
            elif getattr(element, "flow", None) is None and name not in keeps:
                message = "nothing says what this lift carries"
                cure = (
                    "add `flow: ...` or `curve: ...`, describe the device that is asked for, or "
                    "let it keep a level under `levels`"
                )
                self.say(("elements", name), message, cure)

    def _states(
        self,
        tree: Any,
        water: Water,
        elements: Mapping[str, Element],
        paths: Mapping[str, tuple[str, ...]],
        closures: tuple[Closure, ...],
    ) -> tuple[State, ...]:
        given = tree if tree is not None else DEFAULT_STATES
        if tree is None and water.warmest <= water.temperature:
            given = {name: entry for name, entry in given.items() if name != "warm"}
        if not isinstance(given, Mapping) or not given:
            cure = "write `name: {}` or `name: {condition: fouled}` below it"
            self.say(("duty states",), "named duty states are due here", cure, tree)
            return ()
        if len(given) > MOST_STATES:
            message = f"{len(given)} duty states are named, and {MOST_STATES} are allowed"
            self.say(("duty states",), message, "keep those that the loop is judged by")
            raise BadFile(self.problems)
        states = []
        # The levels that a duty state can set anew: those that are given at all.
        levels = {c.at for c in closures} | {n for n, e in elements.items() if e.role == "water"}
        for name, entry in given.items():
            path: Path_ = ("duty states", name)
            duty = self.declared(DutyState, _or_empty(entry), path)
            for basin in duty.levels if duty is not None else ():
                if basin in elements and basin not in levels:
                    message = f"the level of `{key_text(basin)}` is not given, so it cannot differ"
                    cure = "give it under `levels` first, or take it out here"
                    self.say((*path, "levels", basin), message, cure)
            if duty is not None:
                usual = {
                    "cold": water.coldest,
                    "warm": max(water.warmest, water.temperature),
                }.get(str(name), water.temperature)
                state = self._state(str(name), duty, path, usual, water, elements)
                states.append(self._without(state, duty, path, paths))
        if tree is None and states:
            states += low_and_high_water(states[0], elements, closures)
        return tuple(states)

    def _without(
        self, state: State, duty: DutyState, path: Path_, paths: Mapping[str, tuple[str, ...]]
    ) -> State:
        """Take out of a state what is out of service in it."""
        if not duty.out_of_service:
            return state
        known, bad = self._names(), len(self.problems)
        for index, name in enumerate(duty.out_of_service):
            where = (*path, "out of service", index)
            if name not in known:
                message = f"`{key_text(name)}` is not an element"
                self.say(where, message, nearest(name, known), name)
            elif name in duty.out_of_service[:index]:
                message = f"`{key_text(name)}` is named twice"
                cure = "name it once; for more units out of a set set its `count` under `change`"
                self.say(where, message, cure, name)
        if len(self.problems) > bad or not all(n in state.elements for n in duty.out_of_service):
            return state
        elements, shut = take_out(state.elements, paths, duty.out_of_service)
        return replace(state, elements=elements, shut=shut)

    def _air_supply(
        self, tree: Any, elements: Mapping[str, Element], states: tuple[State, ...]
    ) -> dict[str, AirHeader]:
        if tree is None:
            return {}
        if not isinstance(tree, Mapping) or not tree:
            cure = "write `name: ...` below it, one header each, with `blower` and `users`"
            self.say(("air supply",), "named headers are due here", cure, tree)
            return {}
        found = {
            str(name): self.declared(AirHeader, entry, ("air supply", str(name)))
            for name, entry in tree.items()
        }
        headers = {name: header for name, header in found.items() if header is not None}
        names = tuple(state.name for state in states)
        for path, message, cure in air_refusals(headers, elements, names):
            self.say(path, message, cure)
        return headers

    def _state(
        self,
        name: str,
        duty: DutyState,
        path: Path_,
        usual: float,
        water: Water,
        elements: Mapping[str, Element],
    ) -> State:
        from loopplan.physics.water import density, kinematic_viscosity

        temperature = usual if duty.temperature is None else duty.temperature
        conditions = Conditions(
            temperature,
            water.salinity,
            float(density(temperature, water.salinity)),
            float(kinematic_viscosity(temperature, water.salinity)),
            duty.condition == "fouled",
            duty.flow,
        )
        known = self._names()
        levels = {}
        for basin, text in duty.levels.items():
            where = (*path, "levels", basin)
            if basin not in known:
                self.say(where, f"`{key_text(basin)}` is not an element", nearest(basin, known))
            try:
                levels[basin] = read_quantity(text, "level").value
            except UnitError as error:
                self.say(where, str(error), error.cure, text)
        changed = dict(elements)
        for member, fields in duty.change.items():
            where = (*path, "change", member)
            if member not in known:
                self.say(where, f"`{key_text(member)}` is not an element", nearest(member, known))
            elif member in elements:
                # What is wrong stands in the duty state, not where the element is declared.
                element = self.element(member, {**self._written(member), **fields}, where)
                changed[member] = element or elements[member]
        return State(name, conditions, levels, changed)

    def _written(self, member: str) -> Mapping[str, Any]:
        """Return the fields of an element as they stand in the file."""
        elements = self.document.tree["elements"]
        fields = elements[member] if isinstance(elements, dict) else None
        return fields if isinstance(fields, dict) else {}


_CLOSURE_FIELDS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "outside level": (("at", "level"), ("exchange", "lowest_level", "highest_level")),
    "kept level": (("at", "level", "by"), ("lowest_level", "highest_level")),
    "stored volume": (("in_", "volume"), ("least_volume", "most_volume")),
}
"""Fields that each way of closing a level needs, and those that it may have."""

_ANY_WATER = Water.model_validate({"temperature": "12 degC"})
"""Stands in where a file's water is wrong, so that its duty states are looked at as well."""


def _or_empty(tree: Any) -> Any:
    return {} if tree is None else tree


def _assumed(
    farm: Farm,
    water: Water,
    lost: WaterLost,
    limits: Limits,
    elements: Mapping[str, Element],
    states_given: bool,
) -> Iterable[tuple[str, str, str, str]]:
    parts: list[tuple[str, Declared]] = [("farm", farm), ("water", water), ("water lost", lost)]
    parts += list(elements.items())
    parts.append(("limits", limits))
    for name, part in parts:
        for field, value, source in part.assumed():
            yield name, field, value, source
    if not states_given:
        yield (
            "duty states",
            "flow",
            "60 % in low flow, 120 % in peak flow",
            "common practice, no source",
        )
