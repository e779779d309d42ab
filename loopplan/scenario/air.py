"""The section `air supply`: headers by name, each with its blowers, its pipe and its users."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, ClassVar, Literal

from pydantic import field_validator

from loopplan.declare import Declared, Detail, Element, as_written, quantity, sub, word
from loopplan.elements._fittings import check_fittings
from loopplan.lifts.airlift import AIR_STATE
from loopplan.lifts.lift import Airlift
from loopplan.lifts.pumps import Motor

_PRACTICE = "common practice, no source"

_Said = tuple[str, str, str]
"""Field, message, cure."""


class Blower(Detail):
    """The blowers of one header: all alike, some running and some standing by."""

    class_: Literal["rotary lobe", "rotary screw", "side channel", "turbo"] = word(
        "Class of the blowers.", default="rotary lobe", source=_PRACTICE
    )
    air: float = quantity(
        "flow",
        f"Air that one blower gives at full speed and rated pressure ({AIR_STATE}).",
        unit="m3/h",
        above=0.0,
    )
    rated_pressure: float = quantity(
        "pressure",
        "Pressure rise that it may be run at; no relief valve may be set above it.",
        unit="kPa",
        above=0.0,
        most=4e5,
    )
    running: int = quantity(
        "count", "Blowers that run.", unit="", default="1", source="one blower", most=100.0
    )
    standby: float = quantity(
        "number",
        "Blowers that stand by, piped and wired; 0 for none.",
        unit="",
        default="1",
        source="common practice, no source: one more than is needed",
        least=0.0,
        most=100.0,
    )
    speed: float | None = quantity(
        "share",
        "Speed, as a share of full speed; set for the stated air of the users if none is stated.",
        unit="%",
        default=None,
        above=0.0,
        most=1.2,
    )
    least_speed: float | None = quantity(
        "share",
        "Least speed that its maker allows; that of its class if none is stated.",
        unit="%",
        default=None,
        above=0.0,
        most=1.0,
    )
    slip: float = quantity(
        "share",
        "Share of the swept volume that slips back at rated pressure (lobes and screws).",
        unit="%",
        default="15 %",
        source="common practice, no source: 10 to 20 % of rotary lobes",
        least=0.0,
        most=0.5,
    )
    efficiency: float | None = quantity(
        "share",
        "Lossless adiabatic power over power taken; the range of its class if none is stated.",
        unit="%",
        default=None,
        above=0.0,
        most=1.0,
    )
    stands: Literal["near", "far"] = word(
        "Whether they stand near or far: a rule of practice adds 0.5 or 1.0 m of water.",
        default="near",
        source=_PRACTICE,
    )
    inlet_temperature: float = quantity(
        "temperature",
        "Temperature of the air drawn in, on a warm day.",
        unit="degC",
        default="30 degC",
        source="assumed: a warm day in a blower room",
        least=-40.0,
        most=60.0,
    )
    inlet_humidity: float = quantity(
        "share",
        "Relative humidity of the air drawn in.",
        unit="%",
        default="60 %",
        source="assumed",
        least=0.0,
        most=1.0,
    )
    filter_loss: float = quantity(
        "pressure",
        "Pressure lost in intake filter and silencer.",
        unit="kPa",
        default="1 kPa",
        source=_PRACTICE,
        least=0.0,
        most=2e4,
    )
    relief_valve: Literal["yes", "no"] | None = word(
        "Whether each blower has a relief valve of its own.", default=None
    )
    check_valve: Literal["yes", "no"] | None = word(
        "Whether each blower has a check valve (non-return valve) of its own.", default=None
    )
    motor: Motor = sub("Motor of one blower.", default=Motor.model_validate({}))
    word: ClassVar[str] = "blower"
    title: ClassVar[str] = "blowers of one header, all alike"

    @property
    def whole_standby(self) -> int:
        """Blowers that stand by."""
        return int(self.standby)

    def refusals(self) -> Iterable[_Said]:
        """Blowers are whole; a converter gives no more than a motor's frequency allows."""
        if self.standby != int(self.standby):
            yield "standby", "a part of a blower cannot stand by", "give a whole number"


class AirLine(Detail):
    """A round pipe that air goes through."""

    diameter: float | None = quantity(
        "length", "Inside diameter; or give `size`.", unit="mm", default=None, above=0.0, most=1.5
    )
    size: str | None = word(
        "Name in the trade that tells the bore: `steel 168.3 x 4.5`, `PE 160 SDR 17`.",
        default=None,
    )
    length: float = quantity("length", "Length of the pipe.", unit="m", least=0.0)
    fittings: dict[str, int] = sub("Fittings of the pipe and how many of each.", default={})
    roughness: float = quantity(
        "length",
        "Wall roughness.",
        unit="mm",
        default="0.1 mm",
        source="common practice, no source: steel, a little rust",
        least=0.0,
    )
    material: Literal["steel", "stainless steel", "PVC-U", "PE", "PP", "ABS", "GRP"] = word(
        "What the pipe is made of.", default="steel", source="assumed: metal"
    )
    rated_temperature: float | None = quantity(
        "temperature",
        "Temperature up to which its maker allows it for air under pressure.",
        unit="degC",
        default=None,
        least=0.0,
        most=400.0,
    )
    rise: float | None = quantity(
        "length",
        "Highest point of the pipe above the highest water that it is joined to.",
        unit="m",
        default=None,
    )
    word: ClassVar[str] = "air pipe"
    title: ClassVar[str] = "round pipe that air goes through"

    @field_validator("fittings", mode="before")
    @classmethod
    def _known_fittings(cls, value: Any) -> Any:
        return check_fittings(value)

    @property
    def bore(self) -> float:
        """Inside diameter [m].

        Raises ValueError where none is given; such a file is refused.
        """
        if self.diameter is not None:
            return self.diameter
        if self.size is None:
            raise ValueError("the bore of the air pipe is not told")
        from loopplan.physics.pipe_sizes import pipe_size

        return pipe_size(self.size).bore

    def refusals(self) -> Iterable[_Said]:
        """A bore told once, of a size that is made."""
        if (self.diameter is None) == (self.size is None):
            said = "missing" if self.size is None else "given twice"
            yield "diameter", f"the bore of the air pipe is {said}", "give `diameter` or `size`"
        elif self.size is not None:
            from loopplan.physics.pipe_sizes import UnknownSize, pipe_size

            try:
                pipe_size(self.size)
            except UnknownSize as error:
                yield "size", str(error), error.cure


class AirUser(Detail):
    """What takes air from a header; it goes by the name of an element, or by a word of its own."""

    air: float | None = quantity(
        "flow",
        f"Air that all units of it are to get ({AIR_STATE}); an airlift has it of its own.",
        unit="m3/h",
        default=None,
        above=0.0,
    )
    depth: float | None = quantity(
        "length",
        "Water above the outlets of air, in the first duty state; an airlift has it of its own.",
        unit="m",
        default=None,
        least=0.0,
        most=100.0,
    )
    level: float | None = quantity(
        "level",
        "Level of the outlets of air, in place of the depth: the water above them is solved.",
        unit="m",
        default=None,
    )
    diffuser_loss: float | None = quantity(
        "pressure",
        "Pressure that its diffusers lose at the stated air; an airlift has it of its own.",
        unit="kPa",
        default=None,
        least=0.0,
    )
    loss_exponent: float = quantity(
        "number",
        "Power of the air flow that this loss goes with: 2 for holes, towards 1 for fine pores.",
        unit="",
        default="2",
        source="holes as orifices; closed form",
        least=1.0,
        most=2.0,
    )
    valve_loss: float | None = quantity(
        "pressure",
        "Pressure that its valve loses at the stated air; 0 kPa for an open one. Without it the "
        "valve is set so that the user gets its stated air in the first state that it is on.",
        unit="kPa",
        default=None,
        least=0.0,
    )
    branch: AirLine | None = sub("Its own pipe, from the header on.", default=None)
    takes_air: Literal["always", "at times"] = word(
        "Whether it takes air all the time, or is turned on now and then (an air wash).",
        default="always",
        source="assumed: all the time",
    )
    in_states: list[str] = sub("Duty states in which it takes air, if not in all.", default=[])
    word: ClassVar[str] = "air user"
    title: ClassVar[str] = "what takes air from a header: an airlift, an aerated bed, an air wash"

    def refusals(self) -> Iterable[_Said]:
        """Depth and level do not go together, nor two ways of saying when."""
        if self.depth is not None and self.level is not None:
            yield "level", "the outlets of air are placed twice", "give `depth` or `level`"
        if self.takes_air == "at times" and self.in_states:
            yield (
                "in states",
                "it is said twice when the user takes air",
                "give `in states`, or `takes air: at times` for a state of its own",
            )


class AirHeader(Declared):
    """One header: a pipe of one pressure, fed by like blowers."""

    blower: Blower = sub("The blowers that feed it.")
    main_pipe: AirLine | None = sub(
        "Pipe from the blowers to where the branches leave.", default=None
    )
    users: dict[str, AirUser] = sub("What takes air from it, by name.")


def air_refusals(
    headers: Mapping[str, AirHeader], elements: Mapping[str, Element], states: Iterable[str]
) -> Iterable[tuple[tuple[str, ...], str, str]]:
    """Yield (path in the file, message, cure) of what cannot be built as declared."""
    known = tuple(states)
    first: dict[str, str] = {}
    for name, header in headers.items():
        at = ("air supply", name)
        parts: list[tuple[tuple[str, ...], Detail | None]] = [
            (("blower",), header.blower),
            (("main pipe",), header.main_pipe),
        ]
        for user, entry in header.users.items():
            parts += [(("users", user), entry), (("users", user, "branch"), entry.branch)]
        for path, part in parts:
            for key, message, cure in part.refusals() if part is not None else ():
                yield (*at, *path, key), message, cure
        if not header.users:
            yield (*at, "users"), "nothing takes air from this header", "name its users"
        elif known and not any(_is_on(user, known[0]) for user in header.users.values()):
            yield (
                (*at, "users"),
                f"no user of this header takes air in the first duty state, `{known[0]}`",
                "let one be on in it: the blowers are set there",
            )
        for user, entry in header.users.items():
            if user in first:
                yield (
                    (*at, "users", user),
                    f"`{user}` takes air from `{first[user]}` already",
                    "let each user hang on one header",
                )
            first.setdefault(user, name)
            for where, message, cure in _user(user, entry, elements.get(user), known):
                yield (*at, "users", user, *where), message, cure


def _is_on(user: AirUser, state: str) -> bool:
    return user.takes_air == "always" and (not user.in_states or state in user.in_states)


def _user(
    name: str, user: AirUser, element: Element | None, states: tuple[str, ...]
) -> Iterable[tuple[tuple[str, ...], str, str]]:
    airlift: Airlift | None = getattr(element, "airlift", None)
    if airlift is None and element is not None and element.role == "lift":
        yield (
            (),
            f"`{name}` is a lift, and no airlift is drawn for it",
            "add `airlift: ...` to the lift: its depth and its diffusers",
        )
        return
    if user.air is None and (airlift is None or airlift.air is None):
        yield (), "it is not said how much air this user takes", "add `air: ... m3/h`"
    if user.air is not None and airlift is not None and airlift.air is not None:
        message = "the air is stated twice, here and by the airlift"
        yield ("air",), message, "keep one of them"
    for key in ("depth", "level", "diffuser_loss"):
        if airlift is not None and getattr(user, key) is not None:
            message = f"`{as_written(key)}` is known from the airlift as drawn"
            yield (as_written(key),), message, "leave it out here"
    if airlift is None:
        if user.depth is None and user.level is None:
            yield (), "it is not said how deep the air goes in", "add `depth: ... m`"
        if user.level is not None and element is None:
            yield (
                ("level",),
                f"`{name}` is no element, so that the water above this level is not known",
                "give `depth`, or the name of an element",
            )
    loss = user.diffuser_loss if airlift is None else airlift.diffuser_loss
    if loss == 0.0 and user.branch is None and not user.valve_loss:
        yield (
            (),
            "this user has no loss at all: nothing would limit its air",
            "give its `branch` or its diffusers' loss",
        )
    for state in user.in_states:
        if state not in states:
            there = ", ".join(states)
            yield ("in states",), f"`{state}` is not a duty state", f"there are: {there}"


def supply_assumed(headers: Mapping[str, AirHeader]) -> Iterable[tuple[str, str, str, str]]:
    """Yield (header, field, value, source) of each default in use."""
    for name, header in headers.items():
        for field, value, source in header.assumed():
            yield name, field, value, source
        for user, entry in header.users.items():
            for field, value, source in entry.assumed():
                yield name, f"{user}.{field}", value, source
