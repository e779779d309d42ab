"""Quantities as users write them: one number and one unit, read strictly.

``read_quantity("900 m3/h", "flow")`` gives the value in SI as a float and keeps the text. Each
dimension has a short list of allowed units, in order of preference; anything else is refused with
words that say what would do. Reading is exact: the decimal text and the factor of the unit are
multiplied as integers and rounded once, so that 900 m3/h, 250 L/s and 0.25 m3/s give the very same
float. The factors are generated from pint, which is imported only by :func:`as_pint`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from loopplan._unit_factors import FACTORS
from loopplan.errors import UnitError

LONGEST_TEXT = 64
"""Longest text that can be a quantity [characters]."""


@dataclass(frozen=True)
class Dimension:
    """What kind of quantity a field holds.

    `units` are the units that a user may write, the first one preferred; empty for plain numbers.
    `si_unit` is the unit of the float that is kept. `signed` tells whether it may be negative.
    """

    name: str
    phrase: str
    si_unit: str
    units: tuple[str, ...]
    signed: bool = False


@dataclass(frozen=True)
class Quantity:
    """A number with its unit, as read.

    `value` is in the SI unit of `dimension`, `unit` and `text` are as written (the unit in its
    plain spelling, so ``m³/h`` is kept as ``m3/h``).
    """

    value: float
    unit: str
    text: str
    dimension: str


# Temperature stays in degC and salinity in g/kg: every property formula used here is stated in
# them. Rotational speed is kept in revolutions a second, angles in radians.
DIMENSIONS: dict[str, Dimension] = {
    d.name: d
    for d in (
        Dimension("length", "a length", "m", ("m", "cm", "mm")),
        Dimension("level", "a level", "m", ("m", "cm", "mm"), signed=True),
        Dimension("area", "an area", "m2", ("m2", "cm2", "mm2")),
        Dimension("volume", "a volume", "m3", ("m3", "L")),
        Dimension("flow", "a flow", "m3/s", ("m3/h", "L/s", "m3/s", "L/min", "m3/d")),
        # 0 degC, 101 325 Pa, dry (DIN 1343). Never mixed with m3/h of air at the blower.
        Dimension("normal air flow", "a normal air flow", "Nm3/s", ("Nm3/h", "Nm3/min")),
        Dimension("velocity", "a velocity", "m/s", ("m/s", "cm/s")),
        Dimension("surface loading", "a surface loading", "m/s", ("m/h",)),
        Dimension("evaporation rate", "a depth of water a day", "m/s", ("mm/d",)),
        # As a head, 1 mWC is 1 m of the water in the loop, salt or fresh.
        Dimension("head", "a head", "m", ("m", "cm", "mm", "mWC"), signed=True),
        # As a pressure (gauge), 1 mWC is the conventional 9806.65 Pa.
        Dimension("pressure", "a pressure", "Pa", ("kPa", "mbar", "bar", "Pa", "mWC"), signed=True),
        Dimension("temperature", "a temperature", "degC", ("degC",), signed=True),
        Dimension("salinity", "a salinity", "g/kg", ("g/kg",)),
        Dimension("mass", "a mass", "kg", ("kg", "g", "t")),
        Dimension("density", "a density", "kg/m3", ("kg/m3",)),
        Dimension("concentration", "a concentration", "kg/m3", ("mg/L", "g/m3")),
        Dimension("angle", "an angle", "rad", ("deg",), signed=True),
        Dimension("share", "a share", "1", ("%",)),
        Dimension("power", "a power", "W", ("kW", "W")),
        Dimension("energy", "an energy", "J", ("kWh",)),
        Dimension("feed rate", "a feed rate", "kg/s", ("kg/d",)),
        Dimension("speed", "a rotational speed", "1/s", ("rpm",)),
        Dimension("slope", "a slope", "m/m", ("%", "m/m", "mm/m"), signed=True),
        Dimension("resistance", "a resistance", "s2/m5", ("m/(m3/s)2",)),
        Dimension("time", "a time", "s", ("h", "min", "s", "d")),
        Dimension("number", "a number", "1", (), signed=True),
        Dimension("count", "a whole number from 1 up", "1", ()),
    )
}

# Three digits of exponent hold every float; more would let a short text ask for a huge integer.
_NUMBER = r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]{1,3})?"
_COUNT = r"[1-9][0-9]*"
_BLANKS = " \t\r\n"
_EDGE = r"[ \t\r\n]*"
_PARTS = re.compile(
    r"(?P<sign>[+-]?)(?P<whole>[0-9]+)(?:\.(?P<decimals>[0-9]+))?(?:[eE](?P<power>[+-]?[0-9]{1,3}))?"
    r" *(?P<unit>[^0-9 ].*)?"
)
_PLAIN = str.maketrans({"\u00b2": "2", "\u00b3": "3"})


def dimension_of(name: str) -> Dimension:
    """Return the dimension called `name`; KeyError with the known names if there is none."""
    try:
        return DIMENSIONS[name]
    except KeyError:
        raise KeyError(f"no dimension '{name}'; known: {', '.join(DIMENSIONS)}") from None


def allowed_units(dimension: str) -> tuple[str, ...]:
    """Return the units that may be written for `dimension`, the preferred one first."""
    return dimension_of(dimension).units


def unit_pattern(dimension: str) -> str:
    """Return a regular expression of what may be written for `dimension`, for a JSON schema.

    It uses only what Python and ECMAScript (the dialect of JSON schema) have in common.
    """
    kind = dimension_of(dimension)
    if kind.name == "count":
        return f"^{_EDGE}{_COUNT}{_EDGE}$"
    number = _NUMBER if kind.signed else _NUMBER.replace("[+-]", r"\+", 1)
    if not kind.units:
        return f"^{_EDGE}{number}{_EDGE}$"
    spelled = []
    for unit in kind.units:
        pattern = re.sub(r"([().+*?])", r"\\\1", unit)
        pattern = pattern.replace("2", "[2\u00b2]").replace("3", "[3\u00b3]")
        spelled.append(pattern.replace("degC", "(?:deg|\u00b0)C"))
    return f"^{_EDGE}{number} *(?:{'|'.join(spelled)}){_EDGE}$"


def plain_unit(unit: str) -> str:
    """Return `unit` in its plain spelling: superscripts as digits, the degree sign as deg."""
    plain = unit.strip(" ").translate(_PLAIN)
    return "degC" if plain == "\u00b0C" else plain


def read_quantity(text: object, dimension: str) -> Quantity:
    """Read `text` as one number and one unit of `dimension`.

    A plain Python int or float is taken as its text, so that it is refused where a unit is due.

    Raises :class:`loopplan.errors.UnitError` with what is wrong and what would do.
    """
    kind = dimension_of(dimension)
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        text = repr(text)
    if isinstance(text, str) and len(text) <= LONGEST_TEXT:
        match = _PARTS.fullmatch(text.strip(_BLANKS))
        if match is not None:
            unit = plain_unit(match["unit"] or "")
            if unit in kind.units or (not unit and not kind.units):
                return Quantity(_value(match, kind, unit, text), unit, text, dimension)
    from loopplan._unit_words import explain

    raise explain(text, kind)


def _value(match: re.Match[str], kind: Dimension, unit: str, text: str) -> float:
    decimals = match["decimals"] or ""
    digits = int(match["whole"] + decimals)
    power = int(match["power"] or 0) - len(decimals)
    if kind.name == "count" and re.fullmatch(_COUNT, text.strip(_BLANKS)) is None:
        raise UnitError(
            f"'{text}' is not a whole number from 1 up", "write it in plain digits, such as 8"
        )
    if match["sign"] == "-" and not kind.signed:
        raise UnitError(f"'{text}' is negative; {kind.phrase} is zero or more", "leave out the '-'")
    try:
        value = _scaled(digits, power, *_factor(kind.name, unit))
    except OverflowError:
        raise UnitError(f"'{text}' is too large to reckon with", "check the exponent") from None
    if digits and not value:
        raise UnitError(f"'{text}' is too small to tell from zero", "check the exponent")
    return -value if match["sign"] == "-" and value else value


def convert(value_si: float, unit: str, dimension: str | None = None) -> float:
    """Convert `value_si` [SI unit of the dimension] to `unit`; return the number [unit].

    `dimension` is needed only for mWC, which is a head (1 m) as well as a pressure (9806.65 Pa).

    Raises :class:`loopplan.errors.UnitError` for an unknown unit, or a number that has no text.
    """
    over, under = _factor(dimension, unit)
    top, bottom = _ratio(value_si)
    try:
        number: float = top * under / (bottom * over)
    except OverflowError:
        message = f"{value_si!r} is too large to write in {unit}"
        raise UnitError(message, "use a larger unit") from None
    return number


def write_quantity(value_si: float, unit: str, dimension: str | None = None) -> str:
    """Write `value_si` [SI unit of the dimension] in `unit`, so that reading gives it back exactly.

    An empty `unit` writes a plain number. Raises as :func:`convert` does.
    """
    over, under = _factor(dimension, unit)
    number = repr(convert(value_si, unit, dimension)).removesuffix(".0")
    if not _reads_back(number, value_si, over, under):
        # A float in this unit is too coarse for this value: write a few digits more.
        from decimal import Context, Decimal

        top, bottom = _ratio(value_si)
        exact = Context(prec=20, Emin=-999, Emax=999)
        number = str(exact.divide(Decimal(top * under), Decimal(bottom * over)))
    return f"{number} {unit}" if unit else number


def as_pint(quantity: Quantity) -> Any:
    """Return `quantity` as a pint quantity in the unit that it was written in.

    All come from one registry, :func:`loopplan._generate_units.pint_registry`, built at first use
    (about a second) and kept. It knows ``Nm3`` as a kind of its own, which does not turn into m3.
    """
    from loopplan._generate_units import pint_name, pint_registry

    magnitude = convert(quantity.value, quantity.unit, quantity.dimension)
    return pint_registry().Quantity(magnitude, pint_name(quantity.unit, quantity.dimension))


def _reads_back(number: str, value: float, over: int, under: int) -> bool:
    mantissa, _, power = number.partition("e")
    whole, _, decimals = mantissa.partition(".")
    try:
        return _scaled(int(whole + decimals), int(power or 0) - len(decimals), over, under) == value
    except OverflowError:
        return False


def _scaled(digits: int, power: int, over: int, under: int) -> float:
    # Python divides whole numbers exactly and rounds once, to the nearest float.
    value: float = digits * over * 10 ** max(power, 0) / (under * 10 ** max(-power, 0))
    return value


def _ratio(value: float) -> tuple[int, int]:
    if not math.isfinite(value):
        raise UnitError(f"{value!r} is not a number that can be written", "give a finite number")
    return float(value).as_integer_ratio()


def _factor(dimension: str | None, unit: str) -> tuple[int, int]:
    if not unit:
        return 1, 1
    if dimension is not None:
        kind = dimension_of(dimension)
        if unit in kind.units:
            return FACTORS[dimension][unit]
        raise UnitError(f"'{unit}' is no unit of {kind.phrase}", f"use {', '.join(kind.units)}")
    found = {FACTORS[name][unit] for name, kind in DIMENSIONS.items() if unit in kind.units}
    if len(found) == 1:
        return found.pop()
    if found:
        raise UnitError(f"'{unit}' is a unit of several kinds", "say of which dimension it is")
    raise UnitError(f"'{unit}' is no known unit", "use one of allowed_units(dimension)")
