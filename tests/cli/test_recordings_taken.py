"""A log and a capture taken into a case by `ask`, kept with file, hash, stretch and method, and drawn in the report."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np

from tests.cli.conftest import Command
from tests.recordings.test_captures import wav_of
from troubleshoot.virtual_engine import captures
from troubleshoot.virtual_engine.captures import Ignition
from troubleshoot.virtual_engine.exhaust_sound import exhaust_sound

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
    assert "normal: pressure when lean" in page
    assert "<circle" in page.partition("normal: pressure when lean")[2]
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


def test_a_sound_and_headings_named_in_the_conversation(command: Command, tmp_path: Path) -> None:
    """The picture of a capture has dwell and bounce, that of a sound its speed; a log's headings are named there."""
    moments = np.arange(0, 12, 0.1)
    speeds = 740 + 60 * np.sin(2 * np.pi * moments / 2.4)
    heard = exhaust_sound(moments, speeds, 8, 8000.0, 15.0)
    (tmp_path / "idle.wav").write_bytes(wav_of(heard, 8000, 1.0))
    pull_file(tmp_path / "p.csv")
    foreign = (tmp_path / "p.csv").read_text(encoding="utf-8").replace("time,rpm", "Zeit,Drehzahl", 1)
    (tmp_path / "p.csv").write_text(foreign, encoding="utf-8")
    answers = "log p.csv\nlog p.csv time=Zeit engine-speed=Drehzahl\nlog p.csv 1\nsound idle.wav\nsound idle.wav all\n"
    shown = command("ask", "lean-top", "--car", "harrow-240", answers=f"{CAUTIONS}{answers}")
    assert "say which it is behind the file's name, time=HEADING" in " ".join(shown.out.split())
    assert "1 reading taken from p.csv." in shown.out
    assert "The speed swings about every 2.4" in shown.out
    assert "2 readings taken from idle.wav." in shown.out
    case = re.search(r"^Case (\S+):", shown.out, re.MULTILINE)
    assert case
    page = command("report", case[1], "--html").out
    assert re.search(r"sound idle\.wav, [\d.]+ to [\d.]+ s: firing frequency of the sound \(SHA-256", page)
    assert page.count("<polyline") >= 2


def test_rank_takes_readings_from_every_kind_of_recording(command: Command, tmp_path: Path) -> None:
    pull_file(tmp_path / "pull.csv")
    volts = captures.coil_minus(Ignition(8, (30.0,), bounce_ms=0.5), [750.0], 8000.0, 2.0)
    (tmp_path / "coil.csv").write_text(
        "Time (s),Coil (V)\n" + "\n".join(f"{at / 8000:.6f},{one:.3f}" for at, one in enumerate(volts)),
        encoding="utf-8",
    )
    (tmp_path / "idle.wav").write_bytes(wav_of(exhaust_sound([0, 6], [760, 760], 8, 8000.0, 15.0), 8000, 1.0))
    files = ("--run", "pull.csv", "--sound", "idle.wav", "--capture", "coil=coil.csv", "--json")
    ran = command("rank", "lean-top", "--car", "harrow-240", *files)
    assert ran.code == 0
    read = {one["check"]: one["read"] for one in json.loads(ran.out)["readings"]}
    assert read["pressure-when-lean"].startswith("39")
    assert read["dwell-at-idle"].startswith("30")
    assert read["idle-speed"].startswith("76")
    assert command("rank", "lean-top", "--car", "harrow-240", "--capture", "coil.csv").code == 2
