"""The command that compares pulls, and the baseline kept with a car."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Command
from tests.recordings.test_comparing import table


def test_the_command_and_the_baseline_of_a_car(command: Command, tmp_path: Path) -> None:
    for name, gain in (("a", 0), ("b", 1), ("c", 20), ("d", 21)):
        table(tmp_path / f"{name}.csv", gain)
    kept = command("compare", "--before", "a.csv", "--before", "b.csv", "--keep-baseline", "Coupe 302")
    assert kept.code == 0
    assert "Kept 2 pulls" in kept.err
    after = ("--after", "c.csv", "--after", "d.csv")
    ran = command("compare", "--baseline", "Coupe 302", *after, "-o", "page.html")
    assert ran.code == 0
    assert "After it has more" in ran.out
    assert "<svg" in (tmp_path / "page.html").read_text(encoding="utf-8")
    data = json.loads(command("compare", "--baseline", "Coupe 302", *after, "--json").out)
    assert data["shown"] is True
    assert data["mean"]["difference"] == pytest.approx(20 * 3500 / 5252.113, rel=0.01)
    refused = command("compare", "--baseline", "Sedan", *after)
    assert refused.code == 2
    assert "kept are: Coupe 302" in refused.err
