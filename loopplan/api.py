"""loopplan from Python: read a scenario, check it, budget its head.

>>> import loopplan
>>> from loopplan.shipped import scenario_path
>>> scenario = loopplan.read(scenario_path("teaching-loop"))
>>> result = loopplan.budget(scenario)
>>> [state.name for state in result.states][:2]
['clean', 'fouled']
"""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopplan.errors import BadFile, LoopplanError, NoSolution, Refused
from loopplan.findings import Finding
from loopplan.scenario import reader
from loopplan.scenario.models import Scenario
from loopplan.studies.results import BudgetResult

if TYPE_CHECKING:
    from loopplan.studies.air_results import AirResult


@dataclass(frozen=True)
class Checked:
    """What a scenario holds, its loop being complete; nothing in it is solved.

    `kinds` lists (kind, how many elements); `basins` counts free surfaces, `passages` what
    relates flow to the levels on its two sides, `assumed` the defaults in use.
    """

    farm: str
    file: str
    elements: int
    kinds: tuple[tuple[str, int], ...]
    basins: int
    passages: int
    joins: int
    paths: tuple[str, ...]
    lifts: tuple[str, ...]
    states: tuple[str, ...]
    assumed: int


def read(source: str | Path | bytes, name: str = "") -> Scenario:
    """Read a scenario from a file, or from the bytes of one.

    Args:
        source: path of the file, or its content as bytes.
        name: what problems call the file; the path if left out.

    Raises:
        BadFile: the file cannot be used; holds every problem found.
    """
    return reader.read(Path(source) if isinstance(source, str) else source, name)


def check(scenario: Scenario | str | Path) -> Checked:
    """Build the loop of a scenario (or of the file at a path) without solving it.

    Raises:
        BadFile: the file cannot be used.
        Refused: the loop is not complete, or its levels are fixed twice or not at all.
    """
    from loopplan.loop.solution import prepare

    scenario = _scenario(scenario)
    compiled = prepare(scenario)
    graph = compiled.graph
    kinds = Counter(element.kind for element in scenario.elements.values())
    return Checked(
        scenario.farm.name,
        scenario.document.name,
        len(scenario.elements),
        tuple(kinds.items()),
        sum(node.basin is not None for node in graph.nodes),
        len(graph.branches),
        graph.elements.number_of_edges(),
        tuple(scenario.paths),
        tuple(n for n, e in scenario.elements.items() if e.role == "lift"),
        compiled.names,
        len(scenario.assumed),
    )


def budget(scenario: Scenario | str | Path) -> BudgetResult:
    """Solve a scenario (or the file at a path) in all its duty states and budget its head.

    Returns SI units throughout; see :class:`BudgetResult`.

    Raises:
        BadFile: the file cannot be used.
        Refused: the loop is not complete, or its levels are fixed twice or not at all.
        NoSolution: the loop was tried and would not close.
    """
    from loopplan.studies.budget import budget as study

    return study(_scenario(scenario))


def air_supply(scenario: Scenario | str | Path) -> AirResult:
    """Solve the air supply of a scenario (or of the file at a path) with the water it moves.

    Returns SI units throughout; see :class:`loopplan.studies.air_results.AirResult`.

    Raises:
        BadFile: the file cannot be used.
        Refused: the file has no air supply, or its loop is not complete.
        NoSolution: headers and loop were tried and would not agree.
    """
    from loopplan.studies.air import air_supply as study

    return study(_scenario(scenario))


def frame(result: BudgetResult) -> Any:
    """Return the rows of all duty states as a pandas DataFrame, in SI units.

    The columns are `state` and the fields of :class:`loopplan.studies.results.Row`.
    """
    import pandas as pd

    return pd.DataFrame(
        [{"state": state.name, **asdict(row)} for state in result.states for row in state.rows]
    )


def _scenario(given: Scenario | str | Path) -> Scenario:
    return given if isinstance(given, Scenario) else read(given)


__all__ = [
    "BadFile",
    "BudgetResult",
    "Checked",
    "Finding",
    "LoopplanError",
    "NoSolution",
    "Refused",
    "Scenario",
    "air_supply",
    "budget",
    "check",
    "frame",
    "read",
]
