"""Quantities: what is read, what is refused, and that units do not change a value."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import loopplan
from loopplan._generate_units import unit_factors_source
from loopplan.errors import UnitError
from loopplan.units import (
    DIMENSIONS,
    allowed_units,
    as_pint,
    convert,
    read_quantity,
    unit_pattern,
    write_quantity,
)

WITH_UNITS = [(name, unit) for name, kind in DIMENSIONS.items() for unit in kind.units]
SIZES = st.floats(min_value=1e-12, max_value=1e12) | st.just(0.0)


def refused(text: object, dimension: str) -> tuple[str, str]:
    with pytest.raises(UnitError) as caught:
        read_quantity(text, dimension)
    return str(caught.value), caught.value.cure


# Closed form: definitions of the units (SI Brochure, 9th edition; mWC: 1000 kg/m3 times 9.80665).
@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("2.10 m", "length", 2.1),
        ("12 mm", "length", 0.012),
        ("-0.35 m", "level", -0.35),
        ("900 m3/h", "flow", 0.25),
        ("900 m\u00b3/h", "flow", 0.25),
        ("250L/s", "flow", 0.25),
        ("86400 m3/d", "flow", 1.0),
        ("3600 Nm3/h", "normal air flow", 1.0),
        ("15 cm/s", "velocity", 0.15),
        ("0.3 mWC", "head", 0.3),
        ("1 mWC", "pressure", 9806.65),
        ("-40 mbar", "pressure", -4000.0),
        ("14.5 degC", "temperature", 14.5),
        ("14.5 \u00b0C", "temperature", 14.5),
        ("35 g/kg", "salinity", 35.0),
        ("1.5 t", "mass", 1500.0),
        ("90 deg", "angle", math.pi / 2),
        ("40 %", "share", 0.4),
        ("2 mm/m", "slope", 0.002),
        ("1 kWh", "energy", 3.6e6),
        ("1450 rpm", "speed", 1450 / 60),
        ("864 kg/d", "feed rate", 0.01),
        ("12 m/(m3/s)2", "resistance", 12.0),
        ("1e-3 m", "length", 0.001),
        ("+1.5E2 m", "length", 150.0),
        (" 3 m\n", "length", 3.0),
        ("0.6", "number", 0.6),
        ("8", "count", 8.0),
        (8, "count", 8.0),
    ],
)
def test_reads(text: object, dimension: str, value: float) -> None:
    read = read_quantity(text, dimension)
    assert read.value == pytest.approx(value, rel=1e-15)
    assert read.text == str(text)


@pytest.mark.parametrize("name", [n for n, kind in DIMENSIONS.items() if kind.units])
def test_bare_number_is_refused_with_the_units_that_would_do(name: str) -> None:
    message, cure = refused("3.5", name)
    assert "no unit" in message
    assert DIMENSIONS[name].phrase in message
    if name != "share":
        assert all(unit in cure for unit in allowed_units(name))
    assert refused(3.5, name) == (message, cure)


def test_bare_share_may_not_be_a_fraction() -> None:
    assert "40 %" in refused("0.4", "share")[1]


@pytest.mark.parametrize(
    ("text", "dimension", "in_message", "in_cure"),
    [
        ("3 kg", "length", "'kg' is a mass; a length is due: m, cm, mm", "m, cm, mm"),
        ("3 m2", "length", "an area", "m, cm, mm"),
        ("9 m3/h", "normal air flow", "pressure and temperature", "Nm3/h"),
        ("9 Nm3/h", "flow", "a normal air flow", "m3/h"),
        ("3 m", "number", "without one is due", "plain number"),
        ("900 m3/hr", "flow", "did you mean m3/h?", "m3/h"),
        ("900 l/s", "flow", "did you mean L/s?", "L/s"),
        ("900 m^3/h", "flow", "did you mean m3/h?", "m3/h"),
        ("20 C", "temperature", "did you mean degC?", "degC"),
        ("3 kgs", "length", "kg would be a mass", "m, cm, mm"),
        ("5 furlong", "length", "no known unit", "m, cm, mm"),
        ("35 ppt", "salinity", "more than one scale", "g/kg"),
        ("35 PSU", "salinity", "more than one scale", "1.0047"),
        ("12,5 m", "length", "decimal comma", "write 12.5 m"),
        ("12,5", "length", "decimal comma", "write 12.5"),
        ("1,450 m3/h", "flow", "decimal comma", "1450 m3/h if"),
        ("1 450 rpm", "speed", "thousands", "write 1450 rpm"),
        ("1\u00a0450 rpm", "speed", "thousands", "write 1450 rpm"),
        ("1'450 m", "length", "thousands", "write 1450 m"),
        ("1_000 m", "length", "thousands", "write 1000 m"),
        ("1_000", "number", "thousands", "write 1000"),
        ("1.450.000 m", "length", "more than one point", "m, cm, mm"),
        ("nan m", "length", "not a finite", "such as"),
        (".inf", "number", "not a finite", "plain number"),
        (float("nan"), "number", "not a finite", "plain number"),
        ("2024-01-01", "length", "date", "m, cm, mm"),
        ("1:30", "time", "time of day", "h, min, s, d"),
        ("3 m 20 cm", "length", "more than one number", "3.20 m"),
        ("3-4 m", "length", "more than one number", "m, cm, mm"),
        ("1 / 2 m", "length", "more than one number", "m, cm, mm"),
        ("\u22122 m", "level", "no minus sign", "'-'"),
        (".5 m", "length", "digit beside its decimal point", "m, cm, mm"),
        ("5. m", "length", "digit beside its decimal point", "m, cm, mm"),
        ("-2 m", "length", "negative", "'-'"),
        ("-0 m", "length", "negative", "'-'"),
        ("1e999 m", "length", "too large", "exponent"),
        ("1e999999999 m", "length", "exponent", "m, cm, mm"),
        ("1e-400 m", "length", "too small", "exponent"),
        ("\u0663 m", "length", "does not begin with a number", "m, cm, mm"),
        ("about 3 m", "length", "does not begin with a number", "m, cm, mm"),
        ("8.0", "count", "whole number", "plain digits"),
        ("0", "count", "whole number", "plain digits"),
        ("-3", "count", "whole number", "plain digits"),
        ("", "length", "nothing is written", "m, cm, mm"),
        (None, "length", "nothing is written", "m, cm, mm"),
        ([], "length", "a list", "m, cm, mm"),
        ({}, "length", "a group of keys", "m, cm, mm"),
        (True, "count", "yes or no", "plain digits"),
    ],
)
def test_refuses(text: object, dimension: str, in_message: str, in_cure: str) -> None:
    message, cure = refused(text, dimension)
    assert in_message in message
    assert in_cure in cure


def test_feet_are_not_taken_for_tonnes() -> None:
    message, _ = refused("5 ft", "length")
    assert "mean" not in message
    assert "would be" not in message


def test_long_text_is_refused_without_being_quoted() -> None:
    message, cure = refused("9" * 5_000_000 + " m", "length")
    assert len(message) + len(cure) < 300


@given(st.text(max_size=80), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_a_finite_quantity_or_a_unit_error(text: str, dimension: str) -> None:
    try:
        read = read_quantity(text, dimension)
    except UnitError as error:
        assert str(error)
        assert error.cure
    else:
        assert math.isfinite(read.value)


@given(st.text(alphabet="0123456789.,eE+-_ mcLh/s%3\u00b3", max_size=14))
def test_near_quantities_are_read_as_the_schema_pattern_says(text: str) -> None:
    for dimension in ("length", "level", "flow", "number", "count", "share"):
        matched = re.search(unit_pattern(dimension), text) is not None
        try:
            read_quantity(text, dimension)
        except UnitError as error:
            # A pattern cannot tell a number that no float can hold.
            assert not matched or "too" in str(error)
        else:
            assert matched


@pytest.mark.parametrize(("dimension", "unit"), WITH_UNITS)
def test_pattern_takes_every_unit_and_no_bare_number(dimension: str, unit: str) -> None:
    pattern = unit_pattern(dimension)
    for text in (
        f"2.5 {unit}",
        f"2.5{unit}",
        f"1e-3 {unit}".replace("3", "\u00b3").replace("-\u00b3", "-3"),
    ):
        assert re.search(pattern, text)
        read_quantity(text, dimension)
    for text in ("2.5", f"2,5 {unit}", f"2.5 {unit} {unit}", f"2.5 {unit}x", f"x2.5 {unit}"):
        assert not re.search(pattern, text)
    assert bool(re.search(pattern, f"-2.5 {unit}")) is DIMENSIONS[dimension].signed


@given(st.floats(min_value=1e-300, max_value=1e300), st.sampled_from(WITH_UNITS))
def test_reading_gives_back_what_was_written(value: float, kind: tuple[str, str]) -> None:
    dimension, unit = kind
    assert read_quantity(write_quantity(value, unit, dimension), dimension).value == value


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_plain_and_signed_numbers_come_back(value: float) -> None:
    assert read_quantity(write_quantity(value, ""), "number").value == value
    assert read_quantity(write_quantity(value, "m"), "level").value == value


@given(SIZES, st.sampled_from(sorted(n for n, kind in DIMENSIONS.items() if len(kind.units) > 1)))
def test_unit_does_not_change_the_value(value: float, dimension: str) -> None:
    for unit in allowed_units(dimension):
        text = f"{convert(value, unit, dimension)!r} {unit}"
        assert read_quantity(text, dimension).value == pytest.approx(value, rel=1e-12, abs=0)


def test_same_flow_in_any_unit_is_the_very_same_float() -> None:
    texts = ("900 m3/h", "250 L/s", "0.25 m3/s", "15000 L/min", "21600 m3/d")
    assert {read_quantity(text, "flow").value for text in texts} == {0.25}


def test_writing_keeps_numbers_short() -> None:
    assert write_quantity(0.25, "m3/h") == "900 m3/h"
    assert write_quantity(0.4, "%") == "40 %"
    assert write_quantity(-0.35, "cm") == "-35 cm"
    assert write_quantity(8.0, "") == "8"


def test_water_column_needs_its_dimension() -> None:
    with pytest.raises(UnitError, match="several kinds"):
        convert(1.0, "mWC")
    assert convert(9806.65, "mWC", "pressure") == 1.0
    assert convert(1.0, "mWC", "head") == 1.0


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_not_written(value: float) -> None:
    with pytest.raises(UnitError):
        write_quantity(value, "m")


def test_wrong_unit_is_not_written() -> None:
    with pytest.raises(UnitError, match="no known unit"):
        write_quantity(1.0, "furlong")
    with pytest.raises(UnitError, match="no unit of a length"):
        write_quantity(1.0, "kg", "length")
    with pytest.raises(UnitError, match="too large"):
        write_quantity(1e308, "mm")


def test_unknown_dimension_is_named() -> None:
    with pytest.raises(KeyError, match="known: length, level"):
        read_quantity("1 m", "lenght")


def test_checked_in_factors_are_those_of_pint() -> None:
    path = Path(loopplan.__file__).with_name("_unit_factors.py")
    assert path.read_text(encoding="utf-8") == unit_factors_source()


@pytest.mark.parametrize(("dimension", "unit"), WITH_UNITS)
def test_pint_agrees_with_the_reader(dimension: str, unit: str) -> None:
    read = read_quantity(f"12.5 {unit}", dimension)
    there = as_pint(read)
    assert there.magnitude == pytest.approx(12.5, rel=1e-14)
    if dimension == "temperature":
        assert there.to("kelvin").magnitude == pytest.approx(12.5 + 273.15)
    elif dimension == "salinity":
        assert there.to("kg/kg").magnitude == pytest.approx(0.0125)
    elif dimension == "speed":
        assert there.to("turn/second").magnitude == pytest.approx(read.value)
    else:
        assert there.to_base_units().magnitude == pytest.approx(read.value)


def test_normal_air_does_not_turn_into_a_volume() -> None:
    air = as_pint(read_quantity("100 Nm3/h", "normal air flow"))
    assert not air.is_compatible_with("m**3/h")
    assert as_pint(read_quantity("900 m3/h", "flow")).to("L/s").magnitude == pytest.approx(250)
