"""Points of flow and head, as measured or read off a curve."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from pydantic_core import PydanticCustomError

from loopplan.declare import check_size
from loopplan.errors import UnitError
from loopplan.units import read_quantity


def read_points(value: Any, *, rising: bool | None) -> Any:
    """Read a list of [flow, head] pairs; used as a field validator.

    Flows must rise; heads must rise too (a loss), or never rise (a lift's curve), or may do
    either (None: the curve of a propeller pump, which may have a saddle).
    """
    points = _pairs(value, "head", "write `[[0 m3/h, 0 m], [900 m3/h, 0.2 m]]`")
    for (_, h0), (_, h1) in pairwise(points):
        if rising is True and h1 < h0:
            raise _error("the loss falls with flow", "check the readings")
        if rising is False and h1 > h0:
            raise _error(
                "the head rises with flow: such a curve has two flows for one head",
                "leave out the part left of the highest head, or check the points",
            )
    return points


def read_shares(value: Any) -> Any:
    """Read a list of [flow, share] pairs, as of efficiency; used as a field validator."""
    points = _pairs(value, "share", "write `[[600 m3/h, 62 %], [900 m3/h, 70 %]]`")
    for _, share in points:
        if not 0.0 <= share <= 1.0:
            raise _error("an efficiency lies between 0 and 100 %", "check the readings")
    return points


def _pairs(value: Any, dimension: str, example: str) -> list[list[float]]:
    if value is None:
        return []
    if not isinstance(value, list):
        raise _error("a list of points is due here", example)
    points = []
    for pair in value:
        if isinstance(pair, list) and len(pair) == 2 and isinstance(pair[0], float):
            points.append(pair)
            continue
        if not isinstance(pair, list) or len(pair) != 2:
            raise _error(f"a point is a flow and a {dimension}", example)
        try:
            flow = read_quantity(pair[0], "flow").value
            other = read_quantity(pair[1], dimension).value
            check_size(flow, "flow")
            check_size(other, dimension)
            points.append([flow, other])
        except UnitError as error:
            raise _error(str(error), error.cure) from None
    if value and len(points) < 2:
        raise _error("a curve needs two points or more", "add points")
    for (q0, _), (q1, _) in pairwise(points):
        if q1 <= q0:
            raise _error("the flows of the points must rise", "sort them, and drop doubles")
    if points and points[0][0] < 0.0:
        raise _error("a flow is below zero", "give flows from zero up")
    return points


def _error(message: str, cure: str) -> PydanticCustomError:
    return PydanticCustomError("quantity", "{message}", {"message": message, "cure": cure})
