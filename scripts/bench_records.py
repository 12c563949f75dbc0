"""Speed of a large casebook and of a long log, each beside plain work of the same size on the same machine.

Times are processor times, so that other work on the machine shows less. `python scripts/bench_records.py [CASES]`.
"""

from __future__ import annotations

import csv
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

CASES = 100_000
ROWS, COLUMNS = 20_000, 20
OPENS, FINDS = 0.5, 0.2
"""Seconds wanted for opening a casebook, and for its list and a search."""


def took(work: Callable[[], object], times: int = 3) -> float:
    """Return the least seconds of processor time of so many goes."""
    taken = []
    for _ in range(times):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return min(taken)


def casebook(cases: int) -> None:
    """Print how long a casebook of so many cases takes to open, list and search."""
    from hostile_kills import filled

    from troubleshoot.casebook.store import Casebook

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "casebook.sqlite"
        first = filled(path, 1)
        with Casebook(path) as book:
            held = book.kept(first)
            with book.all_or_nothing():
                for number in range(cases - 1):
                    book.restore(replace(held, headline=f"{held.headline} plate{number % 997}"))
        words = (
            ("opens", OPENS, lambda: Casebook(path).close()),
            ("first 200 of its list", FINDS, lambda: Casebook(path, writable=False).cases(most=200)),
            ("a word in one of 997", FINDS, lambda: Casebook(path, writable=False).cases("plate13", most=200)),
            ("a word in all", FINDS, lambda: Casebook(path, writable=False).cases("lean", most=200)),
            ("what closed cases taught", FINDS, lambda: Casebook(path, writable=False).proved()),
        )
        size = path.stat().st_size / 1e6
        sys.stdout.write(f"casebook of {cases} cases, {len(held.events)} events each, {size:.0f} MB\n")
        for what, wanted, work in words:
            sys.stdout.write(f"  {what:<26}{took(work) * 1000:8.1f} ms   (wanted under {wanted * 1000:.0f})\n")


def recordings() -> None:
    """Print how long a log takes to become readings, beside reading its cells alone."""
    from troubleshoot.recordings.log import read_log
    from troubleshoot.recordings.readings import readings_from

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        heads = ["time (s)", "rpm", "TP", "fuel pressure (psi)", "lambda", *(f"more{n}" for n in range(COLUMNS - 5))]
        more = ["1.5", "44", "0.98", *["1.25"] * (COLUMNS - 5)]
        rows = [[f"{at / 20:.2f}", str(750 + at % 9), *more] for at in range(ROWS)]
        path.write_text("\n".join(",".join(row) for row in [heads, *rows]), encoding="utf-8")

        def plainly() -> None:
            with path.open(encoding="utf-8", newline="") as file:
                next(cells := csv.reader(file))
                for row in cells:
                    [float(cell) for cell in row]

        plain, ours = took(plainly), took(lambda: readings_from(read_log(path)))
        sys.stdout.write(
            f"log of {ROWS} rows, {COLUMNS} columns\n"
            f"  to readings               {ours * 1000:8.1f} ms   {ours / plain:.1f} x reading its cells\n"
        )


def main(cases: int = CASES) -> int:
    """Print both."""
    casebook(cases)
    recordings()
    return 0


if __name__ == "__main__":
    sys.exit(main(*(int(one) for one in sys.argv[1:2])))
