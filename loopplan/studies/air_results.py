"""What the air study hands over: frozen and plain, SI units throughout.

Air flows [m3/s] are told at three states: `free` at 20 degC and 101.325 kPa, `normal` at 0 degC
and 101.325 kPa (both dry), `inlet` as the blower draws it in. Pressures [Pa] are above that of
the atmosphere unless they are called a rise of the blower, which counts its intake filter.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopplan.findings import Finding
from loopplan.studies.lift_sheet_results import Band


@dataclass(frozen=True)
class UserAir:
    """One user of a header in one case.

    `stated` is the free air that it is to get, `depth` [m] the water above its outlets, `column`
    the pressure of that; `diffuser`, `pipe` and `valve` are losses, `velocity` [m/s] is that in
    its branch, None without one.
    """

    user: str
    on: bool
    stated: float
    free: float
    inlet: float
    normal: float
    depth: float
    column: float
    diffuser: float
    pipe: float
    valve: float
    velocity: float | None


@dataclass(frozen=True)
class HeaderCase:
    """A header in one case.

    `rise` is that of the blower, `margin` what is left of it to the rated one, `temperature`
    [degC] that of the air behind the blower; powers [W] are of all running blowers, `ideal` that of
    the lossless cycle of their class.
    """

    case: str
    running: int
    free: float
    inlet: float
    normal: float
    header: float
    main_loss: float
    delivery: float
    rise: float
    margin: float
    temperature: Band
    ideal: float
    shaft: Band
    electric: Band
    velocity: float | None
    users: tuple[UserAir, ...]


@dataclass(frozen=True)
class HeaderResult:
    """A header, its blowers, and how it does in all cases.

    `speed` is the share of full speed at which they run, `speed_asked` that for the stated air
    of all users, `speed_stated` whether the file gives it; `least_air` is the free air at least
    speed. `rule_head` [m of water] is blower pressure by the rule of practice for the `deepest`
    water [m], `starting` the pressure to start against and `standing` its user. `bore` [m],
    `velocity_range` [m/s] are of the main pipe, None without one.
    """

    header: str
    blower_class: str
    class_words: str
    running: int
    standby: int
    rated_air: float
    rated_pressure: float
    motor: float
    atmosphere: float
    speed: float
    speed_asked: float
    speed_stated: bool
    least_speed: float
    least_air: float
    deepest: float
    far: bool
    rule_head: float
    rule_pressure: float
    starting: float
    standing: str
    bore: float | None
    velocity_range: tuple[float, float] | None
    cases: tuple[HeaderCase, ...]


@dataclass(frozen=True)
class LiftWater:
    """Water that a lift moves [m3/s] in each case, 0 where its air moves none.

    `driven` tells whether its flow follows from its air; a given one does not.
    """

    lift: str
    header: str
    driven: bool
    flows: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class BlowerOut:
    """One running blower of a header stops and no other starts.

    `standby` tells how many could start; `lifts` lists (lift, water before, water after) [m3/s],
    None for a lift whose flow is given.
    """

    header: str
    standby: int
    left: int
    lifts: tuple[tuple[str, float, float | None], ...]


@dataclass(frozen=True)
class Way:
    """One way to arrange blowers for the air of the first duty state.

    `electric` power [W], `energy` a year [J], `cost` a year in the currency of the prices, None
    where no price is given; `blowers` are those that run.
    """

    name: str
    blowers: int
    electric: float
    energy: float
    cost: float | None


@dataclass(frozen=True)
class AirResult:
    """The whole air study of one scenario."""

    farm: str
    note: str
    file: str
    altitude: float
    cases: tuple[str, ...]
    headers: tuple[HeaderResult, ...]
    lifts: tuple[LiftWater, ...]
    outs: tuple[BlowerOut, ...]
    ways: tuple[Way, ...]
    hours: float
    currency: str
    findings: tuple[Finding, ...]
    assumed: tuple[tuple[str, str, str, str], ...]
    sources: tuple[tuple[str, str], ...]
    left_out: tuple[str, ...]
    """Duty states that are shares of a given flow, where none is given."""
    history: tuple[float, ...]
    """Greatest change of a user's air in each round of headers and loop [share]."""
