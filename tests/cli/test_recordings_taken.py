"""A log and a capture taken into a case by `ask`, kept with file, hash, stretch and method, and drawn in the report."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from tests.cli.conftest import Command
from troubleshoot.virtual_engine import captures
from troubleshoot.virtual_engine.captures import Ignition

CAUTIONS = "y\n" * 8


def pull_file(path: Path) -> None:
    rows = [f"{at / 20:.2f},{1500 + 30 * at},100,{50 - at / 10:.2f},{0.86 + at / 500:.3f}" for at in range(110)]
    path.write_text("\n".join(["time,rpm,throttle,fuel pressure,lambda", *rows]), encoding="utf-8")


def test_readings_of_a_log_are_taken_and_kept(command: Command, tmp_path: Path) -> None:
    pull_file(tmp_path / "pull run.csv")
    shown = command("ask", "lean-top", "--car", "harrow-240", answers=f"{CAUTIONS}log 'pull run.csv'\n")
    assert shown.code == 0
    assert "Fuel pressure at the moment the mixture goes lean: 39." in shown.out
    assert "To take them: log 'pull run.csv' all" in shown.out
    assert max(map(len, shown.out.partition("log 'pull run.csv'")[2].splitlines())) <= 80
    case = re.search(r"^Case (\S+):", shown.out, re.MULTILINE)
    assert case
    taken = command("ask", "--case", case[1], answers=f"{CAUTIONS}log 'pull run.csv' 1\ntrail\n")
    assert "1 reading taken from pull run.csv." in taken.out
    assert "Recording: log: pull run.csv" in taken.out
    ran = command("report", case[1], "--html")
    page = ran.out
    assert "<svg" in page
    assert re.search(r"log pull run\.csv, [\d.]+ to [\d.]+ s: mean over 0\.2 s at the leanest moment \(SHA-256", page)


def test_a_capture_and_what_is_wrong_with_the_words(command: Command, tmp_path: Path) -> None:
    volts = captures.coil_minus(Ignition(8, (30.0,)), [750.0], 10_000.0, 2.0)
    np.savetxt(
        tmp_path / "coil.csv",
        np.column_stack((np.arange(volts.size) / 1e4, volts)),
        "%.5g",
        ",",
        header="Time (s),Coil (V)",
        comments="",
    )
    ran = command(
        "ask",
        "wont-rev",
        "--car",
        "harrow-240",
        answers=f"{CAUTIONS}log\nlog none.csv\ncapture coil.csv coil 7\ncapture coil.csv coil all\n",
    )
    assert "Name the file of the recording." in ran.out
    assert "none.csv: the file cannot be read" in ran.out
    assert "There is no reading 7 here; they are 1 to 1." in ran.out
    assert "1 reading taken from coil.csv." in ran.out
