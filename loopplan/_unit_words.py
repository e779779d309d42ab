"""Says in plain words why a text is not the quantity that is due. Loaded only when one is not."""

from __future__ import annotations

import re
from difflib import get_close_matches

from loopplan.errors import UnitError
from loopplan.units import DIMENSIONS, LONGEST_TEXT, Dimension, plain_unit

# What people write for a unit, and what would do. Units that only look alike (practical salinity,
# feet) are not here on purpose: nearest-name matching must not offer a wrong conversion.
_OFTEN_WRITTEN = {
    "degC": "c, deg c, celsius",
    "deg": "\u00b0, degree, degrees",
    "L/s": "lps, l/sec",
    "L/min": "lpm",
    "m3/h": "m3/hr, m3/hour, cbm/h, m^3/h, m**3/h",
    "m3/d": "m3/day",
    "kg/d": "kg/day",
    "m3": "m^3, m**3, cbm",
    "m2": "m^2, m**2, qm",
    "m3/s": "m^3/s, m**3/s",
    "L": "litre, liter, litres, liters",
    "mWC": "mh2o, mws, m wc",
    "m": "metre, meter, metres, meters",
    "%": "percent, pct",
    "rpm": "1/min, r/min, min-1",
    "h": "hr, hour, hours",
    "d": "day, days",
    "s": "sec",
    "min": "mins",
    "t": "tonne, tonnes, ton",
    "Nm3/h": "nm3",
}
_OFTEN_MEANT = {
    wrong: unit for unit, all_wrong in _OFTEN_WRITTEN.items() for wrong in all_wrong.split(", ")
}

_PRACTICAL_SALINITY = {"ppt", "psu", "pss", "\u2030", "o/oo"}
_NUMBER_HEAD = re.compile(r"([+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?) *(.*)", re.DOTALL)
# Groups of three after a blank, low line, or apostrophe: 1 450, 1_000, 1'450.
_GROUPED = re.compile(
    r"([+-]?[0-9]{1,3}(?:[ _'\u2019\u00a0\u202f][0-9]{3})+(?:[.,][0-9]+)?)(?![0-9]) *(.*)"
)
_LOW_LINE = re.compile(r"([+-]?[0-9]+(?:_[0-9]+)+(?:\.[0-9]+)?) *(.*)")
_COMMA = re.compile(r"([+-]?[0-9]+),([0-9]+) *([^0-9]?.*)")
_DATE = re.compile(r"[0-9]{1,4}[-/.][0-9]{1,2}[-/.][0-9]{1,4}(?:[T ].*)?")
_CLOCK = re.compile(r"[0-9]{1,3}:[0-9]{2}(?::[0-9]{2})?")


def explain(text: object, kind: Dimension) -> UnitError:
    """Return the error that says why `text` is not a quantity of `kind`, and what would do."""
    due = _due(kind)
    if text is None:
        return UnitError(f"nothing is written; {kind.phrase} is due", due)
    if not isinstance(text, str):
        what = {dict: "a group of keys", list: "a list", bool: "yes or no"}
        found = what.get(type(text), "no text")
        return UnitError(f"{found} stands where {kind.phrase} is due", due)
    if len(text) > LONGEST_TEXT:
        return UnitError(f"{len(text)} characters are too long for {kind.phrase}", due)
    shown = text.strip().translate({c: " " for c in range(32)})
    if not shown:
        return UnitError(f"nothing is written; {kind.phrase} is due", due)
    return _not_one_number(shown, kind, due) or _not_the_unit(shown, kind, due)


def _due(kind: Dimension) -> str:
    if kind.name == "count":
        return "write a whole number from 1 up in plain digits, such as 8"
    if not kind.units:
        return "write one plain number, such as 0.6"
    return f"write one number and one unit ({', '.join(kind.units)}), such as 2.5 {kind.units[0]}"


def _not_one_number(text: str, kind: Dimension, due: str) -> UnitError | None:
    if _DATE.fullmatch(text):
        return UnitError(f"'{text}' looks like a date; {kind.phrase} is due", due)
    if _CLOCK.fullmatch(text):
        return UnitError(f"'{text}' looks like a time of day; {kind.phrase} is due", due)
    if re.match(r"[+-]?\.?(?:nan|inf|infinity)\b", text, re.IGNORECASE):
        return UnitError(f"'{text}' is not a finite number", due)
    grouped = _GROUPED.fullmatch(text) or _LOW_LINE.fullmatch(text)
    if grouped:
        digits = re.sub("[^0-9.,+-]", "", grouped[1]).replace(",", ".")
        return UnitError(
            f"'{text}' has its thousands set apart, which could be two numbers",
            f"write {_joined(digits, grouped[2])}",
        )
    comma = _COMMA.fullmatch(text)
    if comma:
        point = _joined(f"{comma[1]}.{comma[2]}", comma[3])
        cure = f"write {point}"
        if len(comma[2]) == 3:
            whole = _joined(comma[1] + comma[2], comma[3])
            cure += f", or {whole} if the comma sets thousands apart"
        return UnitError(f"'{text}' has a decimal comma; a decimal point is due", cure)
    if re.match(r"[+-]?[0-9]+[.,][0-9]+[.,][0-9]", text):
        return UnitError(f"'{text}' has more than one point or comma in its number", due)
    if re.match(r"[+-]?(?:\.[0-9]|[0-9]+\.(?![0-9]))", text):
        return UnitError(f"'{text}' lacks a digit beside its decimal point", due)
    if text[0] in "\u2212\u2013\u2014":
        return UnitError(f"'{text}' begins with a dash that is no minus sign", "write it with '-'")
    exponent = re.match(r"[+-]?[0-9.]+[eE][+-]?([0-9]+)", text)
    if exponent and len(exponent[1]) > 3:
        return UnitError(f"'{text}' has an exponent beyond all measure", due)
    return None


def _not_the_unit(text: str, kind: Dimension, due: str) -> UnitError:
    head = _NUMBER_HEAD.fullmatch(text)
    if head is None:
        return UnitError(f"'{text}' does not begin with a number; {kind.phrase} is due", due)
    unit = plain_unit(head[2])
    if not unit:
        # No example: 230 m for a bore of 230 mm would be taken at its word.
        cure = f"write the unit that is meant after it ({', '.join(kind.units)})"
        if kind.name == "share":
            cure = "write it in per cent: 40 % for 0.4 of the whole"
        return UnitError(f"'{text}' has no unit; {kind.phrase} is due", cure)
    if _known(unit):
        return _wrong_dimension(unit, kind, due)
    second = re.search(r"(?:^|[ ,;+x*-]|\.\.)[+-]?[0-9]+(?:\.[0-9]+)?(?: *[^\W\d]|$| )", unit)
    if second:
        cure = f"{due}; 3 m 20 cm is written 3.20 m" if "cm" in kind.units else due
        return UnitError(f"'{text}' holds more than one number", cure)
    if unit.lower() in _PRACTICAL_SALINITY:
        cure = "write the salinity in g/kg: practical salinity times 1.0047 (TEOS-10: 35.16504/35)"
        return UnitError(f"'{unit}' is not read, since it is used for more than one scale", cure)
    near = _nearest(unit, kind)
    hint = f"; did you mean {near}?" if near in kind.units else ""
    if near and not hint:
        hint = f"; {near} would be {_phrase(near)}, and {kind.phrase} is due"
    return UnitError(f"'{unit}' is no known unit{hint}", due)


def _known(unit: str) -> bool:
    return any(unit in d.units for d in DIMENSIONS.values())


def _wrong_dimension(unit: str, kind: Dimension, due: str) -> UnitError:
    if not kind.units:
        return UnitError(f"'{unit}' is a unit, and {kind.phrase} without one is due", due)
    if kind.name == "normal air flow":
        return UnitError(
            f"'{unit}' does not say at which pressure and temperature; {kind.phrase} is due",
            f"use {', '.join(kind.units)}: air at 0 degC and 101 325 Pa",
        )
    message = f"'{unit}' is {_phrase(unit)}; {kind.phrase} is due: {', '.join(kind.units)}"
    return UnitError(message, due)


def _phrase(unit: str) -> str:
    # A level and a head are lengths too: the first, plainest kind is enough to say.
    return next(d.phrase for d in DIMENSIONS.values() if unit in d.units)


def _nearest(unit: str, kind: Dimension) -> str:
    every = [u for d in DIMENSIONS.values() for u in d.units]
    meant = _OFTEN_MEANT.get(unit.lower())
    if meant:
        return meant
    # The units that are due come first, so that 'M' is a metre here and a mass nowhere.
    for known in (*kind.units, *every):
        if known.lower() == unit.lower():
            return known
    # One or two letters are near to nearly everything: feet are not tonnes.
    for pool in (kind.units, every) if len(unit) > 2 else ():
        close = get_close_matches(unit, pool, n=1, cutoff=0.6)
        if close:
            return close[0]
    return ""


def _joined(number: str, unit: str) -> str:
    return f"{number} {unit}".strip()
