"""Speed of a large casebook, beside counting its events, which SQLite does at its own speed on any machine.

Times are processor times, so that other work on the machine shows less. `python scripts/bench_casebook.py [CASES]`.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

CASES = 100_000
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
        raw = sqlite3.connect(path)
        counting = took(lambda: raw.execute("SELECT sum(length(payload)) FROM events").fetchone())
        raw.close()
        sys.stdout.write(f"casebook of {cases} cases, {len(held.events)} events each, {size:.0f} MB\n")
        for what, wanted, work in words:
            mine = took(work)
            sys.stdout.write(
                f"  {what:<26}{mine * 1000:8.1f} ms   (wanted under {wanted * 1000:.0f})   "
                f"{mine / counting:.2f} x reading every event\n"
            )


def main(cases: int = CASES) -> int:
    """Print the figures."""
    casebook(cases)
    return 0


if __name__ == "__main__":
    sys.exit(main(*(int(one) for one in sys.argv[1:2])))
