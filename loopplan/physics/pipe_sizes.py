"""Pipes by the size they are sold under: outside diameter, wall, bore.

Outside diameters are those of the standards. Walls of plastic pipes follow the rule of the
universal wall thickness table (`iso-4065`): e = d/(2S + 1), rounded up to 0.1 mm, where S is the
exact preferred number behind the series that is printed as SDR (SDR 17 is S 8, and S 8 is
10^0.9 = 7.943). The plain d/SDR gives walls up to 0.1 mm thinner than the standards' tables. A
miss of 0.005 mm is not rounded up, as in those tables.

The bore is the outside diameter less twice the least wall. Real walls are up to about a tenth
thicker, so that the bore of a given pipe can be one to two per cent smaller.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

_PE = (20, 25, 32, 40, 50, 63, 75, 90, 110, 125, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400,
       450, 500, 560, 630, 710, 800, 900, 1000, 1200, 1400, 1600)  # fmt: skip
_PVC = (20, 25, 32, 40, 50, 63, 75, 90, 110, 125, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400,
        450, 500, 560, 630)  # fmt: skip
_GRP = (100, 125, 150, 200, 250, 300, 350, 400, 450, 500, 600, 700, 800, 900, 1000, 1200, 1400,
        1600, 1800, 2000)  # fmt: skip
_STEEL = (21.3, 26.9, 33.7, 42.4, 48.3, 60.3, 76.1, 88.9, 114.3, 139.7, 168.3, 219.1, 273.0, 323.9,
          355.6, 406.4, 457.0, 508.0, 610.0, 711.0, 813.0, 914.0, 1016.0)  # fmt: skip
_STEEL_WALLS = (1.6, 1.8, 2.0, 2.3, 2.6, 2.9, 3.2, 3.6, 4.0, 4.5, 5.0, 5.4, 5.6, 6.3, 7.1, 8.0,
                8.8, 10.0, 11.0, 12.5, 14.2, 16.0, 17.5, 20.0, 22.2, 25.0)  # fmt: skip
_SERIES: dict[str, float] = {
    "6": 10.0**0.4,
    "7.4": 10.0**0.5,
    "9": 10.0**0.6,
    "11": 10.0**0.7,
    "13.6": 10.0**0.8,
    "17": 10.0**0.9,
    "17.6": 8.3,
    "21": 10.0**1.0,
    "26": 10.0**1.1,
    "33": 10.0**1.2,
    "34.4": 16.7,
    "41": 10.0**1.3,
}
"""S of each SDR, as an exact number of the R10 series where it stands in that."""
_PE_SDR = ("6", "7.4", "9", "11", "13.6", "17", "17.6", "21", "26", "33", "41")
_PVC_SDR = ("11", "13.6", "17", "21", "26", "33", "34.4", "41")
_SMALL_PN = {"6": "33", "8": "26", "10": "21", "12.5": "17", "16": "13.6", "20": "11"}
_LARGE_PN = {"6": "41", "8": "33", "10": "26", "12.5": "21", "16": "17", "20": "13.6", "25": "11"}
_LARGE_FROM = 110
"""Outside diameter [mm] from which PVC-U is rated with the smaller safety factor."""
_LEAST_WALL = {"PE": 2.0, "PVC-U": 1.5}
_MATERIALS = ("PE", "PVC-U", "GRP", "steel")

_FORM = re.compile(
    r"(?P<material>PE ?(?:100|80)|PE|PVC-?U|PVC|GRP|steel)\s+(?:DN ?)?(?P<first>\d+(?:\.\d+)?)"
    r"(?:\s*(?P<join>SDR|PN|x)\s*(?P<second>\d+(?:\.\d+)?))?",
    re.IGNORECASE,
)
_EXAMPLES = "`PE 355 SDR 17`, `PVC-U 250 SDR 34.4`, `GRP 500` or `steel 323.9 x 7.1`"


@dataclass(frozen=True)
class PipeSize:
    """A pipe as it is sold.

    Attributes:
        bore: inside diameter [m].
        outside: outside diameter [m], 0 where it is not told by the name.
        wall: least wall [m], 0 where it is not told by the name.
        words: how the bore was had, with a note where the name is not plain.
        source: key of the source.
    """

    bore: float
    outside: float
    wall: float
    words: str
    source: str


class UnknownSize(ValueError):
    """A size that is not made; `cure` names the nearest one."""

    def __init__(self, message: str, cure: str) -> None:
        super().__init__(message)
        self.cure = cure


@lru_cache(maxsize=1024)
def pipe_size(text: str) -> PipeSize:
    """Look a pipe up by its name in the trade.

    Args:
        text: material, size and series, as in `PE 355 SDR 17`, `PVC-U 250 SDR 34.4`,
            `PVC-U 250 PN 10`, `GRP 500` or `steel 323.9 x 7.1`.

    Returns:
        The pipe.

    Raises:
        UnknownSize: if the name cannot be read or no such pipe is made; its `cure` gives the
            nearest.

    Source: `iso-4427`, `iso-1452`, `iso-4065`, `iso-10467`, `iso-4200` (all from memory).
    """
    found = _FORM.fullmatch(" ".join(text.split()))
    if found is None:
        near = difflib.get_close_matches(text.split(" ")[0], _MATERIALS, 1, 0.4)
        hint = f"did you mean `{near[0]}`? " if near and near[0] != text.split(" ")[0] else ""
        raise UnknownSize("no pipe is named like this", f"{hint}write for example {_EXAMPLES}")
    material = found["material"].upper().replace(" ", "")
    first, join, second = found["first"], (found["join"] or "").upper(), found["second"] or ""
    if material == "STEEL":
        return _steel(float(first), join, float(second or 0.0))
    if material == "GRP":
        return _grp(float(first), join)
    if material.startswith("PE"):
        return _plastic("PE", float(first), join, second)
    return _plastic("PVC-U", float(first), join, second)


def _plastic(material: str, size: float, join: str, series: str) -> PipeSize:
    sizes, series_known = (_PE, _PE_SDR) if material == "PE" else (_PVC, _PVC_SDR)
    outside = float(_one_of(size, sizes, material))
    example = f"write `{material} {outside:g} SDR {series_known[4]}`"
    note = ""
    if join == "PN" and material == "PVC-U":
        ratings = _LARGE_PN if outside >= _LARGE_FROM else _SMALL_PN
        if series not in ratings:
            known = ", ".join(ratings)
            raise UnknownSize(f"PVC-U {outside:g} is not made as PN {series}", f"known: {known}")
        note = f"; PN {series} taken as SDR {ratings[series]}, older pipes can be thicker"
        series = ratings[series]
    elif join == "PN":
        raise UnknownSize("the wall of PE by its PN hangs on its grade", example)
    elif join != "SDR":
        raise UnknownSize("the wall is not told by this name", example)
    if series not in series_known:
        raise UnknownSize(f"SDR {series} is not a series of {material}",
                          f"nearest: SDR {_nearest(float(series), map(float, series_known)):g}; "
                          f"known: {', '.join(series_known)}")  # fmt: skip
    wall = plastic_wall(outside, series)
    least = _LEAST_WALL[material]
    if wall < 0.9 * least:
        raise UnknownSize(f"{material} {outside:g} is not made as thin as SDR {series}",
                          "take a lower SDR")  # fmt: skip
    wall = max(wall, least)
    key = "iso-4427" if material == "PE" else "iso-1452"
    name = f"{material} {outside:g} SDR {series}"
    return _with_wall(name, outside, wall, key, note)


def plastic_wall(outside: float, series: str) -> float:
    """Least wall of a plastic pipe.

    Args:
        outside: outside diameter [mm], above 0.
        series: SDR as it is printed, as in `17` or `34.4`.

    Returns:
        Wall [mm], rounded up to 0.1 mm.

    Raises:
        KeyError: for a series that is not known.

    Source: `iso-4065`.
    """
    exact = outside / (2.0 * _SERIES[series] + 1.0)
    return math.ceil(10.0 * exact - 0.05) / 10.0


def _grp(size: float, join: str) -> PipeSize:
    if join:
        raise UnknownSize("GRP is named by its nominal bore alone", "write `GRP 500`")
    bore = float(_one_of(size, _GRP, "GRP"))
    words = f"GRP {bore:g}: nominal bore (series A); pipes of series B are a little narrower"
    return PipeSize(bore / 1000.0, 0.0, 0.0, words, "iso-10467")


def _steel(size: float, join: str, wall: float) -> PipeSize:
    outside = float(_one_of(size, _STEEL, "steel"))
    if join != "X":
        raise UnknownSize("the wall is not told by this name", f"write `steel {outside:g} x 5`")
    _one_of(wall, _STEEL_WALLS, f"steel {outside:g} x")
    if wall > 0.2 * outside:
        raise UnknownSize("the wall leaves hardly a bore", "check outside diameter and wall")
    return _with_wall(f"steel {outside:g} x {wall:g}", outside, wall, "iso-4200", "")


def _with_wall(name: str, outside: float, wall: float, key: str, note: str) -> PipeSize:
    bore = outside - 2.0 * wall
    words = f"{name}: {outside:g} mm outside, wall {wall:g} mm, bore {bore:.1f} mm{note}"
    return PipeSize(bore / 1000.0, outside / 1000.0, wall / 1000.0, words, key)


def _one_of(size: float, sizes: tuple[float, ...], what: str) -> float:
    if size not in sizes:
        near = _nearest(size, sizes)
        raise UnknownSize(f"{what} {size:g} mm is not a standard size", f"nearest: {near:g} mm")
    return size


def _nearest(size: float, sizes: Iterable[float]) -> float:
    return min(sizes, key=lambda s: abs(s - size))
