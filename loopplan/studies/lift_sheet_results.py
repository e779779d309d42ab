"""What the study of lifts and devices hands over: frozen, plain, ready for any report.

SI units throughout: flows [m3/s], levels and heads [m], pressures [Pa], power [W], energy [J]
unless a name says otherwise. Air flows are free air, 20 degC and 101.325 kPa, unless a name
says otherwise. `least` and `most` of a :class:`Band` are the edges that the closures leave.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.findings import Finding


@dataclass(frozen=True)
class Band:
    """A value with the edges between which it lies."""

    value: float
    least: float
    most: float


@dataclass(frozen=True)
class AirPoint:
    """An airlift in one duty state; air of all units.

    `water` is what that air moves at the edges; `ratio` is air to water by volume;
    `gas_fraction` the mean of the riser; `gas_speed` at the outlet and `water_speed` superficial;
    `submergence` water above the air over that and the lift; `static_efficiency` and
    `total_efficiency` against isothermal compression; `stall` the lift at which the installed air
    moves no water, `margin` from the lift to there, `lost_per_cm` the share of flow that a
    centimetre of lift costs; `reserve` the wall above the bulked water; `downward` the speed in
    the inlet half; `gas_pressure` of the water behind it over the air's.
    """

    air: Band
    water: Band
    air_normal: float
    air_inlet: float
    ratio: Band
    gas_fraction: float
    gas_speed: float
    water_speed: float
    submergence: float
    static_efficiency: float
    total_efficiency: float
    pressure: float
    stall: Band
    margin: float
    lost_per_cm: float
    reserve: float | None
    downward: float | None
    gas_pressure: Band | None


@dataclass(frozen=True)
class AirCurve:
    """The operating curve of an airlift at `lift` [m]: water by air, of all units.

    `peak_air` and `peak_water` are those of the most water; `peaks` whether more air then moves
    less, False where water still rises at `most_gas`, the superficial gas velocity [m/s] at which
    the search ends. `peak_gas` is that of the peak, `gas_in_data` that at which data end.
    """

    lift: float
    air: tuple[float, ...]
    water: tuple[Band, ...]
    peak_air: Band
    peak_water: Band
    peaks: bool
    peak_gas: float
    most_gas: float
    gas_in_data: float


@dataclass(frozen=True)
class Remark:
    """Something to know of a pump; `code` of the finding that it is, "" if it is none."""

    code: str
    words: str


@dataclass(frozen=True)
class PumpPoint:
    """A pump in one duty state; flow and power are of one unit.

    `head` is what the impeller makes: level to level, and `ends` (name, head) that the setting
    takes besides; `speed` [1/min], `share` of the full one; `form` is the class of pump that the
    specific speed asks for; `efficiency` of the pump alone, and `rests_on` in words; `shaft` and
    `motor` power, `drive` efficiency of motor and converter; `shut_off` power against a closed
    valve; `run_out` the last flow of the curve; `submergence` and `npsh` are (needed, there);
    `stop_share` is the share of full speed below which flow stops.
    """

    flow: float
    head: float
    ends: tuple[tuple[str, float], ...]
    speed: float
    share: float
    specific_speed: float
    form: str
    efficiency: float
    rests_on: str
    shaft: float
    motor: float
    drive: float
    shut_off: float
    run_out: float | None
    submergence: tuple[float, float | None] | None
    bell_velocity: float | None
    npsh: tuple[float, float] | None
    remarks: tuple[Remark, ...]
    stop_share: float | None


@dataclass(frozen=True)
class Slower:
    """A pump at a lower speed, the loop solved anew; flow and electric power of all units.

    `share` of full speed; no flow where it stops.
    """

    share: float
    flow: float
    power: float


@dataclass(frozen=True)
class DeviceState:
    """One device at one lift in one duty state.

    `against` says why it cannot serve; `power` is electric, of all running units; None where
    it cannot be worked out.
    """

    state: str
    flow: float
    static: float
    head: float
    against: tuple[str, ...]
    power: Band | None
    detail: AirPoint | PumpPoint | None

    @property
    def feasible(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.against

    @property
    def per_m3(self) -> float | None:
        """Electric energy for each cubic metre [J/m3]."""
        return self.power.value / self.flow if self.power and self.flow > 0.0 else None


@dataclass(frozen=True)
class Gas:
    """What an airlift's air does to the water [kg/s].

    `instead` is the power that other aeration would take for the same oxygen [W].
    """

    oxygen: Band
    carbon_dioxide: Band
    instead: float
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class DeviceResult:
    """One device at one lift over all duty states.

    `energy` is of a year at the first duty state in which the lift runs [J]; `cost` of a year
    all told in the currency of the file, None without a price; `standby` in words; `reason` why it
    suits or not; `slower` the pump at lower speeds: None without a frequency converter,
    empty where others give the flow; `curve` the operating curve of an airlift.
    """

    device: str
    states: tuple[DeviceState, ...]
    feasible: bool
    reason: str
    energy: Band | None
    cost: float | None
    standby: str
    gas: Gas | None
    slower: tuple[Slower, ...] | None = None
    curve: AirCurve | None = None


@dataclass(frozen=True)
class PracticeRow:
    """A rule of practice beside the modelled value; never built into a closure."""

    name: str
    practice: str
    modelled: str
    source: str


@dataclass(frozen=True)
class LiftSheet:
    """One lift: its duty, the three devices, the recommendation and where it turns over.

    `flow` of all units, `head` and what is counted by the year stand for duty state `state`;
    `fixed` is the device that the file asks for, `fixed_costs` what that costs in words;
    `crossover` the total head [m] above which the other device takes less energy, with words.
    """

    element: str
    state: str
    flow: float
    head: float
    devices: tuple[DeviceResult, ...]
    recommended: str
    words: str
    fixed: str | None
    fixed_costs: str
    crossover: float | None
    crossover_words: str
    practice: tuple[PracticeRow, ...]


@dataclass(frozen=True)
class LiftStudy:
    """All lifts of a loop, in the order of the loop."""

    farm: str
    file: str
    sheets: tuple[LiftSheet, ...]
    findings: tuple[Finding, ...]
    assumed: tuple[tuple[str, str, str, str], ...]
    sources: tuple[tuple[str, str], ...]
    currency: str
