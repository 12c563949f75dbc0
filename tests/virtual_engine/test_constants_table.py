"""Where the figures of the engine come from: a row in the table for every module that has figures."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import troubleshoot.virtual_engine

ROOM = Path(troubleshoot.virtual_engine.__file__).parent
ROWS = [line.strip("|\n ").split("|") for line in (ROOM / "README.md").read_text("utf-8").splitlines() if "| `" in line]
BASES = ("estimate", "textbook", "Heywood", "AP-42", "no source", "unit", "definition", "arithmetic", "π", "worked out",
         "stands beside")  # fmt: skip


def figures(path: Path) -> int:
    """Return how many numbers with a point stand in a module, nought and one aside."""
    found = (node.value for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.Constant))
    return sum(isinstance(one, float) and one not in (0.0, 0.5, 1.0, 2.0) for one in found)


def test_every_module_with_figures_has_a_row_and_no_row_is_left_over() -> None:
    named = {name for row in ROWS for name in re.findall(r"`(\w+)`", row[0])}
    modules = {path.stem: figures(path) for path in ROOM.glob("*.py")}
    assert {name for name, count in modules.items() if count} <= named
    assert named <= set(modules)


def test_every_row_says_its_basis() -> None:
    assert ROWS
    for row in ROWS:
        assert len(row) == 3 and any(basis in row[2] for basis in BASES), row[0]
