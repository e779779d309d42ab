"""loopplan: the whole water loop of a recirculating fish farm on one sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loopplan.api import (
        BadFile,
        BudgetResult,
        Checked,
        Finding,
        LoopplanError,
        NoSolution,
        Refused,
        Scenario,
        air_supply,
        budget,
        check,
        frame,
        read,
    )

__version__ = "0.1.0"

__all__ = [
    "BadFile",
    "BudgetResult",
    "Checked",
    "Finding",
    "LoopplanError",
    "NoSolution",
    "Refused",
    "Scenario",
    "__version__",
    "air_supply",
    "budget",
    "check",
    "frame",
    "read",
]


def __getattr__(name: str) -> Any:
    # On first touch, so that the command line starts without the solver.
    if name in __all__:
        from importlib import import_module

        return getattr(import_module("loopplan.api"), name)
    raise AttributeError(f"module 'loopplan' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted(__all__)
