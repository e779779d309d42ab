"""What the budget study hands over: frozen, plain, ready for any report.

SI units throughout: flows [m3/s], levels and heads [m above the farm datum], losses [m],
velocities [m/s], areas [m2], volumes [m3].
"""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.findings import Finding
from loopplan.lifts.rule_screen import RuleScreen
from loopplan.studies.poweroff_results import PowerOff
from loopplan.studies.share_results import Cures, ShareSet
from loopplan.studies.water_results import WaterBalance


@dataclass(frozen=True)
class Row:
    """One passage of a flow path in one duty state.

    `loss` is worked again from the law and the printed flow, less than zero for a lift;
    `friction`, `local`, `fall` and `device` are its split; `useful` is what the passage is
    there to give; `share` is of the path's total loss; `running` is the sum so far;
    `mismatch` is the head worked again less the head solved.
    """

    path: str
    element: str
    part: str
    kind: str
    law: str
    flow: float
    units: float
    head_before: float
    head_after: float
    level_before: float
    level_after: float
    velocity: float | None
    loss: float
    friction: float
    local: float
    fall: float
    device: float
    useful: float
    share: float
    running: float
    mismatch: float
    bypass: bool = False
    """Whether it runs beside others of the path, so that its loss is theirs once more."""

    @property
    def name(self) -> str:
        """Element and part as one name."""
        return f"{self.element}, {self.part}" if self.part else self.element


@dataclass(frozen=True)
class LevelRow:
    """One basin in one duty state; area and volume are of all its units."""

    element: str
    kind: str
    units: float
    floor: float
    level: float
    wall_top: float | None
    freeboard: float | None
    depth: float | None
    area: float
    volume: float
    turnover: float | None
    """Minutes to fill its volume once by the flow through it; fish tanks only."""


@dataclass(frozen=True)
class LiftState:
    """A lift in one duty state.

    `static` is level to level, `added` what losses add, `pressure` what the elements it
    feeds need, `head` the total that it must give.
    """

    state: str
    flow: float
    level_before: float
    level_after: float
    static: float
    added: float
    pressure: float
    head: float


@dataclass(frozen=True)
class LiftResult:
    """A lift over all duty states, with the device class that suits it and why."""

    element: str
    asked: str
    states: tuple[LiftState, ...]
    head_least: float
    head_most: float
    device: str
    reason: str
    against: tuple[tuple[str, str], ...]
    """(device, reason against it) for the other two."""
    rules: RuleScreen | None = None
    """Published rules for airlifts at the greatest head, for information; None without one."""


@dataclass(frozen=True)
class Residuals:
    """How well one duty state closes.

    `water_balance` as a share of circulation, `law_head` [m], `law_flow` as a share of
    circulation, `head_budget` [m] the worst sum round a cycle of the rows worked again,
    `row` [m] the worst single row.
    """

    water_balance: float
    law_head: float
    law_flow: float
    head_budget: float
    row: float
    iterations: int


@dataclass(frozen=True)
class StateResult:
    """One duty state, solved."""

    name: str
    condition: str
    temperature: float
    rows: tuple[Row, ...]
    levels: tuple[LevelRow, ...]
    balance: WaterBalance
    residuals: Residuals


@dataclass(frozen=True)
class SheetLine:
    """One head item of the calculation sheet, to be worked again by hand.

    `inputs` lists (name, value, unit); the values are those that the law takes.
    """

    state: str
    item: str
    law: str
    formula: str
    inputs: tuple[tuple[str, float, str], ...]
    notes: tuple[str, ...]
    sources: tuple[str, ...]
    loss: float
    head_before: float
    head_after: float


@dataclass(frozen=True)
class BudgetResult:
    """The whole budget study of one scenario."""

    farm: str
    note: str
    file: str
    states: tuple[StateResult, ...]
    lifts: tuple[LiftResult, ...]
    findings: tuple[Finding, ...]
    assumed: tuple[tuple[str, str, str, str], ...]
    """(place, field, value, source) of each default in use."""
    sources: tuple[tuple[str, str], ...]
    """(key, text) of each source that this run used."""
    sheet: tuple[SheetLine, ...]
    shares: tuple[ShareSet, ...] = ()
    """How like elements side by side share the flow, in each duty state."""
    cures: tuple[Cures, ...] = ()
    """What would even out the shares that are spread beyond the limit."""
    power_off: PowerOff | None = None
    """What happens when every lift stops; None for a loop without a lift."""
