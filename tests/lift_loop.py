"""A small invented loop with one lift of known head, for tests of lift sheets."""

from __future__ import annotations

from functools import cache

from loopplan.physics.airlift_column import site
from loopplan.scenario.reader import read
from loopplan.studies.lift_sheet_results import DeviceResult, LiftSheet, LiftStudy
from loopplan.studies.lift_sheets import lift_study
from tests.referee import airlift as referee

LOOP = """\
loopplan: 1
farm: {name: Loop of one lift}
water: {temperature: 12 degC}
elements:
  sump: {kind: sump, area: 2.5 m2, floor: -2.0 m, wall top: 1.5 m}
  pump: {kind: lift, flow: 1000 m3/h}
  head box: {kind: box, area: 3 m2, floor: -2.0 m, wall top: 1.5 m}
  way back: {kind: loss, loss: 300 mm, flow: 1000 m3/h}
flow paths:
  round: [sump, pump, head box, way back, sump]
levels: [{way: stored volume, in: [sump], volume: 7.5 m3}]
duty states: {clean: {}}
"""
"""The water of the sump stands at 1.00 m, 3.0 m deep, and the lift is that of the way back."""

UP = 1.0
PUMP = "{kind: lift, flow: 1000 m3/h}"
SHAFT = "kind: channel shaft, inlet half: 2 m2, outlet half: 2 m2"
CURVE = "[[0 m3/h, 0.9 m], [600 m3/h, 0.7 m], [1000 m3/h, 0.5 m], [1300 m3/h, 0.3 m]]"
"""Points of a falling curve [m3/h, m]."""


def lift(words: str) -> tuple[str, str]:
    """Change that gives the lift more fields."""
    return PUMP, PUMP.replace("}", f", {words}}}")


def air(words: str = "", *, asked: bool = True) -> tuple[str, str]:
    """Change that draws an airlift with more fields."""
    drawn = f"airlift: {{{SHAFT}{', ' if words else ''}{words}}}"
    return lift(f"device: airlift, {drawn}" if asked else drawn)


def loss(metres: float) -> tuple[str, str]:
    """Change of the lift [m] at 1,000 m3/h."""
    return "loss: 300 mm", f"loss: {1000.0 * metres:.6g} mm"


@cache
def study(*changes: tuple[str, str]) -> LiftStudy:
    """Return the study of the loop with changes."""
    text = LOOP
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return lift_study(read(text, "loop.yaml"))


def sheet(*changes: tuple[str, str]) -> LiftSheet:
    """Return the sheet of its only lift."""
    (only,) = study(*changes).sheets
    return only


def device(name: str, *changes: tuple[str, str]) -> DeviceResult:
    """Return one device of the only lift."""
    (found,) = [d for d in sheet(*changes).devices if d.device == name]
    return found


def codes(*changes: tuple[str, str]) -> set[str]:
    """Return the codes of what is found."""
    return {finding.code for finding in study(*changes).findings}


def water() -> referee.Water:
    """Return the water of the loop as the referee takes it."""
    at = site(12.0)
    return referee.Water(
        12.0,
        float(at.water_density),
        float(at.viscosity),
        float(at.surface_tension),
        float(at.vapour_pressure),
        float(at.atmosphere),
    )
