"""Words, ends and axes that the reports of a shaft share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loopplan.report.charts import Axis
from loopplan.report.numbers import digits
from loopplan.report.words import NOT_VALIDATED
from loopplan.studies.shaft_results import Band, ShaftCase, ShaftStudy

FREE_AIR = "free air, 20 degC and 101.325 kPa"

UNTUNED = (
    f"Every figure here is {NOT_VALIDATED}: no published measurements of that size could be "
    "reached. Nothing is tuned to enter the range of practice; the need is computed without any "
    "margin, while the figure of practice is for installed air, margin included."
)


def ends(band: Band) -> tuple[float | None, float | None]:
    """Return the least and the most of a band; the most is None where a closure finds no air."""
    values = (band.expected, band.least_air, band.most_air)
    held = [value for value in values if value is not None]
    if not held:
        return None, None
    return min(held), max(held) if len(held) == len(values) else None


def in_words(band: Band, factor: float = 1.0, count: int = 2) -> str:
    """Write a band as `0.32 (0.32-0.51)`; `-` stands for what no air flow does.

    `0.32 (from 0.32)` has no most: by a closure no air flow does it.
    """
    low, high = ends(band)
    if low is None:
        return "-"
    expected, least, most = (
        "-" if x is None else digits(factor * x, count) for x in (band.expected, low, high)
    )
    if high is None:
        return f"{expected} (from {least})"
    return expected if expected == least == most else f"{expected} ({least}-{most})"


def listed(values: Sequence[float], unit: str) -> str:
    """Write numbers with their unit: `0.2, 0.3 and 0.5 m`."""
    texts = [f"{value:g}" for value in values]
    return f"{', '.join(texts[:-1])}{' and ' if len(texts) > 1 else ''}{texts[-1]} {unit}"


def shaft_in_words(case: ShaftCase) -> str:
    """Return the shaft and its water in two sentences."""
    inlet = "as large" if case.inlet_half is None else f"{case.inlet_half:g} m2"
    return (
        f"Shaft {case.depth:g} m deep, {case.dry_reserve:g} m of it dry reserve, "
        f"{case.running_depth:g} m of water; diffusers {case.diffusers:g} m and partition edge "
        f"{case.gap:g} m off the floor; diffusers cover {100 * case.coverage:g} % of the outlet "
        f"half; inlet half {inlet}. Water {case.temperature:g} degC, {case.salinity:g} g/kg, "
        f"{case.altitude:g} m above the sea."
    )


def ratio_axis(study: ShaftStudy) -> Axis:
    """Return the axis of air to water that holds every curve and the range of practice."""
    bands = [band for curve in study.curves for _, band in curve.points]
    low, high = _reach(bands, study.practice)
    return Axis("free air to water", "m3/m3", low, high, log=True)


def _reach(bands: Iterable[Band], practice: tuple[float, float]) -> tuple[float, float]:
    values = [*practice]
    for band in bands:
        values += [v for v in (band.expected, band.least_air, band.most_air) if v is not None]
    return 0.7 * min(values), 1.05 * max(values)
