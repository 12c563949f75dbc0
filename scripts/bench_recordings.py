"""Measure the reading of recordings: 200,000 rows of 40 columns, a sound and a capture: `scripts/bench.py recordings`.

Each file is read in a process of its own, so that its memory is its own. The ratio is to Python's csv module, which
reads the first log into lists of words: it says the same on any machine.
"""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from troubleshoot.classroom.handed_files import wav_of
from troubleshoot.virtual_engine import captures
from troubleshoot.virtual_engine.captures import Ignition
from troubleshoot.virtual_engine.exhaust_sound import exhaust_sound

ROWS, COLUMNS = 200_000, 40
MOST_S, MOST_MB = 3.0, 500.0
KNOWN = (
    "time", "rpm", "throttle", "lambda", "map", "ect", "iat", "batt", "duty", "fuel pressure", "pump volts", "timing",
    "baro", "correction", "idle valve", "pulse width",
)  # fmt: skip
READER = """
import json, sys, time
from pathlib import Path
from troubleshoot.recordings.reading_files import Asked, read_recording
from troubleshoot.recordings.log import read_log
began = time.process_time()
if sys.argv[2] == "log":
    read_log(Path(sys.argv[1]))
else:
    read_recording(Asked(Path(sys.argv[1]), sys.argv[2], 8))
seconds = time.process_time() - began
status = Path("/proc/self/status").read_text() if Path("/proc/self/status").exists() else ""
highest = next((one.split()[1] for one in status.splitlines() if one.startswith("VmHWM")), "nan")
print(json.dumps([seconds, float(highest) / 1024]))
"""


def plain_rows() -> list[list[str]]:
    """Return the cells of a log of an idle, with a column for each heading."""
    stream = np.random.default_rng(1)
    values = 100.0 + 50.0 * stream.standard_normal((ROWS, COLUMNS))
    values[:, 0], values[:, 1] = np.arange(ROWS) / 100.0, 800.0 + 10.0 * stream.standard_normal(ROWS)
    return [[f"{one:.3f}" for one in row] for row in values]


def with_gaps(rows: list[list[str]]) -> list[list[str]]:
    """Return the rows with the clock's time, three cells of four empty, and a word in others."""
    made = []
    for at, row in enumerate(rows):
        cells = [one if place < 2 or (at + place) % 4 == 0 else "" for place, one in enumerate(row)]
        cells[0] = f"{at // 360_000:02d}:{at // 6000 % 60:02d}:{at / 100 % 60:06.3f}"
        cells[5] = "OFF" if at % 7 else cells[5]
        made.append(cells)
    return made


def text_of(rows: list[list[str]], separator: str, comma: bool) -> bytes:
    """Return a file of rows under headings."""
    headings = separator.join([*KNOWN, *(f"x{place}" for place in range(COLUMNS - len(KNOWN)))])
    body = "\n".join(separator.join(row) for row in rows)
    return f"{headings}\n{body.replace('.', ',') if comma else body}\n".encode()


def capture_text() -> bytes:
    """Return two seconds of coil minus at 50,000 samples a second."""
    volts = captures.coil_minus(Ignition(8, (30.0,), bounce_ms=0.4), [800.0], 50_000.0, 2.0)
    return ("time (s),coil (V)\n" + "".join(f"{at / 5e4:.5f},{one:.3f}\n" for at, one in enumerate(volts))).encode()


def csv_seconds(path: Path) -> float:
    """Return the processor time in which the csv module reads a file."""
    began = time.process_time()
    with path.open(encoding="utf-8", newline="") as text:
        for _ in csv.reader(text):
            pass
    return time.process_time() - began


def main() -> None:
    """Print processor time and memory of each."""
    rows = plain_rows()
    made: list[tuple[str, str, str, Callable[[], bytes]]] = [
        ("log, points and commas", "a.csv", "log", lambda: text_of(rows, ",", comma=False)),
        ("log, decimal commas", "b.csv", "log", lambda: text_of(rows, ";", comma=True)),
        ("log, clock, gaps and words", "c.csv", "log", lambda: text_of(with_gaps(rows), "\t", comma=False)),
        ("sound of a minute", "d.wav", "sound", lambda: wav_of(exhaust_sound([0, 60], [800, 800], 8), 16_000)),
        ("capture of 100,000 samples", "e.csv", "coil", capture_text),
    ]
    of_csv = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for words, name, what, content in made:
            path = Path(folder) / name
            path.write_bytes(content())
            of_csv = of_csv or csv_seconds(path)
            ran = subprocess.run(
                [sys.executable, "-c", READER, str(path), what], check=True, capture_output=True, text=True
            )
            seconds, memory = json.loads(ran.stdout)
            ratio = f"{seconds / of_csv:5.2f} x csv"
            limit = f"  at most {MOST_S:.0f} s, {MOST_MB:.0f} MB" if what == "log" else ""
            sys.stdout.write(f"{words:<28}{seconds:6.2f} s processor {memory:6.0f} MB {ratio}{limit}\n")
            path.unlink()
