"""Measure speed: `python scripts/bench.py [reasoning|walks|screens|engine|class|casebook|recordings|commands]`.

Timings live here and not in the tests, so that a busy machine never fails a check.
"""

from __future__ import annotations

import importlib
import statistics
import subprocess
import sys
import time
from pathlib import Path

PARTS = {
    "reasoning": "bench_reasoning",
    "walks": "bench_walks",
    "screens": "bench_screens",
    "engine": "bench_virtual_engine",
    "class": "bench_class",
    "casebook": "bench_casebook",
    "recordings": "bench_recordings",
}


def seconds(command: list[str], times: int = 7) -> float:
    """Return the median wall time of a command in a fresh process."""
    taken = []
    for _ in range(times + 1):
        began = time.perf_counter()
        subprocess.run(command, check=False, capture_output=True)
        taken.append(time.perf_counter() - began)
    return statistics.median(taken[1:])


def commands() -> None:
    """Print the cold start of the plain commands against a bare Python."""
    bare = seconds([sys.executable, "-c", "pass"])
    rows = {
        "--version": ["--version"],
        "calc dwell-time": ["calc", "dwell-time", "--dwell-angle", "30", "--speed", "4500"],
        "lint": ["lint"],
    }
    sys.stdout.write(f"bare Python                 {bare * 1000:7.0f} ms\n")
    for name, arguments in rows.items():
        taken = seconds([sys.executable, "-m", "troubleshoot", *arguments])
        sys.stdout.write(f"troubleshoot {name:<15}{taken * 1000:7.0f} ms   {taken / bare:5.1f} x bare Python\n")


def main() -> int:
    """Run the parts named, or all."""
    sys.path.insert(0, str(Path(__file__).parent))
    wanted = sys.argv[1:] or [*PARTS, "commands"]
    unknown = [name for name in wanted if name not in PARTS and name != "commands"]
    if unknown:
        sys.stderr.write(f"No such part: {', '.join(unknown)}. Choose from {', '.join([*PARTS, 'commands'])}.\n")
        return 2
    for name in wanted:
        sys.stdout.write(f"== {name}\n")
        if name == "commands":
            commands()
        else:
            importlib.import_module(PARTS[name]).main()
    return 0


if __name__ == "__main__":
    sys.exit(main())
