"""The laws of the layout: what stands at the top, how large things grow, what may be called where."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "troubleshoot"
MODULES = sorted(PACKAGE.rglob("*.py"))
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "troubleshoot", "trees", "tests", "scripts"}


def tracked() -> list[str]:
    """Return the files git tracks, or skip where there is no git checkout."""
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        pytest.skip("not a git checkout")
    return done.stdout.splitlines()


def test_the_top_level_is_exactly_what_the_contributor_guide_says() -> None:
    """Top level exactly: the seven names and dot-files."""
    names = {name.split("/")[0] for name in tracked()}
    assert {name for name in names if not name.startswith(".")} == TOP


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_module_is_a_drawer(module: Path) -> None:
    """No module over 400 lines, no class over 250, no function over 80; `__init__` holds words only."""
    text = module.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 400
    tree = ast.parse(text)
    for node in ast.walk(tree):
        length = (
            (node.end_lineno or 0) - node.lineno + 1 if hasattr(node, "lineno") and hasattr(node, "end_lineno") else 0
        )
        if isinstance(node, ast.ClassDef):
            assert length <= 250, f"class {node.name} has {length} lines"
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert length <= 80, f"function {node.name} has {length} lines"


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_nothing_prints_but_the_output_module(module: Path) -> None:
    """Only `cli/output.py` prints; everything else returns or raises."""
    if module == PACKAGE / "cli" / "output.py":
        return
    calls = [node for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)]
    assert not [one.lineno for one in calls if isinstance(one.func, ast.Name) and one.func.id == "print"]


def test_no_name_says_nothing() -> None:
    """No module is called utils, helpers, misc or common."""
    assert not [path for path in MODULES if path.stem in {"utils", "helpers", "misc", "common", "util", "helper"}]


def test_nothing_starts_the_screens_by_a_name_in_a_string() -> None:
    """What starts the screens imports them, where the contract of the layers sees it; only `__main__` does."""
    naming = []
    for module in MODULES:
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and "troubleshoot.tui" in node.value:
                naming.append(f"{module.relative_to(PACKAGE)}:{node.lineno}")
    assert not naming


@pytest.mark.parametrize("room", ["tui", "classroom"])
def test_screens_and_server_use_only_public_names_of_their_frameworks(room: str) -> None:
    """No attribute that starts with one underscore on anything but self or cls."""
    found = []
    for module in sorted((PACKAGE / room).rglob("*.py")):
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and re.match(r"_[a-z]", node.attr):
                owner = node.value
                if not (isinstance(owner, ast.Name) and owner.id in {"self", "cls"}):
                    found.append(f"{module.name}:{node.lineno} {node.attr}")
    assert not found


def test_no_picture_letters_anywhere() -> None:
    """Emoji and variation selectors break the alignment of terminals, so none stands in trees or screens."""
    picture = re.compile("[\U0001f000-\U0001faff\ufe0f]")
    for folder in (PACKAGE, ROOT / "trees"):
        for path in folder.rglob("*"):
            if path.suffix in {".py", ".yaml", ".tcss", ".md", ".j2"}:
                assert not picture.search(path.read_text(encoding="utf-8")), path
