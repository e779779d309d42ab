"""How an element kind is declared: its fields, its parts, its checks.

A kind is one pydantic class. Each field carries dimension, limits, default, meaning and
source, once; the reader, the checks, `explain`, the reference pages and the schema all
read them from here. What the solver sees of an element is a short chain of *parts*
between its inlet and its outlet: basins (one free surface each) and passages (one law
each).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar, Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from loopplan.errors import UnitError
from loopplan.units import Quantity, convert, read_quantity

if TYPE_CHECKING:
    from loopplan.findings import Finding

_REQUIRED: Any = ...

DAY = 86400.0
"""Seconds of a day."""

Carried = Literal["surplus", "wash water", "purge", "sludge"]
"""What may leave the loop by an exit of the solved loop."""


@dataclass(frozen=True)
class FieldSpec:
    """What is declared of one field, besides its Python type."""

    dimension: str
    meaning: str
    source: str
    above: float | None
    least: float | None
    below: float | None
    most: float | None
    unit: str
    many: bool

    def limits(self) -> str:
        """Say the allowed range in words, in the field's own unit."""
        words = []
        for limit, word in (
            (self.above, "above"),
            (self.least, "at least"),
            (self.below, "below"),
            (self.most, "at most"),
        ):
            if limit is not None:
                words.append(f"{word} {self.show(limit)}")
        return " and ".join(words)

    def show(self, value: float) -> str:
        """Write a value of this field with its unit."""
        if not self.unit:
            return f"{value:g}"
        # Shown, not handed on: six digits hide what the binary form adds.
        return f"{convert(value, self.unit, self.dimension):.6g} {self.unit}"


def quantity(
    dimension: str,
    meaning: str,
    *,
    unit: str,
    default: str | None = _REQUIRED,
    source: str = "",
    above: float | None = None,
    least: float | None = None,
    below: float | None = None,
    most: float | None = None,
    many: bool = False,
) -> Any:
    """Declare a field that takes a number with a unit.

    `unit` is the one that the field is printed in; `default` is written as a user would
    write it. Limits are SI. A default needs a source: it is printed as assumed.
    """
    if default not in (_REQUIRED, None) and not source:
        raise TypeError(f"the default of '{meaning}' needs a source")
    spec = FieldSpec(dimension, meaning, source, above, least, below, most, unit, many)
    value: Any = default
    if isinstance(default, str):
        value = read_quantity(default, dimension).value
    return Field(default=value, description=meaning, json_schema_extra={"spec": spec})  # type: ignore[dict-item]


def word(meaning: str, *, default: str | None = _REQUIRED, source: str = "") -> Any:
    """Declare a field that takes a word or one of a list of words."""
    spec = FieldSpec("word", meaning, source, None, None, None, None, "", False)
    return Field(default=default, description=meaning, json_schema_extra={"spec": spec})  # type: ignore[dict-item]


def sub(meaning: str, *, default: Any = _REQUIRED) -> Any:
    """Declare a field that takes a list or another declaration."""
    spec = FieldSpec("part", meaning, "", None, None, None, None, "", False)
    return Field(default=default, description=meaning, json_schema_extra={"spec": spec})  # type: ignore[dict-item]


def carried() -> Any:
    """Declare what an exit carries away, so that the water balance names it."""
    return word(
        "What leaves by it, for the water balance.",
        default="surplus",
        source="assumed: water of the loop that is not needed",
    )


def spec_of(info: FieldInfo) -> FieldSpec | None:
    """Return the declaration behind a pydantic field, None if it has none."""
    extra = info.json_schema_extra
    found = extra.get("spec") if isinstance(extra, Mapping) else None
    return found if isinstance(found, FieldSpec) else None


def as_written(name: str) -> str:
    """Return the name of a field as it stands in a file."""
    return name.removesuffix("_").replace("_", " ")


class Declared(BaseModel):
    """Base of everything that is read from a scenario file."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        alias_generator=as_written,
        arbitrary_types_allowed=True,
        # A kind that a file does not name is never built.
        defer_build=True,
    )

    @field_validator("*", mode="before")
    @classmethod
    def _read_quantity(cls, value: Any, info: ValidationInfo) -> Any:
        spec = spec_of(cls.model_fields[info.field_name or ""])
        if spec is None or spec.dimension in ("word", "part"):
            return value
        if spec.many and isinstance(value, list):
            return [_read_one(v, spec) for v in value]
        return _read_one(value, spec)

    def assumed(self) -> Iterable[tuple[str, str, str]]:
        """Yield (field, value as text, source) of each default in use."""
        for name, info in type(self).model_fields.items():
            spec = spec_of(info)
            value = getattr(self, name)
            if isinstance(value, Detail):
                for inner, text, source in value.assumed():
                    yield f"{as_written(name)}.{inner}", text, source
            if name in self.model_fields_set or value is None or spec is None or not spec.source:
                continue
            if name == "count":
                continue
            text = spec.show(value) if isinstance(value, float | int) else str(value)
            yield as_written(name), text, spec.source


def kind_of(value: Any) -> str:
    """Return the word under `kind`, of a declaration or of what may become one."""
    return str(value.get("kind")) if isinstance(value, dict) else str(getattr(value, "kind", ""))


class Detail(Declared):
    """Base of what stands within an element or a section and has fields of its own.

    Where several may stand in one place, a field `kind` tells which; its word and `word` are
    the same.
    """

    word: ClassVar[str]
    """What it is called."""
    title: ClassVar[str]
    """What it is, in one line."""

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Yield (field, message, cure) of what cannot be built as declared."""
        return ()


_SIZES: Mapping[str, tuple[float, float]] = {
    "length": (1e-9, 1e5),
    "level": (0.0, 1e4),
    "head": (0.0, 1e4),
    "area": (1e-9, 1e8),
    "volume": (1e-9, 1e10),
    "flow": (1e-9, 1e5),
    "number": (0.0, 1e9),
}
"""Smallest and largest size in SI units, besides zero, that any field of a dimension can mean.

Far beyond every farm; they keep a slip of the unit or the exponent from becoming a flow or an
area that nothing can be reckoned with.
"""


def check_size(value: float, dimension: str) -> None:
    """Raise UnitError for a value beyond all that a field of `dimension` can mean."""
    least, most = _SIZES.get(dimension, (0.0, float("inf")))
    if value and not least <= abs(value) <= most:
        raise UnitError(
            f"this is {'smaller' if abs(value) < least else 'larger'} than anything on a farm",
            "check the unit and the exponent",
        )


def _read_one(value: Any, spec: FieldSpec) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool):
        number = float(value)
    else:
        try:
            read: Quantity = read_quantity(value, spec.dimension)
            check_size(read.value, spec.dimension)
        except UnitError as error:
            raise PydanticCustomError(
                "quantity", "{message}", {"message": str(error), "cure": error.cure}
            ) from None
        number = read.value
    if (
        (spec.above is not None and not number > spec.above)
        or (spec.least is not None and not number >= spec.least)
        or (spec.below is not None and not number < spec.below)
        or (spec.most is not None and not number <= spec.most)
    ):
        raise PydanticCustomError(
            "range",
            "{message}",
            {
                "message": f"out of range: must be {spec.limits()}",
                "cure": f"give a value {spec.limits()}",
            },
        )
    return number


@dataclass(frozen=True)
class Conditions:
    """What a duty state fixes for every element.

    Temperature [degC], salinity [g/kg], density [kg/m3], kinematic viscosity [m2/s],
    `fouled` True in the fouled condition, `flow` the share [-] of given lift flows, `altitude`
    height above the sea [m].
    """

    temperature: float
    salinity: float
    density: float
    viscosity: float
    fouled: bool
    flow: float
    altitude: float = 0.0


class Ends(NamedTuple):
    """Whether a passage starts from a basin and ends in one.

    `sides` are the positions beside the chain at which a basin stands.
    """

    from_basin: bool
    to_basin: bool
    sides: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Basin:
    """A part with one free surface: levels [m], plan area [m2] of one unit, units."""

    name: str
    floor: float
    wall_top: float
    area: float
    units: float


@dataclass(frozen=True)
class Item:
    """One line of a calculation sheet: what goes into a law."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True)
class Passage:
    """A part that relates flow to the heads on its two sides.

    `params` feed the law of that name; `units` like passages share the flow. `useful` [m]
    is the head that the passage is there to give (a needed fall or pressure).
    """

    name: str
    law: str
    params: Mapping[str, Any]
    units: float = 1.0
    useful: float = 0.0
    pressure: bool = False
    sources: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    span: tuple[int, int] | None = None
    """Positions along the chain that it joins, if it runs beside the chain (a bypass)."""
    beside: int | None = None
    """Part of the same element whose flow it feels (the channel past a side branch)."""


Part = Basin | Passage


@dataclass(frozen=True)
class Seen:
    """A read-only view of one solved part, for the checks of its kind.

    Heads and levels [m], flow of all units [m3/s], velocity [m/s] or None, `tail` the
    level below [m].
    """

    element: str
    state: str
    part: Part
    flow: float
    head_up: float
    head_down: float
    level_up: float
    level_down: float
    velocity: float | None
    extra: Mapping[str, float] = field(default_factory=dict)


class Element(Declared):
    """Base of all element kinds."""

    kind: str
    count: int = quantity(
        "count",
        "Like units in parallel; equal shares are assumed.",
        unit="",
        default="1",
        source="one unit",
        least=1.0,
        most=10000.0,
    )

    title: ClassVar[str] = ""
    """What the kind is, in one line."""
    symbol: ClassVar[str] = "box"
    """Name of its drawing symbol."""
    shared: ClassVar[bool] = False
    """Whether like ones side by side are meant to get like shares of the flow."""
    waste_kind: ClassVar[str] = ""
    """What leaves by :meth:`waste`: wash water, purge or sludge."""
    treats: ClassVar[bool] = False
    """Whether it treats the water, so that the loop must do with one unit less now and then."""
    role: ClassVar[str] = "passage"
    """basin, passage, lift, source (water in) or sink (water out)."""

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """Return the chain of parts from inlet to outlet, for one duty state."""
        raise NotImplementedError

    def waste(self, at: Conditions) -> float:
        """Return the mean flow of all units [m3/s] that leaves the loop beside its branches.

        Wash water, purge or sludge by :attr:`waste_kind`. It comes and goes and is too small to
        change the levels, so that the water balance takes its mean from the replacement.
        """
        return 0.0

    def sill_tolerance(self) -> float | None:
        """Return how far its sill may stand out of level [m]; None without a sill."""
        return None

    def states_tolerance(self) -> bool:
        """Return whether the file states that tolerance."""
        return False

    def with_sill_raised(self, by: float) -> Element:
        """Return the same element with its sill so much [m] higher."""
        return self

    def tap(self, neighbour: str) -> int | None:
        """Return the position along the chain where a neighbour is joined.

        None for the usual: what comes before joins the inlet, what comes after the outlet.
        """
        return None

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """Yield (field, message, cure) of what cannot be built as declared."""
        return ()

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Yield findings about one solved part."""
        return ()
