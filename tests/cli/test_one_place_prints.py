"""Only `output` prints, so that encodings, closed pipes and control characters are dealt with in one place."""

from __future__ import annotations

import ast
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import troubleshoot.cli
from troubleshoot.cli import output

FILES = sorted(Path(troubleshoot.cli.__file__).parent.glob("*.py"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_nothing_else_prints(file: Path) -> None:
    if file.name == "output.py":
        return
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            assert called not in ("print", "typer.echo", "sys.stdout.write", "sys.stderr.write", "input"), called


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "latin-1", "utf-8", "no-such-encoding", None])
@pytest.mark.parametrize("text", ["38 ± 1 °F — “low” │ █▌ λ Ω", "\x1b[2J\x07\x9b", "日本 \ud800", "a\tb\nc"])
def test_anything_can_be_written_in_any_encoding(encoding: str | None, text: str) -> None:
    made = output.fit(text, encoding)
    made.encode("ascii" if encoding == "no-such-encoding" else encoding or "utf-8")
    assert not {one for one in made if one < " " and one not in "\n\t"}
    assert "\x9b" not in made


def test_signs_that_turn_the_writing_or_take_no_room_are_made_visible() -> None:
    assert output.fit("car\u202egnp\u200b.exe\t\u00ad", "utf-8") == "car\\u202egnp\\u200b.exe\t\\u00ad"


def test_other_spellings_and_the_short_version(command: Callable[..., Any]) -> None:
    assert command("practice", "--help").code == 0
    assert command("-V").out == command("--version").out


def test_in_the_c_locale_words_are_ascii_and_data_lose_nothing(command, monkeypatch) -> None:
    """POSIX: LC_ALL before LC_CTYPE before LANG. A table is written in plain signs; JSON and documents are whole."""
    rich = json.loads(command("calc", "--json").out)
    assert not str(rich).isascii()
    monkeypatch.setenv("LC_ALL", "C")
    found = command("calc", "--json").out
    assert found.isascii() and json.loads(found) == rich
    assert command("calc").out.isascii()
    page = command("chart", "lean-top", "--car", "harrow-240", "--paper", "-").out
    assert page.startswith("# ") and not page.isascii()
