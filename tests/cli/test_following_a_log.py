"""A log that grows while it is read: only whole lines count, readings come as they change."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command
from troubleshoot.cli import log_following


def test_readings_come_while_the_log_grows(command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rest of the log is written when the command first waits for it."""
    path = tmp_path / "live.csv"
    rows = [f"{at * 0.1:.1f},{750 + at % 5},1.5,{44 + at // 120}" for at in range(240)]
    path.write_text("time,rpm,TP,fuel pressure\n" + "\n".join(rows[:120]) + "\n12.", encoding="utf-8")
    rest = ["0" + rows[120].removeprefix("12.0") + "\n" + "\n".join(rows[121:]) + "\n"]

    def grow(_: float) -> None:
        if rest:
            with path.open("a", encoding="utf-8") as file:
                file.write(rest.pop())

    monkeypatch.setattr(log_following.time, "sleep", grow)
    ran = command("run", "live.csv", "--follow", "--patience", "1")
    assert ran.code == 0
    said = [line for line in ran.out.splitlines() if line.startswith("pressure-at-idle")]
    assert len(said) == 2
    assert said[0].startswith("pressure-at-idle: 44 ±")
    assert said[1] != said[0]
    assert "Idle:" in ran.err


def test_what_never_becomes_a_log_is_refused(command: Command, tmp_path: Path) -> None:
    (tmp_path / "no.csv").write_text("hello\n", encoding="utf-8")
    assert command("run", "no.csv", "--follow", "--patience", "0").code == 2
    assert command("run", "gone.csv", "--follow", "--patience", "0").code == 2
