"""The page docs/validation.md: published values against computed ones.

Tests hand in their rows through the fixture `published`; `pytest --write-validation` writes the
page, and a full run of the tests fails where the page is stale.
"""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, SupportsFloat

TESTS = Path(__file__).resolve().parent
PAGE = TESTS.parent / "docs" / "validation.md"
EVIDENCE = ("read", "from memory", "closed form", "common practice")

WEAK = (
    "Airlifts at the size of a farm: no published table could be reached. Every airlift result "
    "says so.",
    "Airlifts in tubes of 25 and 28 mm, untuned: at low air the model gives up to 2.3 times the "
    "water that one laboratory measured, and 0.6 of what the other did if its air volumes are "
    "free air. Nothing is claimed below a submergence ratio of 0.57 and above 2 m/s of gas. One "
    "published point of a farm's tube (76 mm, outlet height not given) is overpredicted 2.4 times "
    "if it had no lift.",
    "Airlift shafts: all closures are from memory, none was measured in a shaft as wide as it is "
    "high; how diffuser coverage moves the band, and how columns at rest are carried over to "
    "flowing water, is our judgement.",
    "Hazen and Williams: the constant 10.667 was chosen because it meets remembered heads of a "
    "published two-loop case, as one of three that were tried (10.51, 10.667, 10.90).",
    "Thin-plate weirs: the coefficients of Kindsvater and Carter, of the V-notch and of Rehbock "
    "are from memory; no printed row of the standard could be read.",
    "Drowned weirs: no published worked example of Villemonte's formula was found, and the "
    "classical methods differ by some 20 %. Above a submergence of 0.95, and for the modular "
    "limit of broad crests, the curve is ours.",
    "Racks and screens (Kirschmer among them): no published worked example was found. What "
    "blinding does to a bar rack rests on the spreading of a jet, not on measurement.",
    "Fittings: books differ by half and more on one and the same fitting.",
    "Butterfly valves by angle: from memory only.",
)


class Published(Protocol):
    """The fixture `published`."""

    def __call__(
        self,
        check_id: str,
        source: str,
        quantity: str,
        published: float,
        computed: SupportsFloat,
        tolerance: float | str,
        unit: str,
        evidence: str,
    ) -> None:
        """Assert that computed meets published within the tolerance, and record the row.

        `tolerance` is an absolute number, or a share of the published value: `"0.5 %"`.
        """


@dataclass(frozen=True)
class Row:
    """One check."""

    file: str
    check_id: str
    source: str
    quantity: str
    published: float
    computed: float
    tolerance: float | str
    unit: str
    evidence: str

    @property
    def allowed(self) -> float:
        """Largest miss that passes, in the unit of the quantity."""
        if isinstance(self.tolerance, str):
            found = re.fullmatch(r"([0-9.]+) %", self.tolerance)
            assert found, f"{self.check_id}: a tolerance is a number, or like '0.5 %'"
            return float(found[1]) / 100.0 * abs(self.published)
        return self.tolerance

    def check(self) -> None:
        """Assert the tolerance."""
        assert self.evidence.startswith(EVIDENCE), (
            f"{self.check_id}: evidence begins with one of {EVIDENCE}"
        )
        assert self.allowed > 0.0, f"{self.check_id}: the tolerance must be above zero"
        miss = self.computed - self.published
        # Not `>`: a miss that is no number must fail.
        assert abs(miss) <= self.allowed * (1.0 + 1e-9), (
            f"{self.check_id} {self.quantity}: published {self.published:g}, computed "
            f"{self.computed:.9g} {self.unit}, miss {miss:.3g}, allowed {self.allowed:.3g} "
            f"({self.source})"
        )

    @property
    def decimals(self) -> int:
        """Decimals that are shown: five digits, and a tenth of the tolerance in any case."""
        size = abs(self.published) or 1.0
        least = min(size / 1e4, self.allowed / 10.0)
        return max(0, math.ceil(-math.log10(least) - 1e-9))

    def cells(self) -> list[str]:
        """What the table shows."""
        places = self.decimals
        computed = round(self.computed, places)
        miss = round(computed - self.published, places) + 0.0
        shown = self.tolerance if isinstance(self.tolerance, str) else f"{self.tolerance:.3g}"
        return [
            self.check_id,
            f"{self.quantity} [{self.unit}]",
            f"{self.published:.10g}",
            f"{computed:.10g}",
            f"{miss:.3g}",
            shown,
            self.source,
            self.evidence,
        ]


def page(rows: Iterable[Row]) -> str:
    """Return the text of the page."""
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.file, []).append(row)
    lines = [
        "# Validation",
        "",
        "Each row is a value that someone published, the value that loopplan computes from the "
        "same data, and the miss. The tests assert every row and write this page "
        "(`python -m pytest --write-validation`). Evidence: *read* means that the figure was seen "
        "in a text, *from memory* that it was not seen again; *closed form* follows from "
        "mechanics.",
    ]
    for file in sorted(groups):
        lines += [
            "",
            f"## {file}",
            "",
            "| check | quantity | published | computed | miss | tolerance | source | evidence |",
            "| --- | --- | ---: | ---: | ---: | ---: | --- | --- |",
        ]
        lines += ["| " + " | ".join(row.cells()) + " |" for row in groups[file]]
    lines += ["", "## Where the model is weak", ""]
    lines += [f"- {words}" for words in WEAK]
    return "\n".join(lines) + "\n"


def files_with_checks() -> set[Path]:
    """Return the test files that have a test which asks for the fixture."""
    return {
        path
        for path in TESTS.rglob("test_*.py")
        if any(
            isinstance(node, ast.FunctionDef)
            and node.name.startswith("test")
            and any(arg.arg == "published" for arg in node.args.args)
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        )
    }
