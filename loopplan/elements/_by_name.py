"""Fields that give a quantity for each of several elements, by its name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic_core import PydanticCustomError

from loopplan.errors import UnitError
from loopplan.units import read_quantity


def read_by_name(value: Mapping[Any, Any], dimension: str) -> dict[str, float]:
    """Return quantities by name, in SI units of the dimension; used in field validators.

    Raises PydanticCustomError naming the entry that is no such quantity.
    """
    found = {}
    for name, one in value.items():
        try:
            found[str(name)] = (
                one if isinstance(one, float) else read_quantity(one, dimension).value
            )
        except UnitError as error:
            raise by_name_error(f"{name}: {error}", error.cure) from None
    return found


def by_name_error(message: str, cure: str) -> PydanticCustomError:
    """Return the error of such a field, as the reader of files shows it."""
    return PydanticCustomError("quantity", "{message}", {"message": message, "cure": cure})
