"""Shafts that the tests of the study, its reports and its command share."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from loopplan.studies.shaft import shaft_study
from loopplan.studies.shaft_results import ShaftCase, ShaftStudy

PRACTICE = ShaftCase(
    flow=1000.0 / 3600.0,
    lifts=(0.2, 0.3, 0.5, 0.7),
    outlet_halves=(0.5, 1.0, 2.0, 4.0, 6.0),
    inlet_half=None,
    depth=3.5,
    dry_reserve=0.5,
    diffusers=0.5,
    gap=0.5,
    coverage=1.0,
    temperature=15.0,
    salinity=0.0,
    altitude=0.0,
)
"""The shaft of common practice, no source."""

SMALL = replace(PRACTICE, lifts=(0.3,), outlet_halves=(1.0, 2.0), inlet_half=3.0)
HOPELESS = replace(PRACTICE, flow=4.0, lifts=(0.6,), outlet_halves=(0.5, 1.5))
"""So much water for its halves that no air flow, or not by all closures, lifts it."""


@cache
def studied(case: ShaftCase) -> ShaftStudy:
    """Return the study of a case; each is worked out once."""
    return shaft_study(case)
