"""Who may import whom (DEVELOPERS.md, "Layers"), read from the source."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "loopplan"

# Each imports only from its own layer and those before it.
LAYERS = [
    {"errors", "units", "_unit_factors", "_unit_words", "_generate_units", "sources",
     "_sources_machines", "findings", "output", "shipped"},
    {"physics"},
    {"declare", "limits", "points", "laws", "elements", "lifts"},
    {"scenario"},
    {"loop"},
    {"needs", "airsupply", "costs"},
    {"studies"},
    {"report"},
    {"api", "cli", "", "__main__", "_generate"},
]  # fmt: skip
LAYER = {name: number for number, names in enumerate(LAYERS, start=1) for name in names}

# A library, and the only rooms that may import it at all.
ONLY_IN = {
    "networkx": {"loop"},
    "pint": {"units", "_generate", "_generate_units"},
    "rich": {"cli", "report"},
    "typer": {"cli"},
}

HEAVY = {"fluids", "matplotlib", "networkx", "numpy", "pandas", "pint", "scipy"}
LIGHT = {
    "", "cli", "declare", "elements", "errors", "findings", "lifts", "limits", "output",
    "points", "scenario", "shipped", "sources", "units",
}  # fmt: skip


def module_name(path: Path) -> str:
    """Return the dotted name of a module file, within the package."""
    parts = list(path.relative_to(PACKAGE).with_suffix("").parts)
    if parts[-1] == "__init__":
        parts.pop()
    return ".".join(["loopplan", *parts])


FILES = {module_name(path): path for path in sorted(PACKAGE.rglob("*.py"))}


def room(module: str) -> str:
    """Return the part of a dotted name below the package: `loopplan.loop.solve` is `loop`."""
    return module.split(".")[1] if "." in module else ""


def _is_type_checking(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")


def statements(tree: ast.AST, *, at_import: bool) -> Iterator[ast.Import | ast.ImportFrom]:
    """Yield the import statements; with `at_import` only those that importing runs."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            yield node
        elif at_import and (
            isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            or _is_type_checking(node)
        ):
            continue
        else:
            yield from statements(node, at_import=at_import)


def imports(module: str, *, at_import: bool = False) -> Iterator[tuple[int, str]]:
    """Yield (line, dotted name) of all that a module imports."""
    tree = ast.parse(FILES[module].read_text(encoding="utf-8"))
    for node in statements(tree, at_import=at_import):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
            continue
        base = node.module or ""
        if node.level:
            parents = module.split(".")
            up = node.level - (FILES[module].name == "__init__.py")
            base = ".".join([*parents[: len(parents) - up], *filter(None, [base])])
        for alias in node.names:
            deeper = f"{base}.{alias.name}"
            if base == "loopplan" and alias.name == "__version__":
                continue  # a literal
            yield node.lineno, deeper if deeper in FILES else base


def is_own(name: str) -> bool:
    return name.split(".")[0] == "loopplan"


def test_the_reader_finds_imports() -> None:
    found = {name for module in FILES for _, name in imports(module)}
    assert "loopplan.errors" in found
    assert "pydantic" in found


def test_every_room_has_a_layer() -> None:
    rooms = {room(module) for module in FILES}
    assert rooms - LAYER.keys() == set(), "give each a layer here and in DEVELOPERS.md"


@pytest.mark.parametrize("module", FILES)
def test_imports_only_downward(module: str) -> None:
    wrong = [
        f"line {line}: {name}"
        for line, name in imports(module)
        if is_own(name) and LAYER[room(name)] > LAYER[room(module)]
    ]
    assert wrong == []


@pytest.mark.parametrize("library", ONLY_IN)
def test_library_stays_in_its_room(library: str) -> None:
    outside = [
        f"{module}:{line}"
        for module in FILES
        for line, name in imports(module)
        if name.split(".")[0] == library and room(module) not in ONLY_IN[library]
    ]
    assert outside == []


def chain_to_heavy(module: str) -> list[str]:
    """Return the shortest chain of imports from a module to a heavy library, else []."""
    waiting, seen = [[module]], {module}
    while waiting:
        chain = waiting.pop(0)
        for _, name in imports(chain[-1], at_import=True):
            if name.split(".")[0] in HEAVY:
                return [*chain, name]
            # Importing a.b.c runs a and a.b first.
            parts = name.split(".")
            for end in range(1, len(parts) + 1):
                above = ".".join(parts[:end])
                if above in FILES and above not in seen:
                    seen.add(above)
                    waiting.append([*chain, above])
    return []


@pytest.mark.parametrize("module", [m for m in FILES if room(m) in LIGHT])
def test_imports_no_heavy_library_at_start(module: str) -> None:
    assert chain_to_heavy(module) == []
