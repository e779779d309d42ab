"""What a builder draws of an airlift: the channel shaft, and the tube."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar, Literal

from loopplan.declare import Detail, quantity, word

_PRACTICE = "common practice, no source"

AIR_STATE = "free air, 20 degC and 101.325 kPa"
"""State that every volume of air in a scenario file is counted in."""

Closure = Literal["evenly spread", "large duct", "plume"]
"""How air and water share the riser: the least, the middle and the greatest air need."""


class _Air(Detail):
    """What both kinds of airlift have."""

    air: float | None = quantity(
        "flow",
        f"Air blown into one unit ({AIR_STATE}); without it the air need is worked out.",
        unit="m3/h",
        default=None,
        above=0.0,
    )
    closure: Closure = word(
        "How air and water are taken to share the riser where one line is due; results always "
        "show the band of all.",
        default="large duct",
        source="middle of the published closures",
    )
    diffuser_loss: float = quantity(
        "pressure",
        "Pressure that the diffusers lose at the air flow of the unit.",
        unit="kPa",
        default="1 kPa",
        source=_PRACTICE,
        least=0.0,
    )
    blower: Literal["near", "far"] = word(
        "Whether the blower stands near or far: a rule of practice adds 0.5 or 1.0 m of water.",
        default="near",
        source=_PRACTICE,
    )


class Shaft(_Air):
    """A shaft between two channels: air is blown into the outlet half of it only."""

    kind: Literal["channel shaft"]
    floor: float | None = quantity(
        "level",
        "Floor of the shaft; from the running depth in the first duty state if none is stated.",
        unit="m",
        default=None,
    )
    depth: float = quantity(
        "length",
        "Depth of the shaft, floor to wall top.",
        unit="m",
        default="3.5 m",
        source=_PRACTICE,
        above=0.0,
        most=20.0,
    )
    dry_reserve: float = quantity(
        "length",
        "Wall above the running water of the inlet half.",
        unit="m",
        default="0.5 m",
        source=_PRACTICE,
        least=0.0,
    )
    diffuser_height: float = quantity(
        "length",
        "Diffusers above the floor.",
        unit="m",
        default="0.5 m",
        source=_PRACTICE,
        least=0.0,
    )
    coverage: float = quantity(
        "share",
        "Share of the outlet half's plan that diffusers cover.",
        unit="%",
        default="100 %",
        source="common practice, no source: perforated pipes over the whole plan",
        above=0.0,
        most=1.0,
    )
    partition_gap: float = quantity(
        "length",
        "Height of the opening under the partition.",
        unit="m",
        default="0.5 m",
        source=_PRACTICE,
        above=0.0,
    )
    inlet_half: float = quantity("area", "Plan area of the inlet half.", unit="m2", above=0.0)
    outlet_half: float = quantity("area", "Plan area of the outlet half.", unit="m2", above=0.0)
    width: float | None = quantity(
        "length",
        "Width of the shaft along the partition; a square outlet half if none is stated.",
        unit="m",
        default=None,
        above=0.0,
    )
    word: ClassVar[str] = "channel shaft"
    title: ClassVar[str] = "airlift in a shaft between two channels, split by a partition"

    @property
    def running_depth(self) -> float:
        """Water in the inlet half [m] as drawn: the shaft's depth less its dry reserve."""
        return self.depth - self.dry_reserve

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """See :meth:`Detail.refusals`."""
        if self.running_depth <= 0.0:
            yield (
                "dry reserve",
                "the dry reserve leaves no depth for water",
                "make the shaft deeper, or the dry reserve less",
            )
        elif self.diffuser_height >= self.running_depth:
            yield (
                "diffuser height",
                f"the diffusers stand {self.diffuser_height:g} m above the floor, and "
                f"{self.running_depth:g} m of water stand in the shaft",
                "lay the diffusers deeper, or make the shaft deeper",
            )
        if self.partition_gap >= self.running_depth:
            yield (
                "partition gap",
                "the partition ends above the water: nothing parts the two halves",
                "let the partition reach down to about 0.5 m above the floor",
            )


class Tube(_Air):
    """A pipe that stands in the water, with air let in near its foot; `tubes` side by side."""

    kind: Literal["tube"]
    bore: float = quantity("length", "Inside diameter of one tube.", unit="mm", above=0.0, most=3.0)
    tubes: int = quantity(
        "count",
        "Like tubes in parallel in one unit.",
        unit="",
        default="1",
        source="one tube",
        least=1.0,
        most=1000.0,
    )
    injection_depth: float = quantity(
        "length",
        "Water above the place where air is let in, in the first duty state.",
        unit="m",
        above=0.0,
        most=100.0,
    )
    foot: float = quantity(
        "length",
        "Length of tube below the place where air is let in.",
        unit="m",
        default="0.3 m",
        source=_PRACTICE,
        least=0.0,
    )
    roughness: float = quantity(
        "length",
        "Roughness of the tube's wall.",
        unit="mm",
        default="0.01 mm",
        source="common practice, no source: smooth plastic",
        least=0.0,
    )
    entry: float = quantity(
        "number",
        "Loss coefficient of the entry.",
        unit="",
        default="0.5",
        source="sharp-edged entry from a basin; from memory",
        least=0.0,
    )
    word: ClassVar[str] = "tube"
    title: ClassVar[str] = "airlift in a tube that stands in the water"
