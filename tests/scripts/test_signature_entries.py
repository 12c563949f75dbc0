"""Entries of `moved-by` changed in the text of the shipped checks: that is what they say, and nothing else moves."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from ruamel.yaml import YAML

ROOT = Path(__file__).parents[2]
FILES = sorted((ROOT / "trees" / "checks").glob("*.yaml"))
SMALL = """\
one:
  ask: One
  moved-by:
    plain: {low: often}
    # what is said of the next
    folded: {low: seldom,
        why: "A reason, with a comma and a }."}
    block:
      low: usually
      why: A reason, on two
        lines of its own.
  cannot: Look.

# a comment of the second
two:
  moved-by:
    plain: {high: often, why: Short.}
"""


@pytest.fixture(scope="module")
def entries() -> ModuleType:
    spec = importlib.util.spec_from_file_location("signature_entries", ROOT / "scripts" / "signature_entries.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def said(text: str) -> dict[str, Any]:
    """Return a checks file as an independent reader understands it; it refuses a cause that is named twice."""
    return dict(YAML(typ="safe", pure=True).load(text))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_without_changes_every_shipped_file_stays_to_the_letter(entries: ModuleType, path: Path) -> None:
    lines = path.read_text(encoding="utf-8").split("\n")
    assert entries.rewritten(lines, {}) == lines


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_entry_changed_and_one_new_says_just_that(entries: ModuleType, path: Path) -> None:
    """Each entry gets new outcomes and keeps its reason, and each check gains a cause; the rest reads as before."""
    before = said(path.read_text(encoding="utf-8"))
    changes = {
        check: dict.fromkeys([*form["moved-by"], "quite-new"], "first: 0.25, second: 0.75")
        for check, form in before.items()
        if form.get("moved-by")
    }
    lines = entries.rewritten(path.read_text(encoding="utf-8").split("\n"), changes)
    after = said("\n".join(lines))
    for check, causes in changes.items():
        wanted = {
            cause: {"first": 0.25, "second": 0.75}
            | {k: v for k, v in before[check]["moved-by"].get(cause, {}).items() if k == "why"}
            for cause in causes
        }
        assert after[check].pop("moved-by") == wanted
        before[check].pop("moved-by")
    assert after == before


CHANGED = """\
one:
  ask: One
  moved-by:
    plain: {low: often}
    # what is said of the next
    folded: {low: 0.30,
        why: "A reason, with a comma and a }."}
    block:
      low: 0.40
      high: 0.10
      why: A reason, on two
        lines of its own.
    new: {high: 0.20}
  cannot: Look.

# a comment of the second
two:
  moved-by:
    plain: {high: 0.50, why: Short.}
    new: {high: 0.60}
"""


def test_comments_quotes_and_lines_of_a_reason_are_kept(entries: ModuleType) -> None:
    """A new entry stands after the last of its section, ahead of the empty line, and at the end of a file too."""
    changes = {
        "one": {"folded": "low: 0.30", "block": "low: 0.40, high: 0.10", "new": "high: 0.20"},
        "two": {"plain": "high: 0.50", "new": "high: 0.60"},
    }
    assert "\n".join(entries.rewritten(SMALL.split("\n"), changes)) == CHANGED
