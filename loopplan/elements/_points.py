"""Points of flow and head, as measured or read off a curve."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from pydantic_core import PydanticCustomError

from loopplan.declare import check_size
from loopplan.errors import UnitError
from loopplan.units import read_quantity


def read_points(value: Any, *, rising: bool) -> Any:
    """Read a list of [flow, head] pairs; used as a field validator.

    Flows must rise; heads must rise too (a loss), or never rise (a lift's curve).
    """
    if value is None:
        return []
    if not isinstance(value, list):
        raise _error("a list of points is due here", "write `[[0 m3/h, 0 m], [900 m3/h, 0.2 m]]`")
    points = []
    for pair in value:
        if isinstance(pair, list) and len(pair) == 2 and isinstance(pair[0], float):
            points.append(pair)
            continue
        if not isinstance(pair, list) or len(pair) != 2:
            raise _error("a point is a flow and a head", "write `[900 m3/h, 0.2 m]`")
        try:
            flow = read_quantity(pair[0], "flow").value
            head = read_quantity(pair[1], "head").value
            check_size(flow, "flow")
            check_size(head, "head")
            points.append([flow, head])
        except UnitError as error:
            raise _error(str(error), error.cure) from None
    if value and len(points) < 2:
        raise _error("a curve needs two points or more", "add points")
    for (q0, h0), (q1, h1) in pairwise(points):
        if q1 <= q0:
            raise _error("the flows of the points must rise", "sort them, and drop doubles")
        if rising and h1 < h0:
            raise _error("the loss falls with flow", "check the readings")
        if not rising and h1 > h0:
            raise _error(
                "the head rises with flow: such a curve has two flows for one head",
                "leave out the part left of the highest head, or check the points",
            )
    if points and points[0][0] < 0.0:
        raise _error("a flow is below zero", "give flows from zero up")
    return points


def _error(message: str, cure: str) -> PydanticCustomError:
    return PydanticCustomError("quantity", "{message}", {"message": message, "cure": cure})
