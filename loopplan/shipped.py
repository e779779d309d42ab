"""The scenarios that come with loopplan, in a wheel or in a source checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def scenario_folder() -> Path:
    """Return the folder of the shipped scenarios.

    Raises:
        FileNotFoundError: the installation holds no scenarios.
    """
    in_wheel = _PACKAGE / "_scenarios"
    in_checkout = _PACKAGE.parent / "scenarios"
    # The checkout needs its pyproject.toml: a folder `scenarios` that happens to
    # lie beside an installed package is not ours.
    if in_wheel.is_dir():
        return in_wheel
    if in_checkout.is_dir() and (_PACKAGE.parent / "pyproject.toml").is_file():
        return in_checkout
    raise FileNotFoundError(f"no shipped scenarios: neither {in_wheel} nor {in_checkout} is there")


def names() -> tuple[str, ...]:
    """Return the names of the shipped scenarios, sorted (file names less `.yaml`)."""
    return tuple(sorted(path.stem for path in scenario_folder().glob("*.yaml")))


def scenario_path(name: str) -> Path:
    """Return the file of one shipped scenario.

    Args:
        name: a name out of `names()`.

    Raises:
        KeyError: no shipped scenario has that name; the message lists those there are.
    """
    known = names()
    if name not in known:
        raise KeyError(f"no shipped scenario '{name}'; there are: {', '.join(known)}")
    return scenario_folder() / f"{name}.yaml"
