"""Change the code in small ways and see whether the tests notice: `python scripts/mutants.py [--sample 200]`.

Each mutant is one change of one place: a comparison, a sign, a number, a condition, min for max. It is made in a copy
of the project, never here. The tests are run once with coverage by test; then each mutant meets the tests that reach
its line, and where those pass, the files that name its module. A mutant that no test notices is printed; some of them
change nothing that matters, and a reader has to say which. Slow tests are left out. It is no part of `check.py`.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from coverage import CoverageData

ROOT = Path(__file__).resolve().parent.parent
FOLDERS = {
    "reasoning": ("tests/reasoning",),
    "case": ("tests/case", "tests/knowledge/test_answers_everywhere.py"),
    "casebook": ("tests/casebook",),
    "calculations": ("tests/calculations", "tests/published"),
}
"""Rooms whose code is changed, and where their tests are."""

WANTED = 0.85
LONGEST = 300.0
"""Seconds after which the tests of a mutant count as failed: it goes on for ever."""
MOST = 200
"""Tests that reach a line, of which so many are tried at first."""

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
REACHED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.BitOr: ast.BitAnd,
}  # fmt: skip
CALLED = {"min": "max", "max": "min", "any": "all", "all": "any"}


@dataclass(frozen=True)
class Mutant:
    """One change: the module's file, the place of the node among all that can be changed, and what it is."""

    path: Path
    place: int
    line: int
    words: str


class Changer(ast.NodeTransformer):
    """Goes through a module, counts what can be changed, and changes the one at `place`."""

    def __init__(self, place: int = -1) -> None:
        self.place = place
        self.found: list[tuple[int, str]] = []

    def _here(self, node: ast.expr | ast.stmt, words: str) -> bool:
        self.found.append((node.lineno, words))
        return len(self.found) - 1 == self.place

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AnnAssign:
        """Leave the annotation alone."""
        if node.value is not None:
            node.value = self.visit(node.value)
        return node

    def visit_ClassDef(self, node: ast.ClassDef) -> ast.ClassDef:
        """Leave decorators and bases alone."""
        node.body = [self.visit(one) for one in node.body]
        return node

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.FunctionDef:
        """Leave annotations and decorators alone."""
        node.body = [self.visit(one) for one in node.body]
        return node

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.JoinedStr:
        """Leave sentences alone."""
        return node

    def visit_Raise(self, node: ast.Raise) -> ast.Raise:
        """Leave the words of a refusal alone."""
        return node

    def visit_Compare(self, node: ast.Compare) -> ast.expr:
        """Swap a comparison for its neighbour or opposite."""
        self.generic_visit(node)
        other = COMPARED.get(type(node.ops[0]))
        if other and self._here(node, f"{type(node.ops[0]).__name__} -> {other.__name__}"):
            node.ops[0] = other()
        return node

    def visit_BinOp(self, node: ast.BinOp) -> ast.expr:
        """Swap a sign."""
        self.generic_visit(node)
        other = REACHED.get(type(node.op))
        if other and self._here(node, f"{type(node.op).__name__} -> {other.__name__}"):
            node.op = other()
        return node

    def visit_BoolOp(self, node: ast.BoolOp) -> ast.expr:
        """Swap `and` for `or`."""
        self.generic_visit(node)
        if self._here(node, "and <-> or"):
            node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        return node

    def visit_UnaryOp(self, node: ast.UnaryOp) -> ast.expr:
        """Drop a `not` or a minus."""
        self.generic_visit(node)
        return node.operand if self._here(node, f"without {type(node.op).__name__}") else node

    def visit_Constant(self, node: ast.Constant) -> ast.expr:
        """Change a number, or the truth."""
        if isinstance(node.value, bool):
            return ast.Constant(not node.value) if self._here(node, f"not {node.value}") else node
        if isinstance(node.value, int | float):
            other = node.value * 2 + 1
            return ast.Constant(other) if self._here(node, f"{node.value} -> {other}") else node
        return node

    def visit_Call(self, node: ast.Call) -> ast.expr:
        """Swap `min` for `max`, `any` for `all`."""
        self.generic_visit(node)
        if isinstance(node.func, ast.Name) and node.func.id in CALLED:
            other = CALLED[node.func.id]
            if self._here(node, f"{node.func.id} -> {other}"):
                node.func.id = other
        return node

    def visit_If(self, node: ast.If) -> ast.stmt:
        """Turn a condition round."""
        self.generic_visit(node)
        if ast.unparse(node.test) != "TYPE_CHECKING" and self._here(node, "if not"):
            node.test = ast.UnaryOp(ast.Not(), node.test)
        return node


def mutants(folder: str) -> Iterator[Mutant]:
    """Yield every change that can be made to the code of a room."""
    for path in sorted((ROOT / "troubleshoot" / folder).glob("*.py")):
        changer = Changer()
        changer.visit(ast.parse(path.read_text(encoding="utf-8")))
        for place, (line, words) in enumerate(changer.found):
            yield Mutant(path.relative_to(ROOT), place, line, words)


def reached(copy: Path) -> CoverageData:
    """Run the tests of all rooms once in the copy and return which test reaches which line."""
    places = sorted({one for places in FOLDERS.values() for one in places})
    if not passes(["--cov=troubleshoot", "--cov-context=test", "--cov-report=", *places], copy, None):
        raise SystemExit("The tests fail without any change; repair that first.")
    data = CoverageData(str(copy / ".coverage"))
    data.read()
    return data


def statement(source: str, line: int) -> range:
    """Return the lines from the start of the innermost statement at a line down to that line."""
    starts = (node.lineno for node in ast.walk(ast.parse(source)) if isinstance(node, ast.stmt) and node.lineno <= line)
    return range(max(starts, default=line), line + 1)


def tests_of(mutant: Mutant, copy: Path, data: CoverageData) -> list[list[str]]:
    """Return the tests to run in turn: some that reach the line, then the files that name the module."""
    lines = data.contexts_by_lineno(str((copy / mutant.path).resolve()))
    met = statement((copy / mutant.path).read_text(encoding="utf-8"), mutant.line)
    reaching = sorted({one.rpartition("|")[0] for line in met for one in lines.get(line, []) if one})
    dotted = f"{mutant.path.parent.name}.{mutant.path.stem} import"
    naming = [path for path in sorted(copy.glob("tests/*/test_*.py")) if dotted in path.read_text(encoding="utf-8")]
    files = {str(path.relative_to(copy)) for path in naming} | {
        one.partition("::")[0] for one in reaching[:: len(reaching) // 4 + 1]
    }
    return [one for one in (reaching[:: len(reaching) // MOST + 1], sorted(files)) if one]


def noticed(mutant: Mutant, copy: Path, data: CoverageData) -> bool:
    """Return whether some test fails with the mutant in place."""
    tests = tests_of(mutant, copy, data)
    source = (copy / mutant.path).read_text(encoding="utf-8")
    changed = ast.fix_missing_locations(Changer(mutant.place).visit(ast.parse(source)))
    (copy / mutant.path).write_text(ast.unparse(changed), encoding="utf-8")
    try:
        return not all(passes(some, copy) for some in tests)
    finally:
        (copy / mutant.path).write_text(source, encoding="utf-8")


def passes(tests: list[str], copy: Path, longest: float | None = LONGEST) -> bool:
    """Return whether these tests pass in the copy, within so many seconds."""
    environment = {
        **os.environ,
        "COVERAGE_FILE": str(copy / ".coverage"),
        "PYTHONPATH": str(copy),
        "PYTHONDONTWRITEBYTECODE": "1",
        "OMP_NUM_THREADS": "1",
    }
    quick = ["-x", "-q", "-p", "no:cacheprovider", "-m", "not slow"]
    command = [sys.executable, "-m", "pytest", *quick, *tests]
    try:
        return subprocess.run(command, cwd=copy, env=environment, capture_output=True, timeout=longest).returncode == 0
    except subprocess.TimeoutExpired:
        return False


def main() -> int:
    """Run a sample, say what survived, and return 1 where too much did."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sample", type=int, default=200, help="how many mutants")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("folders", nargs="*", help=f"rooms, of {', '.join(FOLDERS)}; all if left out")
    given = parser.parse_args()
    every = [one for folder in given.folders or FOLDERS for one in mutants(folder)]
    chosen = random.Random(given.seed).sample(every, min(given.sample, len(every)))
    survivors = []
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for part in ("troubleshoot", "tests", "trees", "scripts"):
            shutil.copytree(ROOT / part, copy / part, ignore=shutil.ignore_patterns("__pycache__"))
        for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
            shutil.copy(ROOT / name, copy / name)
        data = reached(copy)
        for number, mutant in enumerate(chosen, start=1):
            died = noticed(mutant, copy, data)
            line = f"{mutant.path}:{mutant.line} {mutant.words}"
            sys.stdout.write(f"{number:>4} {'died    ' if died else 'SURVIVED'} {line}\n")
            sys.stdout.flush()
            if not died:
                survivors.append(line)
    share = 1 - len(survivors) / len(chosen)
    sys.stdout.write(f"{len(chosen)} of {len(every)} mutants, {share:.0%} died (wanted {WANTED:.0%})\n")
    return 0 if share >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
