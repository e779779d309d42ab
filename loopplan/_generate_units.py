"""Makes ``_unit_factors.py`` from pint, and holds the one pint registry of the package.

Run by ``python -m loopplan._generate``. A test compares the file with what pint says today.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Any

from loopplan.units import DIMENSIONS

_DEFINITIONS = (
    # A kind of its own: a normal cubic metre is an amount of air and must not turn into a volume.
    "normal_cubic_meter = [normal_air] = Nm3",
    "meter_of_water = 1000 * kilogram / meter ** 3 * standard_gravity * meter = mWC",
)

_PINT_NAMES = {
    "m": "meter", "cm": "centimeter", "mm": "millimeter",
    "m2": "meter ** 2", "cm2": "centimeter ** 2", "mm2": "millimeter ** 2",
    "m3": "meter ** 3", "L": "liter",
    "m3/h": "meter ** 3 / hour", "L/s": "liter / second", "m3/s": "meter ** 3 / second",
    "L/min": "liter / minute", "m3/d": "meter ** 3 / day",
    "Nm3/h": "Nm3 / hour", "Nm3/min": "Nm3 / minute", "Nm3/s": "Nm3 / second",
    "m/s": "meter / second", "cm/s": "centimeter / second", "m/h": "meter / hour",
    "mm/d": "millimeter / day",
    "Pa": "pascal", "kPa": "kilopascal", "bar": "bar", "mbar": "millibar", "mWC": "meter_of_water",
    "degC": "degree_Celsius", "g/kg": "gram / kilogram",
    "kg": "kilogram", "g": "gram", "t": "metric_ton", "kg/m3": "kilogram / meter ** 3",
    "mg/L": "milligram / liter", "g/m3": "gram / meter ** 3",
    "deg": "degree", "rad": "radian", "%": "percent", "1": "dimensionless",
    "kW": "kilowatt", "W": "watt", "kWh": "kilowatt * hour", "J": "joule",
    "kg/d": "kilogram / day", "kg/s": "kilogram / second",
    "rpm": "turn / minute", "1/s": "turn / second",
    "m/m": "meter / meter", "mm/m": "millimeter / meter",
    "m/(m3/s)2": "meter / (meter ** 3 / second) ** 2", "s2/m5": "second ** 2 / meter ** 5",
    "h": "hour", "min": "minute", "s": "second", "d": "day",
}  # fmt: skip

_LARGEST_DENOMINATOR = 10**12


def pint_name(unit: str, dimension: str) -> str:
    """Return how pint writes `unit` of `dimension`."""
    if unit == "mWC" and dimension == "head":
        return _PINT_NAMES["m"]
    return _PINT_NAMES[unit or "1"]


@cache
def pint_registry() -> Any:
    """Return the pint registry of the package, built at the first call and kept."""
    import pint

    registry: Any = pint.UnitRegistry()
    for line in _DEFINITIONS:
        registry.define(line)
    return registry


def unit_factors() -> dict[str, dict[str, tuple[int, int]]]:
    """Ask pint for the factor of every allowed unit to the SI unit of its dimension.

    A factor is a numerator and a denominator, so that reading can multiply without rounding.
    """
    import pint

    registry: Any = pint.UnitRegistry(non_int_type=Fraction)
    for line in _DEFINITIONS:
        registry.define(line)
    factors: dict[str, dict[str, tuple[int, int]]] = {}
    for name, kind in DIMENSIONS.items():
        for unit in kind.units:
            one = registry.Quantity(Fraction(1), pint_name(unit, name))
            factor = Fraction(one.to(pint_name(kind.si_unit, name)).magnitude)
            if factor.denominator > _LARGEST_DENOMINATOR:
                # Only where pi comes in: the nearest float, as an exact ratio.
                factor = Fraction(float(factor))
            factors.setdefault(name, {})[unit] = (factor.numerator, factor.denominator)
    return factors


def unit_factors_source() -> str:
    """Return the text of ``loopplan/_unit_factors.py``."""
    lines = [
        '"""Factors of the allowed units to SI, as numerator and denominator.',
        "",
        "Generated from pint by `python -m loopplan._generate`; do not edit.",
        '"""',
        "",
        "FACTORS: dict[str, dict[str, tuple[int, int]]] = {",
    ]
    for name, units in unit_factors().items():
        lines.append(f'    "{name}": {{')
        lines += [f'        "{unit}": ({top}, {bottom}),' for unit, (top, bottom) in units.items()]
        lines.append("    },")
    lines += ["}", ""]
    return "\n".join(lines)
