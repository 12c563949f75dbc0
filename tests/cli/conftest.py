"""Run the command line as a person would: arguments and answers in, streams and exit code out."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from troubleshoot.cli.app import run


@dataclass(frozen=True)
class Ran:
    """What came of a command."""

    code: int
    out: str
    err: str


Command = Callable[..., Ran]


@pytest.fixture
def command(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Command:
    monkeypatch.chdir(tmp_path)

    def ran(*arguments: str, answers: str = "") -> Ran:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(answers.encode()), encoding="utf-8"))
        capsys.readouterr()
        code = run(list(arguments))
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return ran
