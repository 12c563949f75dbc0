"""The casebook: one file that keeps every case as a list of events, each on the disk before anyone is told so."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from zlib import crc32

from troubleshoot.casebook.refusing import CaseMovedOn, CaseUnknown, damaged, missing, plainly
from troubleshoot.casebook.schema import settle

IN_MEMORY = ":memory:"
"""In place of a path: a casebook that is forgotten when it is closed."""


@dataclass(frozen=True)
class CaseRow:
    """One line of the list of cases; times in seconds since 1970 (UTC)."""

    id: str
    opened: float
    touched: float
    headline: str
    state: str


def default_path() -> Path:
    """Return where the casebook is kept: in $TROUBLESHOOT_DATA, else in the platform's data folder."""
    own = os.environ.get("TROUBLESHOOT_DATA")
    if own:
        return Path(own) / "casebook.sqlite"
    from platformdirs import user_data_dir

    return Path(user_data_dir("troubleshoot", appauthor=False)) / "casebook.sqlite"


class Casebook:
    """An open casebook; raises `CasebookRefused` and nothing else."""

    def __init__(self, path: Path | str, wait: float = 5.0, writable: bool = True) -> None:
        """Open or make the file; `wait` is how many seconds another program may hold it."""
        self.path = Path(path)
        self._inside = False
        with plainly(self.path):
            self._connection = _connect(path, wait, writable)
            try:
                settle(self._connection, self.path, writable)
            except BaseException:
                self._connection.close()
                raise

    def new_case(self, at: float) -> str:
        """Enter a new case and return its id, a date with a number."""
        day = datetime.fromtimestamp(at, UTC).strftime("%Y-%m-%d")
        with self._writing() as connection:
            number = 1
            while self._has(f"{day}-{number}"):
                number += 1
            connection.execute("INSERT INTO cases (id, opened, touched) VALUES (?, ?, ?)", (f"{day}-{number}", at, at))
        return f"{day}-{number}"

    def append(self, case_id: str, payload: bytes, at: float, expected: int | None = None) -> int:
        """Write one event durably and return its place; `expected` is how many events the caller knows of."""
        with self._writing() as connection:
            self._known(case_id)
            (count,) = connection.execute("SELECT count(*) FROM events WHERE case_id = ?", (case_id,)).fetchone()
            if expected is not None and count != expected:
                raise CaseMovedOn(
                    f"Case {case_id} was added to from another window.", "Open the case again, then go on from there."
                )
            row = (case_id, count, at, payload, crc32(payload))
            connection.execute("INSERT INTO events VALUES (?, ?, ?, ?, ?)", row)
            connection.execute("UPDATE cases SET touched = max(touched, ?) WHERE id = ?", (at, case_id))
        return int(count)

    def events(self, case_id: str) -> list[bytes]:
        """Return the events of a case in their order; refuses a case with one that changed on the disk."""
        with plainly(self.path):
            self._known(case_id)
            rows = self._connection.execute(
                "SELECT number, payload, checksum FROM events WHERE case_id = ? ORDER BY number", (case_id,)
            ).fetchall()
        for place, (number, payload, checksum) in enumerate(rows):
            if number != place or crc32(payload) != checksum:
                raise damaged(self.path, f"is damaged: case {case_id} can be read up to event {place} only")
        return [payload for _, payload, _ in rows]

    def cases(self) -> tuple[CaseRow, ...]:
        """Return all cases, the one touched last first."""
        with plainly(self.path):
            rows = self._connection.execute(
                "SELECT id, opened, touched, headline, state FROM cases ORDER BY touched DESC, id DESC"
            ).fetchall()
        return tuple(CaseRow(*row) for row in rows)

    def set_headline(self, case_id: str, headline: str, state: str, proved: Sequence[str] = ()) -> None:
        """Write what the list of cases shows, and the causes a closed case proved."""
        with self._writing() as connection:
            self._known(case_id)
            connection.execute("UPDATE cases SET headline = ?, state = ? WHERE id = ?", (headline, state, case_id))
            connection.execute("DELETE FROM proved WHERE case_id = ?", (case_id,))
            for cause in dict.fromkeys(proved):
                connection.execute("INSERT INTO proved VALUES (?, ?)", (case_id, cause))

    def proved(self, leave_out: str = "") -> dict[str, int]:
        """Return how many closed cases proved each cause, leaving one case out."""
        with plainly(self.path):
            rows = self._connection.execute(
                "SELECT cause, count(*) FROM proved WHERE case_id <> ? GROUP BY cause ORDER BY cause", (leave_out,)
            ).fetchall()
        return {cause: int(count) for cause, count in rows}

    def delete(self, case_id: str) -> None:
        """Take a case out for good."""
        with self._writing() as connection:
            self._known(case_id)
            for table, column in (("events", "case_id"), ("proved", "case_id"), ("cases", "id")):
                connection.execute(f"DELETE FROM {table} WHERE {column} = ?", (case_id,))

    @contextmanager
    def all_or_nothing(self) -> Iterator[None]:
        """Make everything written inside the block stand or fall together."""
        with self._writing():
            yield

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def __enter__(self) -> Casebook:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _has(self, case_id: str) -> bool:
        return self._connection.execute("SELECT 1 FROM cases WHERE id = ?", (case_id,)).fetchone() is not None

    def _known(self, case_id: str) -> None:
        if not self._has(case_id):
            raise CaseUnknown(f"There is no case {case_id!r} in {self.path}.", "See `troubleshoot cases` for the list.")

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        if self._inside:
            yield self._connection
            return
        with plainly(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            self._inside = True
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
            finally:
                self._inside = False


def _connect(path: Path | str, wait: float, writable: bool) -> sqlite3.Connection:
    if str(path) == IN_MEMORY:
        return sqlite3.connect(IN_MEMORY, isolation_level=None)
    where = Path(path).absolute()
    if not writable and not where.exists():
        raise missing(where)
    if writable:
        where.parent.mkdir(parents=True, exist_ok=True)
    mode = "rwc" if writable else "ro"
    connection = sqlite3.connect(f"{where.as_uri()}?mode={mode}", timeout=wait, isolation_level=None, uri=True)
    try:
        connection.execute("PRAGMA synchronous = FULL")
        if writable and os.access(where, os.W_OK):
            _write_ahead(connection, wait)
    except BaseException:
        connection.close()
        raise
    return connection


def _write_ahead(connection: sqlite3.Connection, wait: float) -> None:
    """Set the journal to write ahead; SQLite does not wait by itself while another process sets it on a new file."""
    until = time.monotonic() + wait
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.01)
        else:
            return
