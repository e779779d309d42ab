"""How long the oxygen of a fish tank lasts once no water comes."""

from __future__ import annotations

USABLE = 0.005
"""Oxygen [kg/m3] above what fish cannot do without: 5 mg/L. Common practice, no source."""

CONSUMPTION_LOW, CONSUMPTION_HIGH = 134e-6 / 3600.0, 300e-6 / 3600.0
"""Oxygen that a kilogram of fish takes [kg/(kg s)]: 134 to 300 mg/kg/h.

The lower end is worked back from published field times of 20 to 32 min at 94 kg/m3 (Ebeling
and Hightower); the upper is a usual figure of fed fish, common practice, no source.
"""


def oxygen_time(usable: float, volume: float, biomass: float, consumption: float) -> float:
    """Return the time [s] until the usable oxygen of a tank is taken.

    Args:
        usable: oxygen above the least that the fish need [kg/m3], 0 and up.
        volume: water of the tank [m3], 0 and up.
        biomass: fish in it [kg], above 0.
        consumption: oxygen that they take [kg/(kg s)], above 0.

    Raises:
        ValueError: if biomass or consumption is not above 0.
    """
    if biomass <= 0.0 or consumption <= 0.0:
        raise ValueError("biomass and consumption must be above 0")
    return usable * volume / (biomass * consumption)
