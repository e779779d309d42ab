"""The calculation sheet: each law's formula and inputs, as one would work it by hand."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loopplan.declare import Passage
from loopplan.studies.results import Row, SheetLine

_FORMULAS: Mapping[str, str] = {
    "pipe": "h = (f L/D + sum K) v^2/2g; f from Colebrook, or as stated",
    "loss": "h = c1 Q + c2 Q^2 + cn Q^n, at most the cap",
    "curve": "h by a monotone cubic through the points of the curve",
    "weir": "Q = (c0 + c1 h)(h + kh)^n, times the drowning factor "
    "(1 - s^m)^0.385, s = (h2/h - limit)/(1 - limit), straight beyond h2/h = 0.95",
    "opening": "Q = 2/3 Cd b sqrt(2g) [(H-z)^1.5 - (H-top)^1.5] above the tailwater "
    "+ Cd b d sqrt(2g drop) below it",
    "strainer": "h = K v^2/2g on the approach velocity v = Q/(width x depth)",
    "channel": "energy line upstream from the level below, dE/dx = mean friction slope of "
    "each step; entrance K v^2/2g",
    "tap": "level = energy level less v^2/2g of the flow that passes by",
    "header": "h = (f L/D + sum K) v^2/2g + parting (v - u)^2/2g + meeting (v^2 - u^2)/2g, u the "
    "velocity of the main flow on the other side of the tee",
    "tee": "h = c2 Q^2 + side v^2/2g, v the velocity of the main flow that runs to the tee in the "
    "header: 1 where water leaves it, -1 where it joins",
    "plate": "h = c2 Q^2 through the holes, plus the drop from the plate to the water below",
    "drum": "h = cn Q^n of the clean screen, at least the trigger that washing holds when fouled",
    "one-way": "h = opening head + K v^2/2g forward; shut backward, but for a leak",
    "airlift shaft": "submergence - losses - rise of the mixture = 0; gas fraction jg/(C0 j + V)",
    "airlift tube": "submergence - losses - rise of the mixture = 0; gas fraction jg/(C0 j + V)",
    "given": "flow is stated; the head is what the levels ask for",
    "free": "flow is what keeps the level; the head is what the levels ask for",
}

_UNITS: Mapping[str, str] = {
    "length": "m",
    "diameter": "m",
    "roughness": "m",
    "viscosity": "m2/s",
    "factor": "-",
    "k": "-",
    "c1": "s/m2",
    "c2": "s2/m5",
    "cn": "m/(m3/s)^n",
    "n": "-",
    "cap": "m",
    "crest": "m",
    "kh": "m",
    "exponent": "-",
    "modular_limit": "-",
    "drown_exponent": "-",
    "plate": "m",
    "trigger": "m",
    "invert": "m",
    "soffit": "m",
    "width": "m",
    "cd": "-",
    "floor": "m",
    "height": "m",
    "side_slope": "-",
    "floor_up": "m",
    "floor_down": "m",
    "chezy": "m^0.5/s",
    "manning": "s/m^(1/3)",
    "entrance_k": "-",
    "flow": "m3/s",
    "speed": "-",
    "bore": "m",
    "main": "m3/s",
    "parting": "-",
    "meeting": "-",
    "side": "-",
    "opening_head": "m",
    "leak": "-",
    "temperature": "degC",
    "water_density": "kg/m3",
    "surface_tension": "N/m",
    "vapour_pressure": "Pa",
    "atmosphere": "Pa",
    "air": "kg/s of dry air",
    "rung": "-",
    "depth": "m",
    "inlet_area": "m2",
    "outlet_area": "m2",
    "partition_width": "m",
    "partition_gap": "m",
    "diffuser_height": "m",
    "sill_height": "m",
    "sill_width": "m",
    "injection_level": "m",
    "outlet_level": "m",
    "tubes": "-",
    "foot_length": "m",
    "entry_k": "-",
    "discharge_k": "-",
}
_WEIR_UNITS: Mapping[str, str] = {"c0": "m^(3-n)/s", "c1": "m^(2-n)/s"}
_INNER = (
    "small",
    "slopes",
    "from_basin",
    "to_basin",
    "free_end",
    "thrust_up",
    "thrust_down",
)
_SHOWN_NAMES = {"k": "K", "cd": "Cd", "cn": "cn"}


def sheet_line(state: str, row: Row, passage: Passage) -> SheetLine:
    """Return the sheet's line for a row of the budget and the passage behind it."""
    inputs: list[tuple[str, float, str]] = [
        ("flow of one unit", row.flow / row.units, "m3/s"),
        ("head below", row.head_after, "m"),
    ]
    for name, value in passage.params.items():
        inputs += _inputs(row.law, name, value)
    return SheetLine(
        state,
        row.name,
        row.law,
        _FORMULAS[row.law],
        tuple(inputs),
        passage.notes,
        passage.sources,
        row.loss,
        row.head_before,
        row.head_after,
    )


def _inputs(law: str, name: str, value: Any) -> list[tuple[str, float, str]]:
    if name in _INNER:
        return []
    if isinstance(value, list | tuple):
        unit = "m3/s" if name == "flows" else "m"
        return [(f"{name[:-1]} {i + 1}", float(v), unit) for i, v in enumerate(value)]
    if value in (float("inf"), 0.0) and name in ("cap", "height", "factor", "c1", "cn", "chezy"):
        return []
    unit = _WEIR_UNITS.get(name, "") if law == "weir" else ""
    shown = _SHOWN_NAMES.get(name, name.replace("_", " "))
    return [(shown, float(value), unit or _UNITS[name])]
