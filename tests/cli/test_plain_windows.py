"""Plain questions in a small terminal, and in a second window on the same case."""

from __future__ import annotations

import io
import json
import sys
import time
from collections.abc import Callable
from typing import Any

import pytest

from troubleshoot.case.case import resume_case
from troubleshoot.casebook.store import Casebook, default_path
from troubleshoot.cli.app import run
from troubleshoot.cli.plain_lines import NARROWEST, wrapped
from troubleshoot.knowledge.catalogue import load_catalogue

Command = Callable[..., Any]


@pytest.mark.parametrize(
    ("columns", "widest"), [("40", 39), ("1", NARROWEST + 7), ("0", 78), ("many", 78), ("500", 78)]
)
def test_lines_fit_the_columns_there_are(monkeypatch: pytest.MonkeyPatch, columns: str, widest: int) -> None:
    """What `COLUMNS` says counts; what is no number of columns does not."""
    monkeypatch.setenv("COLUMNS", columns)
    found = wrapped("words of a sentence " * 20, "  Why: ")
    assert widest - 10 < max(map(len, found)) <= widest


def test_a_case_that_went_on_in_another_window_is_left(
    command: Command, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first answer that is refused so ends it, with how to go on; it does not ask for ever."""
    command("ask", "lean-top", "--car", "harrow-240", answers="y\n")
    case_id = json.loads(command("cases", "--json").out)[0]["id"]

    class Keyboard(io.StringIO):
        """Answers, once the other window has written a note."""

        def readline(self, _size: int | None = -1, /) -> str:
            with Casebook(default_path()) as book:
                resume_case(book, load_catalogue(), case_id, time.time).note("from the other window")
            return "note from this one\n"

    monkeypatch.setattr(sys, "stdin", Keyboard())
    assert run(["ask", "--case", case_id]) == 0
    out = capsys.readouterr().out
    assert out.count("from another window") == 1
    assert f"To go on: troubleshoot ask --case {case_id}" in out
