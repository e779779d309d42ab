"""As planned, one blower for each user, or one for all: power and energy of the first state."""

from __future__ import annotations

from collections.abc import Sequence

from loopplan.airsupply.plan import inlet_air
from loopplan.airsupply.power import power, rated_output
from loopplan.physics.air import STANDARD, convert_flow
from loopplan.scenario.air import Blower
from loopplan.scenario.models import Scenario
from loopplan.studies.air_results import HeaderResult, UserAir, Way

_JOULES = 3.6e6


def ways(scenario: Scenario, headers: Sequence[HeaderResult]) -> tuple[Way, ...]:
    """Return the ways to blow the air of the first duty state, each user at what it takes there.

    A blower of its own spares a user the valve that takes up the difference to its header;
    losses of pipes stay. All are of the class that the header has (one for all: that of the
    first header), at the middle of its efficiency, each with the next standard motor. What is
    on at times only is not counted.
    """
    firsts = [header.cases[0] for header in headers]
    found = [
        _way(
            scenario,
            "as planned",
            sum(first.running for first in firsts),
            sum(first.electric.value for first in firsts),
        )
    ]
    blowers = [scenario.air_supply[header.header].blower for header in headers]
    own = [
        _electric(scenario, blower, user.free, first.rise - first.header + _needed(user))
        for blower, first in zip(blowers, firsts, strict=True)
        for user in first.users
        if user.free > 0.0
    ]
    if len(own) > len(headers):
        found.append(_way(scenario, "one for each user", len(own), sum(own)))
    if len(headers) > 1:
        total = sum(first.free for first in firsts)
        rise = max(first.rise for first in firsts)
        one = _electric(scenario, blowers[0], total, rise)
        found.append(_way(scenario, "one header for all", 1, one))
    return tuple(found)


def _needed(user: UserAir) -> float:
    """Pressure at the head of a user's branch with its valve open [Pa]."""
    return user.column + user.diffuser + user.pipe


def _electric(scenario: Scenario, like: Blower, free: float, rise: float) -> float:
    """Power from the mains [W] of one blower for a flow of free air."""
    inlet = inlet_air(like, scenario.farm.altitude)
    low = float(inlet.pressure)
    drawn = float(convert_flow(free, STANDARD, inlet))
    motor = like.motor.model_copy(update={"power": None})
    blower = like.model_copy(update={"air": drawn, "motor": motor})
    rated = rated_output(blower, low, low + rise)
    return power(blower, 1.0, drawn, low, low + rise, rated).electric[0]


def _way(scenario: Scenario, name: str, blowers: int, electric: float) -> Way:
    energy = electric * scenario.prices.hours
    price = scenario.prices.electricity
    cost = None if price is None else energy / _JOULES * price
    return Way(name, blowers, electric, energy, cost)
