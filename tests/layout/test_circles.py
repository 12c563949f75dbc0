"""No two modules need each other, not even through others, inside a function or only for types."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "troubleshoot"


def imported_by(package: Path) -> dict[str, set[str]]:
    """Return for every module of a package those of it that it imports, wherever in it the import stands."""
    root = package.parent
    paths = {".".join(one.relative_to(root).with_suffix("").parts): one for one in package.rglob("*.py")}
    modules = {name.removesuffix(".__init__"): path for name, path in paths.items()}
    found: dict[str, set[str]] = {}
    for name, path in modules.items():
        wanted: set[str] = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                wanted |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module is not None and not node.level:
                inside = {f"{node.module}.{alias.name}" for alias in node.names}
                wanted |= inside & modules.keys() or {node.module}
        found[name] = (wanted & modules.keys()) - {name}
    return found


def in_circles(imports: dict[str, set[str]]) -> set[str]:
    """Return the modules that come back to themselves by their imports."""
    reached = {name: set(straight) for name, straight in imports.items()}
    for between in imports:  # Warshall's transitive closure
        for those in reached.values():
            if between in those:
                those |= reached[between]
    return {name for name, those in reached.items() if name in those}


def test_no_module_is_in_a_circle_of_imports() -> None:
    assert not in_circles(imported_by(PACKAGE))


def test_a_circle_is_seen_in_a_function_and_for_types_only(tmp_path: Path) -> None:
    """The test that would not see one is no test."""
    package = tmp_path / "house"
    package.mkdir()
    (package / "__init__.py").write_text("", encoding="utf-8")
    (package / "one.py").write_text("def f():\n    from house import two\n", encoding="utf-8")
    (package / "two.py").write_text("if TYPE_CHECKING:\n    from house.three import x\n", encoding="utf-8")
    (package / "three.py").write_text("import house.one\n", encoding="utf-8")
    (package / "four.py").write_text("import house.one\n", encoding="utf-8")
    assert in_circles(imported_by(package)) == {"house.one", "house.two", "house.three"}
