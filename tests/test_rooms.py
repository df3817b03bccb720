"""Imports go down only: design section 4, style "Rooms and doors"."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "catalog"
LEVELS = [
    {"cli", "tui"},
    {"actions"},
    {"intake", "outputs"},
    {"store"},
    {"model"},
    {"rules"},
    {"dates", "standards", "imaging", "optics", "light"},
    {"passing_files"},
    {"errors", "clock"},
]
DOORS = {("standards", "dates"), ("imaging", "standards"), ("cli", "tui")}
LEVEL_OF = {room: level for level, rooms in enumerate(LEVELS) for room in rooms}


def imports_of(path: Path) -> list[tuple[int, str]]:
    """Every module a file imports, with its line; relative imports are read as absolute."""
    package = ("catalog", *path.relative_to(PACKAGE).parent.parts)
    found = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            module = ".".join((*base, *([node.module] if node.module else [])))
            found += [(node.lineno, f"{module}.{alias.name}") for alias in node.names]
    return found


def test_a_room_imports_only_from_the_rows_below_it():
    wrong = []
    for path in sorted(PACKAGE.rglob("*.py")):
        room = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
        if room == "__init__":
            continue
        assert room in LEVEL_OF, f"{path.name}: {room} is no room of the design"
        for line, module in imports_of(path):
            parts = module.split(".")
            if parts[0] != "catalog" or len(parts) < 2 or parts[1] == room:
                continue
            other = parts[1]
            assert other in LEVEL_OF, f"{path}:{line}: {module} is no room of the design"
            if LEVEL_OF[other] <= LEVEL_OF[room] and (room, other) not in DOORS:
                wrong.append(f"{path.relative_to(ROOT)}:{line}: {room} imports {module}")
    assert wrong == []


def test_a_leading_underscore_stays_in_its_room():
    wrong = []
    for path in sorted(PACKAGE.rglob("*.py")):
        room = path.relative_to(PACKAGE).parts[0]
        for line, module in imports_of(path):
            parts = module.split(".")
            if parts[0] == "catalog" and len(parts) > 2 and parts[1] != room:
                wrong += [f"{path.name}:{line}: {module}" for part in parts[2:] if part.startswith("_")]
    assert wrong == []


@pytest.mark.parametrize("module", ["catalog.cli.main", "catalog.store.find", "catalog.store.show"])
def test_reading_does_not_import_the_writing_side(module):
    # Design section 3 of the rooms: reading is plain SQL and imports no SQLAlchemy (start-up).
    heavy = {"sqlalchemy", "alembic", "textual"}
    code = f"import sys, {module}; print([m for m in sys.modules if m.split('.')[0] in {heavy}])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)

    assert out.stdout.strip() == "[]"
