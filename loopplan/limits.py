"""Limits that findings and the choice of a lift's device are judged by.

All are data with a source, and each can be set in the file under `limits`.
"""

from __future__ import annotations

from loopplan.declare import Declared, quantity

_PRACTICE = "common practice, no source"


class Limits(Declared):
    """Limits of the farm; each default is printed as assumed."""

    pipe_velocity_low: float = quantity(
        "velocity",
        "Least velocity in pipes: below it solids settle.",
        unit="m/s",
        default="0.3 m/s",
        source=_PRACTICE,
        least=0.0,
    )
    pipe_velocity_high: float = quantity(
        "velocity",
        "Greatest velocity in pipes: above it head is wasted.",
        unit="m/s",
        default="1.5 m/s",
        source=_PRACTICE,
        above=0.0,
    )
    channel_velocity_low: float = quantity(
        "velocity",
        "Least velocity in channels: below it solids settle.",
        unit="m/s",
        default="0.15 m/s",
        source=_PRACTICE,
        least=0.0,
    )
    channel_velocity_high: float = quantity(
        "velocity",
        "Greatest velocity in channels.",
        unit="m/s",
        default="1.0 m/s",
        source=_PRACTICE,
        above=0.0,
    )
    dead_leg_velocity: float = quantity(
        "velocity",
        "Velocity that a pipe or channel must reach in some duty state, not to be a dead leg.",
        unit="m/s",
        default="0.01 m/s",
        source=_PRACTICE,
        least=0.0,
    )
    manifold_spread: float = quantity(
        "share",
        "Greatest spread of like branches of a manifold: most less least, over the mean.",
        unit="%",
        default="10 %",
        source=_PRACTICE,
        above=0.0,
    )
    tank_freeboard: float = quantity(
        "length",
        "Least freeboard of fish tanks.",
        unit="m",
        default="0.20 m",
        source=_PRACTICE,
        least=0.0,
    )
    freeboard: float = quantity(
        "length",
        "Least freeboard of other basins and of channels.",
        unit="m",
        default="0.10 m",
        source=_PRACTICE,
        least=0.0,
    )
    airlift_ideal: float = quantity(
        "head",
        "Lift up to which an airlift is at its best.",
        unit="m",
        default="0.30 m",
        source=_PRACTICE,
        above=0.0,
    )
    airlift_workable: float = quantity(
        "head",
        "Lift up to which an airlift is workable with care.",
        unit="m",
        default="0.50 m",
        source=_PRACTICE,
        above=0.0,
    )
    airlift_most: float = quantity(
        "head",
        "Lift above which an airlift is not used.",
        unit="m",
        default="0.70 m",
        source=_PRACTICE,
        above=0.0,
    )
    propeller_most: float = quantity(
        "head",
        "Head up to which a low-head propeller pump is the usual choice.",
        unit="m",
        default="5 m",
        source=_PRACTICE,
        above=0.0,
    )
    pressure_from: float = quantity(
        "head",
        "Pressure need from which a lift counts as one that has to make pressure.",
        unit="m",
        default="0.20 m",
        source=_PRACTICE,
        above=0.0,
    )
    passes_most: float = quantity(
        "number",
        "Passes above which the reuse is unusual.",
        unit="",
        default="300",
        source=_PRACTICE,
        above=1.0,
    )
    lost_share_most: float = quantity(
        "share",
        "Share of the replacement that wash water, sludge and all else that is lost may take.",
        unit="%",
        default="80 %",
        source=_PRACTICE,
        above=0.0,
        most=1.0,
    )
    exchange_ratio: float = quantity(
        "number",
        "Times the replacement that one millimetre of level over an overflow may carry.",
        unit="",
        default="1",
        source="one millimetre is finer than a level is set out or read",
        above=0.0,
    )
    share_spread: float = quantity(
        "share",
        "Spread of flow between like units, most less least over the mean, that is borne.",
        unit="%",
        default="10 %",
        source=_PRACTICE,
        above=0.0,
    )
    spare_fall: float = quantity(
        "head",
        "Free drop below a sill, beyond what is needed, that is worth a note.",
        unit="m",
        default="0.05 m",
        source=_PRACTICE,
        least=0.0,
    )
