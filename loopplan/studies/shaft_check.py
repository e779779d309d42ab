"""Refusals of a shaft that cannot be built or cannot work, each with what would do."""

from __future__ import annotations

from collections.abc import Iterator

from loopplan.errors import Problem, Refused
from loopplan.physics.airlift_practice import SILL_WATER
from loopplan.studies.shaft_results import ShaftCase

MOST_LISTED = 12
"""Lifts, or outlet halves, in one study."""

_M3_H = 3600.0
_RANGES = (
    ("flow", "m3/h", _M3_H, 1.0, 1e5),
    ("depth", "m", 1.0, 1.0, 20.0),
    ("coverage", "%", 100.0, 1.0, 100.0),
    ("temperature", "degC", 1.0, 0.0, 40.0),
    ("salinity", "g/kg", 1.0, 0.0, 42.0),
    ("altitude", "m", 1.0, -400.0, 5000.0),
)
"""Field, unit, unit over SI unit, least and most in that unit."""


def check_case(case: ShaftCase) -> None:
    """Refuse a shaft that cannot be built or cannot work.

    Raises:
        Refused: holds every problem found.
    """
    found = [*_out_of_range(case), *_lists(case), *_heights(case)]
    if found:
        raise Refused(
            [Problem("shaft", 0, f"--{key}", read, *words) for key, read, *words in found]
        )


_Found = tuple[str, str, str, str]


def _out_of_range(case: ShaftCase) -> Iterator[_Found]:
    for field, unit, factor, least, most in _RANGES:
        value = factor * getattr(case, field)
        # A value in SI units may miss the limit it was written as by the last bit.
        if not least * (1 - 1e-12) <= value <= most * (1 + 1e-12):
            yield (
                field,
                f"{value:g} {unit}",
                f"the {field} is outside what can be worked out",
                f"give {least:g} to {most:g} {unit}",
            )


def _lists(case: ShaftCase) -> Iterator[_Found]:
    for key, count in (("lift", len(case.lifts)), ("outlet-half", len(case.outlet_halves))):
        if not 1 <= count <= MOST_LISTED:
            yield (
                key,
                f"{count} given",
                f"one to {MOST_LISTED} of them go into one study",
                "give fewer, and run it again for the others",
            )
    inlet = () if case.inlet_half is None else (case.inlet_half,)
    for key, word, unit, values, most in (
        ("lift", "lift", "m", case.lifts, case.depth),
        ("outlet-half", "area", "m2", case.outlet_halves, 1e4),
        ("inlet-half", "area", "m2", inlet, 1e4),
    ):
        for value in values:
            if not 0.01 <= value <= most:
                yield (
                    key,
                    f"{value:g} {unit}",
                    f"the {word} is outside what can be worked out",
                    f"give 0.01 to {most:g} {unit}",
                )


def _heights(case: ShaftCase) -> Iterator[_Found]:
    running = case.running_depth
    if running <= 0.0:
        yield (
            "dry-reserve",
            f"{case.dry_reserve:g} m",
            "the dry reserve leaves no depth for water",
            "make the shaft deeper, or the dry reserve less",
        )
        return
    if case.diffusers >= running:
        yield (
            "diffusers",
            f"{case.diffusers:g} m",
            f"the diffusers stand {case.diffusers:g} m above the floor, and {running:g} m of water "
            "stand in the shaft",
            "lay them lower (common practice: 0.5 m above the floor), or make the shaft deeper",
        )
    elif case.water_column < SILL_WATER:
        yield (
            "diffusers",
            f"{case.diffusers:g} m",
            f"only {case.water_column:.2f} m of water stand above the diffusers",
            f"leave {SILL_WATER:g} m or more, so that they lie under the outlet sill: lay them "
            "lower, or make the shaft deeper",
        )
    if case.gap <= 0.0:
        yield (
            "gap",
            f"{case.gap:g} m",
            "the partition stands on the floor: no water gets to the outlet half",
            "let it end about 0.5 m above the floor",
        )
    elif case.gap >= running:
        yield (
            "gap",
            f"{case.gap:g} m",
            "the partition ends above the water: nothing parts the two halves",
            "let it reach down to about 0.5 m above the floor",
        )
