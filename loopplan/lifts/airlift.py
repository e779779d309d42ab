"""What a builder draws of an airlift: the channel shaft, and the tube."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import ClassVar, Literal

from loopplan.declare import Conditions, Detail, Passage, quantity, word

_PRACTICE = "common practice, no source"

_SILL_BELOW = 0.2
"""Outlet sill below the running water of the inlet half [m] where none is stated."""

_FAR_BELOW = -1e3
"""Level [m] of the end of a tube that ends under water, wherever that stands."""

SHAFT_SOURCES = (
    "zuber-findlay-1965",
    "hibiki-ishii-2003",
    "heijnen-vant-riet-1984",
    "equal-thrust",
)
TUBE_SOURCES = ("nicklin-1962", "reinemann-1990", "kataoka-ishii-1987")

AIR_STATE = "free air, 20 degC and 101.325 kPa"
"""State that every volume of air in a scenario file is counted in."""

EDGES = ("least air", "expected", "most air")
"""Edges of the band that the published closures leave, and its middle."""

TUBE_BAND = (1.0 / 1.3, 1.0, 1.6)
"""Air of a tube: edges of its band over the expected value [-], from what the closure misses in
published measurements (docs/validation.md); our judgement."""


class _Air(Detail):
    """What both kinds of airlift have."""

    air: float | None = quantity(
        "flow",
        f"Air blown into one unit ({AIR_STATE}). Where the lift has a `flow` it is the air that is "
        "installed, and the air need is worked out; where it has none, the flow follows from it.",
        unit="m3/h",
        default=None,
        above=0.0,
    )
    edge: Literal["least air", "expected", "most air"] = word(
        "Where in the band of published closures the loop is solved; results show the whole band.",
        default="expected",
        source="middle of the published closures",
    )
    oxygen: float | None = quantity(
        "concentration",
        "Dissolved oxygen of the water that comes to it.",
        unit="mg/L",
        default=None,
        least=0.0,
    )
    carbon_dioxide: float | None = quantity(
        "concentration",
        "Dissolved carbon dioxide of the water that comes to it.",
        unit="mg/L",
        default=None,
        least=0.0,
    )
    nitrogen: float | None = quantity(
        "concentration",
        "Dissolved nitrogen of the water that comes to it, argon not in it; in balance with the "
        "air at the surface if none is stated.",
        unit="mg/L",
        default=None,
        least=0.0,
    )
    gas_limit: float | None = quantity(
        "share",
        "Most that the pressure of all dissolved gases behind it may be, over that of the air.",
        unit="%",
        default=None,
        above=0.0,
        most=5.0,
    )
    transfer_in_farm_water: float = quantity(
        "number",
        "Rate of gas transfer in this water over that in clean water.",
        unit="",
        default="0.8",
        source="common practice, no source: 0.7 to 1 in farms",
        above=0.0,
        most=1.5,
    )
    yearly_cost: float | None = quantity(
        "number",
        "What it costs a year to own and keep, besides energy, in the currency of the prices.",
        unit="",
        default=None,
        least=0.0,
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

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """See :meth:`Detail.refusals`."""
        if self.gas_limit is not None and self.oxygen is None:
            yield (
                "gas limit",
                "gas pressure cannot be told without the oxygen of the water that comes to it",
                "add `oxygen: ... mg/L`, or leave out the limit",
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
    outlet_sill: float | None = quantity(
        "level",
        "Sill over which the outlet half gives its water to the channel; 0.2 m below the running "
        "water of the inlet half if none is stated.",
        unit="m",
        default=None,
    )
    outlet_width: float | None = quantity(
        "length",
        "Width of the opening over that sill; as wide as the partition if none is stated.",
        unit="m",
        default=None,
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

    def geometry(self, floor: float) -> dict[str, float]:
        """Return what the water column takes of the shaft, its floor at `floor` [m]."""
        width = self.width or math.sqrt(self.outlet_half)
        running = floor + self.running_depth
        sill = running - _SILL_BELOW if self.outlet_sill is None else self.outlet_sill
        return {
            "floor": floor,
            "depth": self.depth,
            "inlet_area": self.inlet_half,
            "outlet_area": self.outlet_half,
            "partition_width": width,
            "partition_gap": self.partition_gap,
            "diffuser_height": self.diffuser_height,
            "sill_height": sill - floor,
            "sill_width": self.outlet_width or width,
        }

    def passage(self, at: Conditions, units: float) -> Passage | None:
        """Return the airlift at its air flow; None where no air flow is stated."""
        if self.air is None or self.floor is None:
            return None
        from loopplan.physics.airlift_band import edge_rung

        params = {
            **site_params(at),
            "air": dry_air(self.air),
            "rung": float(edge_rung(EDGES.index(self.edge), self.coverage)),
            **self.geometry(self.floor),
        }
        return Passage("", "airlift shaft", params, units, sources=SHAFT_SOURCES)

    @property
    def running_depth(self) -> float:
        """Water in the inlet half [m] as drawn: the shaft's depth less its dry reserve."""
        return self.depth - self.dry_reserve

    def unplaced(self) -> Iterable[tuple[str, str, str]]:
        """Yield what is missing for a loop whose flow follows from the air."""
        if self.air is not None and self.floor is None:
            yield (
                "floor",
                "an airlift with a stated air flow needs the level of its floor",
                "add `floor: ...`, a level above the farm datum",
            )

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """See :meth:`Detail.refusals`."""
        yield from super().refusals()
        if self.running_depth <= 0.0:
            yield (
                "dry reserve",
                "the dry reserve leaves no depth for water",
                "make the shaft deeper, or the dry reserve less",
            )
            return
        if self.diffuser_height >= self.running_depth:
            yield (
                "diffuser height",
                f"the diffusers stand {self.diffuser_height:g} m above the floor, and "
                f"{self.running_depth:g} m of water stand in the shaft",
                "lay the diffusers deeper, or make the shaft deeper",
            )
        if self.floor is not None and self.outlet_sill is not None:
            sill = self.outlet_sill - self.floor
            if sill >= self.depth:
                yield (
                    "outlet sill",
                    f"the outlet sill stands {sill:g} m above the floor of a shaft that is "
                    f"{self.depth:g} m deep",
                    "lower the sill below the wall top; both are levels above the farm datum",
                )
            elif sill <= self.diffuser_height:
                yield (
                    "outlet sill",
                    f"the outlet sill stands {sill:g} m above the floor, not above the diffusers "
                    f"({self.diffuser_height:g} m)",
                    "raise the sill to just below the running water, or lay the diffusers deeper",
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
    injection_level: float | None = quantity(
        "level", "Level at which air is let in.", unit="m", default=None
    )
    outlet_level: float | None = quantity(
        "level",
        "Upper end of the tube, if water falls freely from it.",
        unit="m",
        default=None,
    )
    discharge: float = quantity(
        "number",
        "Loss coefficient of an elbow or the like at the upper end.",
        unit="",
        default="0",
        source="assumed: a plain end",
        least=0.0,
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

    def geometry(self, injection: float) -> dict[str, float]:
        """Return what the water column takes of the tubes, air let in at `injection` [m]."""
        return {
            "injection_level": injection,
            "outlet_level": _FAR_BELOW if self.outlet_level is None else self.outlet_level,
            "diameter": self.bore,
            "tubes": float(self.tubes),
            "foot_length": self.foot,
            "entry_k": self.entry,
            "discharge_k": self.discharge,
            "roughness": self.roughness,
        }

    def passage(self, at: Conditions, units: float) -> Passage | None:
        """Return the airlift at its air flow; None where no air flow is stated."""
        if self.air is None or self.injection_level is None:
            return None
        params = {
            **site_params(at),
            # At an edge of the band the closure works as it would with so much more, or less, air.
            "air": dry_air(self.air) / TUBE_BAND[EDGES.index(self.edge)],
            **self.geometry(self.injection_level),
        }
        return Passage("", "airlift tube", params, units, sources=TUBE_SOURCES)

    def unplaced(self) -> Iterable[tuple[str, str, str]]:
        """Yield what is missing for a loop whose flow follows from the air."""
        if self.air is not None and self.injection_level is None:
            yield (
                "injection level",
                "an airlift with a stated air flow needs the level at which air is let in",
                "add `injection level: ...`, a level above the farm datum",
            )

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """See :meth:`Detail.refusals`."""
        yield from super().refusals()
        if (
            self.outlet_level is not None
            and self.injection_level is not None
            and self.outlet_level <= self.injection_level
        ):
            yield (
                "outlet level",
                "the tube ends below the place where air is let in",
                "give both as levels above the farm datum",
            )


def site_params(at: Conditions) -> dict[str, float]:
    """Return water and atmosphere as the airlift laws take them."""
    from loopplan.laws.airlift import SITE_FIELDS
    from loopplan.physics.airlift_column import site

    found = site(at.temperature, at.salinity, at.altitude)
    return {name: float(getattr(found, name)) for name in SITE_FIELDS}


def dry_air(free: float) -> float:
    """Return the dry air [kg/s] in a flow of free air [m3/s]."""
    from loopplan.physics.air import STANDARD, dry_mass_flow

    return float(dry_mass_flow(free, STANDARD))
