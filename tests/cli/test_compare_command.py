"""The command that compares pulls, and the baseline kept with a car."""

from __future__ import annotations

import json
import re
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


def test_a_comparison_stands_in_the_report_of_its_case(command: Command, tmp_path: Path) -> None:
    """The baseline goes by the car, named by its id or its title; pulls alike show no difference."""
    for name, gain in (("a", 0), ("b", 3), ("c", 1), ("d", 2)):
        table(tmp_path / f"{name}.csv", gain)
    opened = command("ask", "lean-top", "--car", "harrow-240", answers="")
    case = re.search(r"^Case (\S+):", opened.out, re.MULTILINE)
    assert case
    assert command("compare", "--before", "a.csv", "--before", "b.csv", "--keep-baseline", "harrow-240").code == 0
    ran = command("compare", "--baseline", "Harrow 240", "--after", "c.csv", "--after", "d.csv", "--case", case[1])
    assert ran.code == 0
    assert "No difference shown from 2000 to 5000 rpm" in ran.out
    for form in ("--html", "--markdown", "--text"):
        assert "No difference shown from 2000 to 5000 rpm" in " ".join(command("report", case[1], form).out.split())
    assert command("report", case[1], "--html").out.count("<svg") >= 2
    assert command("compare", "--after", "c.csv").code == 2


def test_pulls_are_compared_in_the_conversation(command: Command, tmp_path: Path) -> None:
    """What the screens compare, plain questions compare too, the baseline with it."""
    for name, gain in (("a", 0), ("b", 1), ("c", 20), ("d", 21)):
        table(tmp_path / f"{name}.csv", gain)
    words = (
        "compare",
        "a.csv; b.csv",
        "",
        "y",
        "",
        "compare",
        "",
        "none.csv",
        "",
        "compare",
        "",
        "c.csv;d.csv",
        "",
        "y",
    )
    ran = command("ask", "lean-top", "--car", "harrow-240", answers="\n".join(("y",) * 4 + words + ("report",)))
    assert ran.code == 0
    assert "The pulls are kept as the baseline of Harrow 240." in ran.out
    assert "none.csv" in ran.out
    assert ran.out.count("After it has more") == 2, "said, and in the report"
