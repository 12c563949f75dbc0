"""How fast the virtual engine answers, on one core: `python scripts/bench_virtual_engine.py`.

Times are processor times, so that other work on the machine shows less. Cars carry random faults, so
that no shortcut of a healthy batch flatters the figure. The model calls nothing that starts threads.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

import numpy as np

from troubleshoot.virtual_engine.engines import ENGINES
from troubleshoot.virtual_engine.faults import FAULTS
from troubleshoot.virtual_engine.readings import readings
from troubleshoot.virtual_engine.traces import trace

FULL_AT_LEAST = 100.0  # sets a second, traces included, 1024 side by side
STEADY_AT_LEAST = 2500.0
TRACE_AT_MOST_S = 0.6  # ten seconds of one car
BEFORE = {"1,024 steady cars": 7.1, "256 full sets": 91.0, "one ten-second trace": 8.4}
"""What each took before the faults were made of trade size, in times of `yardstick` (two runs by turns)."""
AS_FAST = 1.15
"""How much more of it counts as no slower: two runs of one state differ by a tenth."""


def random_faults(count: int, seed: int = 1) -> list[list[tuple[str, float]]]:
    """One random fault a car, at random severity."""
    rng = np.random.default_rng(seed)
    names = [name for name, one in FAULTS.items() if "points" in one.applies_to]
    return [[(str(rng.choice(names)), float(rng.uniform(0.2, 1.0)))] for _ in range(count)]


def seconds(work: Callable[[], object], times: int) -> tuple[float, float]:
    """Return the median processor time and wall time of some work."""
    busy, wall = [], []
    for _ in range(times):
        began, at = time.process_time(), time.perf_counter()
        work()
        busy.append(time.process_time() - began)
        wall.append(time.perf_counter() - at)
    return statistics.median(busy), statistics.median(wall)


def table() -> list[tuple[str, str, str, str]]:
    """Return what was done, by processor time, by wall time, and what is asked for."""
    rows = []
    for count, times in ((1, 3), (64, 3), (1024, 3)):
        faults = random_faults(count)
        busy, wall = seconds(lambda f=faults: readings(ENGINES[0], "points", f, 1, only="steady"), times)
        asked = f"at least {STEADY_AT_LEAST:.0f}/s" if count == 1024 else ""
        rows.append((f"steady readings, {count} cars", f"{count / busy:.0f}/s", f"{count / wall:.0f}/s", asked))
    for count, times in ((1, 1), (64, 1), (1024, 1)):
        faults = random_faults(count)
        busy, wall = seconds(lambda f=faults: readings(ENGINES[0], "points", f, 1), times)
        asked = f"at least {FULL_AT_LEAST:.0f}/s" if count == 1024 else ""
        rows.append((f"all readings, {count} cars", f"{count / busy:.3g}/s", f"{count / wall:.3g}/s", asked))
    for engine in ENGINES:
        one = seconds(lambda e=engine: trace(e, "points", [("vacuum_leak", 0.5)], "warm-idle", 1, duration_s=10.0), 5)
        asked = f"at most {TRACE_AT_MOST_S} s"
        rows.append((f"one ten-second trace, {engine}", f"{one[0]:.2f} s", f"{one[1]:.2f} s", asked))
    return rows


def yardstick() -> None:
    """Do fixed work on one thread, as the model does: roots, exponentials and a sort of 1,024 columns."""
    numbers = np.random.default_rng(1).random((400, 1024))
    for _ in range(8):
        np.sort(np.exp(np.sqrt(numbers) * 0.5 - numbers), axis=1)


def ratios() -> list[tuple[str, float, float]]:
    """Return what was done, how many times the yardstick it took, and how many it took before."""
    faults = random_faults(1024)
    leak = [("vacuum_leak", 0.5)]
    work: dict[str, Callable[[], object]] = {
        "1,024 steady cars": lambda: readings(ENGINES[0], "points", faults, 1, only="steady"),
        "256 full sets": lambda: readings(ENGINES[0], "points", faults[:256], 1),
        "one ten-second trace": lambda: trace(ENGINES[0], "points", leak, "warm-idle", 1, duration_s=10.0),
    }
    stick = min(seconds(yardstick, 1)[0] for _ in range(5))
    return [(name, min(seconds(one, 1)[0] for _ in range(3)) / stick, BEFORE[name]) for name, one in work.items()]


def main() -> int:
    """Print the table."""
    readings(ENGINES[0], "points", [[]], 1, only="steady")  # imports and first calls
    sys.stdout.write(f"{'':38}{'processor':>12}{'wall':>12}   asked for\n")
    for what, busy, wall, asked in table():
        sys.stdout.write(f"{what:38}{busy:>12}{wall:>12}   {asked}\n")
    sys.stdout.write("\nin times of fixed work on this machine now; before; no slower?\n")
    for what, now, before in ratios():
        said = "yes" if now <= AS_FAST * before else "NO"
        sys.stdout.write(f"{what:38}{now:12.1f}{before:12.1f}   {said}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
