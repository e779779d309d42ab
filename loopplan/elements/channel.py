"""Open channel: the water surface along it is computed, not assumed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Literal

from loopplan.declare import Conditions, Element, Ends, Part, Passage, Seen, quantity, word
from loopplan.findings import Finding, find


class ChannelFields(Element):
    """What every channel is described by: one section, one slope."""

    length: float = quantity("length", "Length.", unit="m", above=0.0)
    width: float | None = quantity(
        "length", "Bottom width; not for a circular section.", unit="m", default=None, least=0.0
    )
    side_slope: float = quantity(
        "number",
        "Horizontal run of the sides for one of rise.",
        unit="",
        default="0",
        source="upright walls",
        least=0.0,
        most=10.0,
    )
    diameter: float | None = quantity(
        "length", "Inside diameter of a circular section.", unit="m", default=None, above=0.0
    )
    floor_up: float = quantity("level", "Level of the floor at the upstream end.", unit="m")
    floor_down: float = quantity("level", "Level of the floor at the downstream end.", unit="m")
    wall_top: float | None = quantity(
        "level", "Level of the wall top; not for a circular section.", unit="m", default=None
    )
    manning: float = quantity(
        "number",
        "Manning's n of the wall when clean [s/m^(1/3)].",
        unit="",
        default="0.013",
        source="trowelled concrete, Chow 1959 table 5-6, from memory",
        least=0.005,
        most=0.2,
    )
    manning_fouled: float = quantity(
        "number",
        "Manning's n of the wall when fouled [s/m^(1/3)].",
        unit="",
        default="0.015",
        source="finished concrete at its roughest, Chow 1959 table 5-6, from memory",
        least=0.005,
        most=0.2,
    )
    chezy: float | None = quantity(
        "number", "Chezy coefficient [m^0.5/s], if it is stated.", unit="", default=None, above=0.0
    )
    k: float = quantity(
        "number",
        "Local loss coefficient of bends and gates, spread over the length.",
        unit="",
        default="0",
        source="no bend stated",
        least=0.0,
    )
    entrance_k: float = quantity(
        "number",
        "Loss coefficient where water enters from a basin.",
        unit="",
        default="0.5",
        source="square-edged entrance; textbook value, from memory",
        least=0.0,
        most=2.0,
    )
    end: Literal["to level", "free"] = word(
        "Whether the end meets the level below it or drops freely.",
        default="to level",
        source="the level below is met; a brink forms by itself where it is low",
    )
    symbol: ClassVar[str] = "channel"

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """One channel."""
        params = {
            "width": self.width or 0.0,
            "side_slope": self.side_slope,
            "diameter": self.diameter or 0.0,
            "length": self.length,
            "floor_up": self.floor_up,
            "floor_down": self.floor_down,
            "chezy": self.chezy or 0.0,
            "manning": self.manning_fouled if at.fouled else self.manning,
            "k": self.k,
            "entrance_k": self.entrance_k if ends.from_basin else 0.0,
            "from_basin": float(ends.from_basin),
            "to_basin": float(ends.to_basin),
            "free_end": float(self.end == "free"),
            "thrust_up": 0.0,
            "thrust_down": 0.0,
        }
        friction = "chezy" if self.chezy else "manning"
        return [
            Passage("", "channel", params, float(self.count), sources=("standard-step", friction))
        ]

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A section must be stated, once."""
        if (self.width is None) == (self.diameter is None):
            yield (
                "width",
                "a channel needs one section: a bottom width, or a diameter",
                "give `width` (rectangular, trapezoidal) or `diameter` (circular)",
            )
        if self.width == 0.0 and self.side_slope == 0.0:
            yield "width", "a channel without width and side slope has no area", "give a width"
        highest = max(self.floor_up, self.floor_down)
        if self.wall_top is not None and self.wall_top <= highest:
            yield (
                "wall top",
                f"the wall top ({self.wall_top:.3f} m) is not above the floor ({highest:.3f} m)",
                "give both as levels above the farm datum",
            )

    def reach_words(self, part: str) -> str:
        """Name a part of the channel for a reader, "" if it is all one."""
        return part

    def _of(self, seen: Seen) -> str:
        """Which reach is meant, if there are several."""
        words = self.reach_words(seen.part.name)
        return f" of {words}" if words else ""

    def _narrower(self, seen: Seen, speed: float, least: float) -> str:
        """What reaching the least velocity by width would cost."""
        # At the same depth velocity goes with 1/width, friction with its square and a bit.
        ratio = least / speed
        loss = seen.head_up - seen.head_down
        cost = max(loss, 0.0) * (ratio**2 - 1.0)
        width = (self.width or self.diameter or 0.0) / ratio
        cost_mm = 1000.0 * cost
        reached = f"there {width:.2f} m of width would reach {least:.2f} m/s"
        return f"{reached} and cost about {cost_mm:.1f} mm"

    def _wider(self, seen: Seen, speed: float, most: float) -> str:
        """What coming down to the greatest velocity by width would save."""
        ratio = speed / most
        saved = max(seen.head_up - seen.head_down, 0.0) * (1.0 - 1.0 / ratio**2)
        width = (self.width or self.diameter or 0.0) * ratio
        reached = f"there {width:.2f} m of width would come down to it"
        return f"{reached} and save about {1000 * saved:.1f} mm"

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Velocity, critical flow, freeboard and filling."""
        speed = abs(seen.velocity or 0.0)
        low, high = limits.channel_velocity_low, limits.channel_velocity_high
        if 0.0 < speed < low:
            yield find(
                "velocity-low",
                seen.element,
                state=seen.state,
                value=speed,
                limit=low,
                unit="m/s",
                message=f"{speed:.3f} m/s at the deeper end{self._of(seen)}, solids settle; "
                + self._narrower(seen, speed, low),
            )
        elif speed > high:
            yield find(
                "velocity-high",
                seen.element,
                state=seen.state,
                value=speed,
                limit=high,
                unit="m/s",
                message=f"{speed:.2f} m/s{self._of(seen)}; " + self._wider(seen, speed, high),
            )
        if seen.extra.get("critical") and self.end != "free":
            yield find(
                "channel-critical",
                seen.element,
                state=seen.state,
                value=seen.extra.get("critical_depth"),
                unit="m",
                message="the flow passes through critical depth: the level below no longer "
                f"reaches up, and {seen.extra.get('fall', 0.0):.3f} m falls at the end",
            )
        if self.wall_top is not None:
            board = self.wall_top - seen.level_up
            if board < 0.0:
                yield find(
                    "channel-overtops",
                    seen.element,
                    state=seen.state,
                    value=seen.level_up,
                    limit=self.wall_top,
                    unit="m",
                    message=f"the level would stand {-board:.3f} m above the wall top",
                )
            elif board < limits.freeboard:
                yield find(
                    "freeboard-short",
                    seen.element,
                    state=seen.state,
                    value=board,
                    limit=limits.freeboard,
                    unit="m",
                    message=f"freeboard is {board:.3f} m, {limits.freeboard - board:.3f} m short",
                )
        if self.diameter is not None and seen.level_up > self.floor_up + 0.95 * self.diameter:
            yield find(
                "channel-overtops",
                seen.element,
                state=seen.state,
                value=seen.level_up,
                limit=self.floor_up + 0.95 * self.diameter,
                unit="m",
                message="the circular channel runs full; describe it as a pipe",
            )


class Channel(ChannelFields):
    """A channel of one section and slope; rectangular, trapezoidal or circular."""

    kind: Literal["channel"]
    title: ClassVar[str] = "open channel; the water surface along it is computed"
