"""How numbers are written for people: no finer than the sources can bear.

Levels and heads to the millimetre, losses to the millimetre (a tenth below ten), flows to
four digits.
"""

from __future__ import annotations

import math

from loopplan.studies.lift_sheet_results import Band

_MOST_DECIMALS = 4


def level(value: float) -> str:
    """Write a level or head [m above datum], to the millimetre."""
    return _plain(f"{value:.3f}")


def loss_mm(value: float) -> str:
    """Write a loss [m] in mm: whole ones from 10 mm up, tenths below."""
    mm = 1000.0 * value
    # 9.96 rounds to 10.0, which is written as 10.
    return _plain(f"{mm:.1f}" if abs(round(mm, 1)) < 10.0 else f"{mm:.0f}")


def digits(value: float, count: int = 4) -> str:
    """Write a number with `count` significant digits and no exponent; four decimals at most."""
    if value == 0.0:
        return "0"
    size = math.floor(math.log10(abs(value)))
    decimals = min(max(count - 1 - size, 0), _MOST_DECIMALS)
    text = f"{value:.{decimals}f}"
    # 99.996 grows a digit when it is rounded.
    grown = sum(c.isdigit() for c in text.strip("-").lstrip("0.")) > count and decimals > 0
    return _plain(f"{value:.{decimals - 1}f}" if grown else text)


def flow_m3_h(value: float) -> str:
    """Write a flow [m3/s] in m3/h."""
    return digits(3600.0 * value)


def thousands(value: float) -> str:
    """Write the sum of a year to three digits, with commas."""
    if value == 0.0:
        return "0"
    return f"{round(value, 2 - math.floor(math.log10(abs(value)))):,.0f}"


def banded(band: Band, factor: float, count: int) -> str:
    """Write a value times `factor` with its edges in brackets, to `count` digits."""
    value, least, most = (digits(factor * x, count) for x in (band.value, band.least, band.most))
    return value if least == most else f"{value} ({least}-{most})"


def small(value: float) -> str:
    """Write a residual."""
    return f"{value:.1e}" if value else "0"


def stated(value: float) -> str:
    """Write an input of the calculation sheet so that it can be worked again by hand."""
    return f"{value:.6g}"


def _plain(text: str) -> str:
    """Return a number without the sign of a zero."""
    return text.removeprefix("-") if not text.strip("-0.") else text
