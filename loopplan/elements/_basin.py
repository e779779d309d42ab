"""What all basins share: a floor, a wall top, inlets and outlets of their own."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, ClassVar

from pydantic import Discriminator, Tag

from loopplan.declare import (
    Basin,
    Conditions,
    Element,
    Ends,
    Part,
    Passage,
    Seen,
    kind_of,
    quantity,
    sub,
)
from loopplan.elements.nozzles import Nozzles
from loopplan.elements.opening import Opening
from loopplan.elements.pipe import Pipe
from loopplan.elements.weir import Weir
from loopplan.findings import Finding, find

Port = Annotated[
    Annotated[Weir, Tag("weir")]
    | Annotated[Opening, Tag("opening")]
    | Annotated[Pipe, Tag("pipe")]
    | Annotated[Nozzles, Tag("nozzles")],
    Discriminator(kind_of),
]
"""What a tank's own inlet or outlet can be."""


class BasinElement(Element):
    """Base of kinds with one free surface and at most one passage on either side."""

    floor: float = quantity("level", "Level of the floor.", unit="m")
    wall_top: float = quantity("level", "Level of the wall top.", unit="m")
    inlet: Port | None = sub("The basin's own inlet, one to each unit.", default=None)
    outlet: Port | None = sub("The basin's own outlet, one to each unit.", default=None)

    role: ClassVar[str] = "basin"
    symbol: ClassVar[str] = "basin"
    fish: ClassVar[bool] = False
    shared: ClassVar[bool] = True

    def plan_area(self) -> float:
        """Return the plan area of one unit [m2]."""
        raise NotImplementedError

    def parts(self, at: Conditions, ends: Ends) -> list[Part]:
        """Inlet, basin, outlet."""
        chain: list[Part] = []
        if self.inlet is not None:
            chain += self._port("inlet", self.inlet, at, Ends(ends.from_basin, True))
        chain.append(Basin("", self.floor, self.wall_top, self.plan_area(), float(self.count)))
        if self.outlet is not None:
            chain += self._port("outlet", self.outlet, at, Ends(True, ends.to_basin))
        return chain

    def sill_tolerance(self) -> float | None:
        """That of its outlet: see :meth:`Element.sill_tolerance`."""
        return None if self.outlet is None else self.outlet.sill_tolerance()

    def states_tolerance(self) -> bool:
        """That of its outlet: see :meth:`Element.states_tolerance`."""
        return self.outlet is not None and self.outlet.states_tolerance()

    def with_sill_raised(self, by: float) -> Element:
        """The sill of its outlet: see :meth:`Element.with_sill_raised`."""
        if self.outlet is None:
            return self
        return self.model_copy(update={"outlet": self.outlet.with_sill_raised(by)})

    def _port(self, name: str, port: Element, at: Conditions, ends: Ends) -> list[Part]:
        named: list[Part] = []
        for part in port.parts(at, ends):
            assert isinstance(part, Passage)
            units = part.units * self.count
            named.append(
                Passage(
                    name,
                    part.law,
                    part.params,
                    units,
                    part.useful,
                    part.pressure,
                    part.sources,
                    part.notes,
                )
            )
        return named

    def refusals(self) -> Iterable[tuple[str, str, str]]:
        """A floor above the wall; a sill or an opening outside floor and wall."""
        if self.wall_top <= self.floor:
            yield (
                "wall top",
                f"the wall top ({self.wall_top:.3f} m) is not above the floor ({self.floor:.3f} m)",
                "give both as levels above the farm datum",
            )
            return
        for name in ("inlet", "outlet"):
            port = getattr(self, name)
            if port is None:
                continue
            yield from ((f"{name}.{k}", m, c) for k, m, c in port.refusals())
            sill = getattr(port, "crest", None)
            if sill is None:
                sill = getattr(port, "invert", None)
            if sill is not None and name == "outlet" and sill >= self.wall_top:
                yield (
                    name,
                    f"the sill ({sill:.3f} m) stands above the wall top "
                    f"({self.wall_top:.3f} m): the basin would run over first",
                    "lower the sill or raise the wall",
                )

    def checks(self, seen: Seen, limits: Any) -> Iterable[Finding]:
        """Freeboard, overtopping and running dry."""
        part = seen.part
        if not isinstance(part, Basin):
            name = part.name
            port = self.inlet if name == "inlet" else self.outlet
            if port is not None:
                yield from port.checks(seen, limits)
            return
        yield from board_checks(
            seen, part, limits.tank_freeboard if self.fish else limits.freeboard
        )


def board_checks(seen: Seen, part: Basin, least: float) -> Iterable[Finding]:
    """Yield findings on a basin's freeboard, of which `least` [m] is due, and on its floor."""
    board = part.wall_top - seen.level_up
    if board < 0.0:
        yield find(
            "level-above-wall",
            seen.element,
            state=seen.state,
            value=seen.level_up,
            limit=part.wall_top,
            unit="m",
            message=f"the level would stand {-board:.3f} m above the wall top",
        )
    elif board < least:
        yield find(
            "freeboard-short",
            seen.element,
            state=seen.state,
            value=board,
            limit=least,
            unit="m",
            message=f"freeboard is {board:.3f} m, {least - board:.3f} m short",
        )
    if seen.level_up <= part.floor:
        yield find(
            "basin-dry",
            seen.element,
            state=seen.state,
            value=seen.level_up,
            limit=part.floor,
            unit="m",
            message="the level falls to the floor or below it",
        )
