"""The command line starts without the heavy libraries.

Modules are counted, not seconds: that is the same on every machine.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from tests.readme_blocks import ROOT

HEAVY = {"fluids", "matplotlib", "networkx", "numpy", "pandas", "pint", "scipy"}

LIGHT_MODULES = [
    "loopplan",
    "loopplan.declare",
    "loopplan.elements",
    "loopplan.errors",
    "loopplan.findings",
    "loopplan.lifts",
    "loopplan.lifts.lift",
    "loopplan.limits",
    "loopplan.output",
    "loopplan.points",
    "loopplan.scenario",
    "loopplan.shipped",
    "loopplan.sources",
    "loopplan.units",
]

# Tells, as the last line on standard error, which packages a run has loaded.
RUN = """
import atexit, json, sys
atexit.register(lambda: print(json.dumps(sorted({m.partition('.')[0] for m in sys.modules})),
                              file=sys.stderr))
"""

COMMAND = f"{RUN}\nsys.argv[0] = 'loopplan'\nfrom loopplan.cli import main\nsys.exit(main())\n"


def run(code: str, *words: str) -> tuple[subprocess.CompletedProcess[str], set[str]]:
    done = subprocess.run(
        [sys.executable, "-c", code, *words],
        capture_output=True,
        check=False,
        cwd=ROOT,
        encoding="utf-8",
        env={**os.environ, "PYTHONUTF8": "1"},
        stdin=subprocess.DEVNULL,
        timeout=60,
    )
    assert done.stderr.strip(), done
    return done, set(json.loads(done.stderr.splitlines()[-1]))


def test_the_method_sees_a_heavy_module() -> None:
    _, loaded = run(f"{RUN}\nimport numpy\n")
    assert "numpy" in loaded


@pytest.mark.parametrize("words", [("--version",), ("--help",), ("explain", "weir")], ids=" ".join)
def test_command_starts_light(words: tuple[str, ...]) -> None:
    done, loaded = run(COMMAND, *words)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()
    assert not loaded & HEAVY


@pytest.mark.parametrize("module", LIGHT_MODULES)
def test_module_imports_light(module: str) -> None:
    done, loaded = run(f"{RUN}\nimport {module}\n")
    assert done.returncode == 0, done.stderr
    assert not loaded & HEAVY
