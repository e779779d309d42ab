"""The array core of the airlifts against a scalar one that shares no code with it."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest

from loopplan.physics.airlift_column import Site, site
from loopplan.physics.airlift_practice import practice_shaft
from loopplan.physics.airlift_shaft import Shaft
from loopplan.physics.airlift_solve import greatest_lift, least_air, water_moved
from loopplan.physics.airlift_tube import Tubes
from loopplan.physics.two_phase_ladder import graded
from loopplan.physics.two_phase_tubes import tube
from tests.referee import airlift as referee


def numbers(place: Site) -> referee.Water:
    """The referee takes the properties of water as numbers; its laws are its own."""
    return referee.Water(
        float(place.temperature), float(place.water_density), float(place.viscosity),
        float(place.surface_tension), float(place.vapour_pressure), float(place.atmosphere),
    )  # fmt: skip


def sizes(shaft: Shaft, lift: float) -> referee.ShaftSizes:
    return referee.ShaftSizes(
        float(shaft.inlet_level), float(shaft.inlet_area), float(shaft.outlet_area),
        float(shaft.partition_width), float(shaft.partition_gap), float(shaft.diffuser_height),
        float(shaft.sill_height), lift,
    )  # fmt: skip


@pytest.mark.parametrize("rung", [0.0, 0.4, 1.0, 2.0, 2.5, 3.0])
@pytest.mark.parametrize(("area", "lift"), [(0.5, 0.5), (2.0, 0.3), (16.0, 0.2)])
def test_shaft_both_ways(rung: float, area: float, lift: float) -> None:
    place = site(12.0, 5.0, 300.0)
    shaft, flow = practice_shaft(area, lift), 0.3
    second = referee.shaft(sizes(shaft, lift), rung, numbers(place))
    need = least_air(shaft, place, flow, lift, partial(graded, rung))
    assert need.possible
    air = float(need.dry_air)
    assert second.air_needed(flow, 0.5 * air, 1.5 * air) == pytest.approx(air, rel=1e-6)
    moved = water_moved(shaft, place, 1.3 * air, lift, partial(graded, rung))
    q = float(moved.flow)
    assert q > flow
    assert second.water_moved(1.3 * air, 0.9 * q, 1.1 * q) == pytest.approx(q, rel=1e-6)


def test_stall_of_a_shaft() -> None:
    place = site(12.0)
    shaft, air = practice_shaft(2.0, 0.3), 0.2
    lift = float(greatest_lift(shaft, place, 0.0, air, partial(graded, 1.3)))
    second = referee.shaft(sizes(shaft, lift), 1.3, numbers(place))
    assert second.excess(0.0, air) == pytest.approx(0.0, abs=1e-8)


def test_sill_that_governs() -> None:
    # The outlet channel stands below critical depth over the sill.
    place = site(20.0)
    shaft = Shaft(3.5, 3.0, 2.0, 2.0, 1.4, 0.5, 0.5, 3.2, 1.4)
    second = referee.shaft(sizes(shaft, 0.1), 1.0, numbers(place))
    air = float(least_air(shaft, place, 0.3, 0.1, partial(graded, 1.0)).dry_air)
    assert second.air_needed(0.3, 0.5 * air, 1.5 * air) == pytest.approx(air, rel=1e-6)


@pytest.mark.parametrize(("diameter", "submergence"), [(0.0254, 2.5), (0.1, 1.2), (0.3, 1.2)])
def test_tube_both_ways(diameter: float, submergence: float) -> None:
    place = site(20.0)
    lift = 0.2 * submergence
    riser = Tubes(submergence, diameter)
    second = referee.tube(diameter, submergence, lift, numbers(place))
    gas = 0.5 * np.pi / 4 * diameter**2 * 1.2
    q = float(water_moved(riser, place, gas, lift, tube).flow)
    assert second.water_moved(gas, 0.5 * q, 1.5 * q) == pytest.approx(q, rel=1e-6)
    air = float(least_air(riser, place, 0.8 * q, lift, tube).dry_air)
    assert second.air_needed(0.8 * q, 0.9 * air, 1.1 * air) == pytest.approx(air, rel=1e-6)
