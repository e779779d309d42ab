"""One header at work: speed of its blowers, setting of its valves, and how the air divides.

Users stand on the first axis of all arrays, cases (duty states and what is asked besides) on the
last. Free air is told at 20 degC and 101.325 kPa. Case 0 is the first duty state: speed and valves
are set in it, so that each user that is on gets its stated air; a user that is on in other cases
only has its valve set in the first of those.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopplan.physics._check import Array, Flags, Numbers
from loopplan.physics.air import (
    GAS_CONSTANT_DRY,
    KELVIN,
    STANDARD,
    AirState,
    convert_flow,
    dry_density,
)
from loopplan.physics.air_pipes import AirPipe, pressure_before
from loopplan.physics.air_split import (
    AirSplit,
    AirUsers,
    Supply,
    diffuser_coefficient,
    split_air,
)
from loopplan.physics.blowers import (
    DisplacementBlower,
    delivery_temperature,
    displacement_flow,
    displacement_speed,
)

_SHUT = 1e9
"""Back-pressure [Pa] of a user that is shut off: its valve holds against any header."""

_HOTTEST = 200.0
"""Temperature [degC] up to which the viscosity of air is known."""

_MOST_RISE = 5e5


@dataclass(frozen=True)
class UserSizes:
    """What a user is made of.

    Attributes:
        name: its name.
        air: stated free air of all its units [m3/s].
        diffuser_loss: pressure that its diffusers lose there [Pa].
        exponent: power of the flow that this goes with [-].
        branch: its pipe, valve not counted.
        valve_loss: pressure that its valve loses at the stated air [Pa]; None for a valve that
            is set.
    """

    name: str
    air: float
    diffuser_loss: float
    exponent: float
    branch: AirPipe
    valve_loss: float | None


@dataclass(frozen=True)
class HeaderSizes:
    """What a header is made of.

    Attributes:
        name: its name.
        users: its users.
        main: pipe from the blowers; None without one.
        blower: one blower; slip is 0 for a class that displaces no volume.
        speed: stated share of full speed [-]; None if it is set for the users.
        inlet: state of the air at the blower's inlet, behind its filter.
        efficiency: lossless adiabatic over shaft power [-], in the middle of the class.
    """

    name: str
    users: tuple[UserSizes, ...]
    main: AirPipe | None
    blower: DisplacementBlower
    speed: float | None
    inlet: AirState
    efficiency: float


@dataclass(frozen=True)
class HeaderAtWork:
    """A header in all cases.

    Attributes:
        speed: share of full speed that the blowers run at [-]: as stated, or what is asked for, up
            to full speed.
        speed_asked: share of full speed that the stated air of the users asks for [-].
        split: how the air divides.
        losses: pressure that diffusers, branch pipes and valves lose (3, users, cases) [Pa].
        temperature: temperature of the air behind the blowers [degC].
    """

    speed: float
    speed_asked: float
    split: AirSplit
    losses: Array
    temperature: Array


def loss_number(mass_flow: Numbers, before: Numbers, after: Numbers, pipe: AirPipe) -> Array:
    """K of friction, fittings and valve between two pressures, closed form of isothermal flow.

    `mass_flow` of dry air [kg/s], above 0; absolute pressures `before` and `after` [Pa].
    """
    flux = np.asarray(mass_flow) / (np.pi / 4.0 * np.asarray(pipe.bore) ** 2)
    heat = GAS_CONSTANT_DRY * (np.asarray(pipe.temperature) + KELVIN)
    high, low = np.asarray(before, dtype=np.float64), np.asarray(after, dtype=np.float64)
    return np.asarray((high**2 - low**2) / (flux**2 * heat) - 2.0 * np.log(high / low))


def valve_setting(mass_flow: float, header: float, after: float, pipe: AirPipe) -> float:
    """K of a valve that lets `mass_flow` [kg/s] through, 0 if even an open one lets less.

    From the absolute pressure of the `header` [Pa] to that `after` the branch [Pa].
    """
    open_ = float(pressure_before(mass_flow, after, pipe))
    if header <= open_:
        return 0.0
    spare = loss_number(mass_flow, header, after, pipe) - loss_number(mass_flow, open_, after, pipe)
    return float(spare)


def at_work(
    header: HeaderSizes, back: Array, on: Flags, running: Array, temperature: Array
) -> HeaderAtWork:
    """Set speed and valves of a header and divide its air.

    Args:
        header: the header.
        back: absolute pressure of the water at the outlets of air (users, cases) [Pa].
        on: whether a user takes air (users, cases).
        running: blowers that run (cases) [-], 1 and up.
        temperature: temperature of the air in the pipes (cases) [degC].

    A case in which nobody takes air has no flow, and no pressure (not a number). Raises
    ValueError where no air comes out anywhere.
    """
    live = on.any(axis=0)
    hot = np.minimum(temperature, _HOTTEST)
    found = _Work(header, back[:, live], on[:, live], running[live], hot[live]).result()
    if live.all():
        return found
    rest = float(header.inlet.temperature)

    def spread(values: Array, still: float) -> Array:
        wide = np.full((*values.shape[:-1], live.size), still)
        wide[..., live] = values
        return wide

    split = AirSplit(
        spread(found.split.flow, 0.0),
        spread(found.split.header_pressure, np.nan),
        spread(found.split.delivery_pressure, np.nan),
        spread(found.split.total, 0.0),
    )
    losses, temperature = spread(found.losses, 0.0), spread(found.temperature, rest)
    return replace(found, split=split, losses=losses, temperature=temperature)


class _Work:
    def __init__(
        self, header: HeaderSizes, back: Array, on: Flags, running: Array, temperature: Array
    ) -> None:
        self.header, self.back, self.on, self.running = header, back, on, running
        self.temperature = temperature
        users = header.users
        self.air = np.array([u.air for u in users])
        self.exponent = np.array([u.exponent for u in users])
        self.diffuser = np.asarray(
            diffuser_coefficient(
                np.array([u.diffuser_loss for u in users]), self.air, self.exponent
            )
        )
        self.mass = self.air * dry_density(STANDARD)
        self.valve = np.full(len(users), np.nan)

    def pipe(self, user: int, case: int, valve: float = 0.0) -> AirPipe:
        """Branch of one user in one case."""
        pipe = self.header.users[user].branch
        temperature = float(self.temperature[case])
        return replace(pipe, temperature=temperature, fittings_k=pipe.fittings_k + valve)

    def main(self, cases: Sequence[int] | slice) -> AirPipe | None:
        """Main pipe in some cases."""
        pipe = self.header.main
        return None if pipe is None else replace(pipe, temperature=self.temperature[cases])

    def after_branch(self, user: int, case: int) -> float:
        """Pressure behind a user's branch at its stated air [Pa]."""
        loss = self.diffuser[user] * self.air[user] ** self.exponent[user]
        return float(self.back[user, case] + loss)

    def users(self, which: Sequence[int], cases: Sequence[int] | slice) -> AirUsers:
        """Users as the split takes them; one that is off is shut."""
        rows = list(which)
        sizes = [self.header.users[i].branch for i in rows]

        def column(values: Sequence[Numbers] | Array) -> Array:
            return np.array(values, dtype=np.float64)[:, None]

        branch = AirPipe(
            column([p.bore for p in sizes]),
            column([p.length for p in sizes]),
            column([p.roughness for p in sizes]),
            column([p.fittings_k + self.valve[i] for p, i in zip(sizes, rows, strict=True)]),
            self.temperature[cases][None, :],
        )
        back = np.where(self.on, self.back, _SHUT)[rows][:, cases]
        return AirUsers(back, column(self.diffuser[rows]), column(self.exponent[rows]), branch)

    def supply(self, speed: float, cases: Sequence[int] | slice) -> Supply:
        """Free air that the running blowers give at a delivery pressure [m3/s]."""
        running = self.running[cases]
        inlet = self.header.inlet

        def free(delivery: Array) -> Array:
            rise = np.clip(delivery - inlet.pressure, 0.0, _MOST_RISE)
            drawn = running * displacement_flow(self.header.blower, rise, speed)
            return convert_flow(drawn, inlet, STANDARD)

        return free

    def set_first(self) -> tuple[float, float]:
        """Set the valves of who is on in case 0; return speed, and speed asked for."""
        for i, user in enumerate(self.header.users):
            if user.valve_loss is not None:
                self._set(i, 0, self._needed(i) + user.valve_loss)
        on = [i for i in range(self.air.size) if self.on[i, 0]]
        need = max(self._needed(i) for i in on)
        for i in on:
            if np.isnan(self.valve[i]):
                self._set(i, 0, need)
        asked = self._speed(float(self.air[on].sum()), need)
        return (min(asked, 1.0) if self.header.speed is None else self.header.speed), asked

    def _needed(self, user: int) -> float:
        """Header pressure at which a user gets its stated air in case 0 [Pa].

        With its valve as it is set, open while it is not.
        """
        valve = 0.0 if np.isnan(self.valve[user]) else float(self.valve[user])
        after = self.after_branch(user, 0)
        return float(pressure_before(self.mass[user], after, self.pipe(user, 0, valve)))

    def _set(self, user: int, case: int, header: float) -> None:
        """Set a valve so that a header pressure [Pa] gives the stated air in a case."""
        mass, after = float(self.mass[user]), self.after_branch(user, case)
        self.valve[user] = valve_setting(mass, header, after, self.pipe(user, case))

    def _speed(self, free: float, header: float) -> float:
        """Speed at which the blowers of case 0 give a flow of free air."""
        main = self.main([0])
        mass = np.array([free * float(dry_density(STANDARD))])
        delivery = header if main is None else float(pressure_before(mass, header, main)[0])
        drawn = convert_flow(free, STANDARD, self.header.inlet) / self.running[0]
        rise = min(max(delivery - float(self.header.inlet.pressure), 0.0), _MOST_RISE)
        return float(displacement_speed(self.header.blower, drawn, rise))

    def set_later(self, speed: float) -> None:
        """Set the valves of those that are on in other cases only, in the first of those."""
        for case in range(1, self.on.shape[1]):
            on = [int(i) for i in np.flatnonzero(self.on[:, case])]
            late = [i for i in on if np.isnan(self.valve[i])]
            if not late:
                continue
            others = [i for i in on if i not in late]
            header = self._header_beside(others, case, speed, float(self.air[late].sum()))
            for i in late:
                if header is None:
                    self.valve[i] = 0.0
                else:
                    self._set(i, case, header)
        # One that is on in no case is as good as shut.
        self.valve = np.where(np.isnan(self.valve), 0.0, self.valve)

    def _header_beside(
        self, others: Sequence[int], case: int, speed: float, taken: float
    ) -> float | None:
        """Header pressure at which others take what `taken` [m3/s] leaves of the air [Pa].

        None where nobody else is on, or where nothing is left: then a valve stands open.
        """
        if not others:
            return None
        supply, main = self.supply(speed, [case]), self.main([case])

        def left(header: Array) -> Array:
            total = supply(header)
            for _ in range(_ROUNDS):
                mass = total * dry_density(STANDARD)
                total = supply(header if main is None else pressure_before(mass, header, main))
            return np.asarray(total - taken)

        try:
            found = split_air(self.users(others, [case]), left)
        except ValueError:
            return None
        return float(found.header_pressure[0])

    def result(self) -> HeaderAtWork:
        speed, asked = self.set_first()
        self.set_later(speed)
        every = slice(None)
        rows = range(self.air.size)
        users = self.users(rows, every)
        split = split_air(users, self.supply(speed, every), self.main(every))
        temperature = delivery_temperature(
            self.header.inlet.temperature,
            self.header.inlet.pressure,
            np.maximum(split.delivery_pressure, self.header.inlet.pressure),
            self.header.efficiency,
        )
        losses = self._losses(users, split)
        return HeaderAtWork(speed, asked, split, losses, temperature)

    def _losses(self, users: AirUsers, split: AirSplit) -> Array:
        flow = split.flow
        mass = flow * dry_density(STANDARD)
        diffuser = users.diffuser_k * flow**users.diffuser_exponent
        behind = np.where(self.on, self.back, 1e5) + diffuser
        bare = replace(users.branch, fittings_k=users.branch.fittings_k - self.valve[:, None])
        pipe = pressure_before(mass, behind, bare) - behind
        both = pressure_before(mass, behind, users.branch) - behind
        return np.stack([diffuser, pipe, both - pipe])


_ROUNDS = 6
"""Rounds in which supply and loss of the main pipe agree; slip ties them but loosely."""
