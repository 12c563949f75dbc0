"""Copies of the casebook: one a week by itself, one whenever asked for, and a look whether the file is whole."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from troubleshoot.casebook.connecting import connect
from troubleshoot.casebook.refusing import CasebookRefused, plainly
from troubleshoot.casebook.store import Casebook
from troubleshoot.file_writing import PRIVATE, beside

WEEK = 7 * 86_400.0
KEPT = 4
"""As many weekly copies are kept; older ones are deleted."""

WAIT = 5.0
"""Seconds that another program may hold the casebook."""

PAGES_AT_ONCE = 512
"""Copied before another program may write; a page is 4 kB."""

Progress = Callable[[float], object]
"""Told the share that is done, 0 to 1."""


def backups(casebook: Path) -> tuple[Path, ...]:
    """Return the weekly copies of a casebook, the newest first."""
    return tuple(sorted(casebook.parent.glob(f"{casebook.stem}-backup-????-??-??.sqlite"), reverse=True))


def back_up_if_due(casebook: Path, now: float) -> Path | None:
    """Make the week's copy beside the casebook if the last one is a week old; return it, or None.

    It never raises: that no copy could be made must keep nobody from a case. `cases backup` says why.
    """
    try:
        have = backups(casebook)
        if not casebook.is_file() or (have and 0 <= now - have[0].stat().st_mtime < WEEK):
            return None
        day = datetime.fromtimestamp(now, UTC).strftime("%Y-%m-%d")
        made = back_up(casebook, casebook.with_name(f"{casebook.stem}-backup-{day}.sqlite"))
        os.utime(made, (now, now))
        for old in backups(casebook)[KEPT:]:
            old.unlink()
    except (CasebookRefused, OSError, ValueError, OverflowError):
        return None
    return made


def back_up(casebook: Path, to: Path, progress: Progress | None = None) -> Path:
    """Write a whole copy of a casebook, while it may be in use; CasebookRefused or OSError leave nothing behind."""
    with beside(to.absolute()) as unfinished:
        with plainly(casebook, to):
            _copy(casebook, unfinished, progress)
        unfinished.chmod(PRIVATE)
        unfinished.replace(to)
    return to


def _copy(source: Path, target: Path, progress: Progress | None) -> None:
    def tell(_: int, remaining: int, total: int) -> None:
        if progress is not None and total:
            progress(1 - remaining / total)

    with (
        contextlib.closing(connect(source, WAIT, writable=False)) as here,
        contextlib.closing(sqlite3.connect(target)) as there,
    ):
        here.backup(there, pages=PAGES_AT_ONCE, progress=tell, sleep=0.0)
        there.execute("PRAGMA journal_mode = DELETE")
        if there.execute("PRAGMA quick_check").fetchone()[0] != "ok":
            raise sqlite3.DatabaseError("the copy is not whole")


def faults(casebook: Path, progress: Progress | None = None) -> tuple[str, ...]:
    """Return what is damaged in a casebook, a sentence each; nothing if it is whole.

    CasebookRefused for a file that cannot be read as a casebook at all.
    """
    found = []
    with Casebook(casebook, writable=False) as book:
        found += [f"The file's own order is damaged: {said}." for said in book.disorder()]
        rows = book.cases()
        for number, row in enumerate(rows):
            try:
                book.events(row.id)
            except CasebookRefused as damage:
                found.append(damage.sentence)
            if progress is not None and number % 100 == 0:
                progress(number / len(rows))
    return tuple(found)
