"""Check that a wheel holds all that it should and nothing else."""

import sys
from pathlib import Path
from zipfile import ZipFile

ROOT = Path(__file__).resolve().parent.parent


def wanted() -> set[str]:
    """Return the names of the package files that a wheel of this checkout must hold."""
    package = ROOT / "loopplan"
    files = {
        path.relative_to(ROOT).as_posix()
        for path in package.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    scenarios = {f"loopplan/_scenarios/{path.name}" for path in ROOT.glob("scenarios/*.yaml")}
    data = {"loopplan/catalogue.json", "loopplan/schema.json", "loopplan/py.typed"}
    return files | scenarios | data


def main(wheel: str) -> str:
    """Return what is wrong with the wheel, as text; empty where nothing is."""
    with ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
    want = wanted()
    wrong = [f"missing: {name}" for name in sorted(want - held)]
    wrong += [f"does not belong there: {name}" for name in sorted(held - want)]
    if not any(name.startswith("loopplan/_scenarios/") for name in want):
        wrong.append("no scenario is shipped")
    return "\n".join(wrong)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]) or None)
