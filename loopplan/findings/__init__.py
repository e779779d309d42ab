"""Findings: what the user should know about a design or a standing farm.

A finding is not an error: the loop was solved, and something about it deserves a look. Each has a
kind, declared once with its cause, effect and cure (:mod:`loopplan.findings.kinds`). How bad a
finding is may be judged anew at its place; what it is called may not.
"""

from loopplan.findings import (
    kinds,
    kinds_air,
    kinds_duty,
    kinds_lifts,
    kinds_loop,
    kinds_passages,
    kinds_power,
    kinds_treatment,
    kinds_water,
)
from loopplan.findings.model import (
    FINDING_KINDS,
    Finding,
    FindingKind,
    Severity,
    declare_finding,
    find,
    worst,
    worst_first,
)

__all__ = [
    "FINDING_KINDS",
    "Finding",
    "FindingKind",
    "Severity",
    "declare_finding",
    "find",
    "kinds",
    "kinds_air",
    "kinds_duty",
    "kinds_lifts",
    "kinds_loop",
    "kinds_passages",
    "kinds_power",
    "kinds_treatment",
    "kinds_water",
    "worst",
    "worst_first",
]
