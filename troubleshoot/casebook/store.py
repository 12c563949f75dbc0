"""The casebook: one file that keeps every case as a list of events, each on the disk before anyone is told so."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from zlib import crc32

from troubleshoot.casebook.connecting import IN_MEMORY, connect
from troubleshoot.casebook.refusing import CasebookRefused, CaseMovedOn, CaseUnknown, at_once, damaged, gone, plainly
from troubleshoot.casebook.schema import chained

__all__ = ["IN_MEMORY", "CaseRow", "Casebook", "Kept", "default_path"]

LATEST = 32_503_680_000.0
"""Seconds since 1970 at the end of the year 2999; a time beyond it is no time of a case."""


@dataclass(frozen=True)
class CaseRow:
    """One line of the list of cases; times in seconds since 1970 (UTC)."""

    id: str
    opened: float
    touched: float
    headline: str
    state: str


@dataclass(frozen=True)
class Kept:
    """A whole case as it is carried from one casebook to another; events with their times, in their order."""

    id: str
    opened: float
    headline: str
    state: str
    events: Sequence[tuple[bytes, float]]
    proved: tuple[str, ...] = ()


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
            self._connection = connect(path, wait, writable)
            self._file = self._same_file() if writable and str(path) != IN_MEMORY else None

    def new_case(self, at: float) -> str:
        """Enter a new case and return its id, a date with a number."""
        if not 0.0 <= at < LATEST:
            raise CasebookRefused(
                f"{at} is no time in seconds since 1970 that a case can have.",
                "Set the computer's clock, then try again.",
            )
        day = datetime.fromtimestamp(at, UTC).strftime("%Y-%m-%d")
        with self._writing() as connection:
            # "." follows "-" in the order of the ids, so these are the ids of this day.
            (last,) = connection.execute(
                "SELECT max(CAST(substr(id, ?) AS INTEGER)) FROM cases WHERE id > ? AND id < ?",
                (len(day) + 2, f"{day}-", f"{day}."),
            ).fetchone()
            case_id = f"{day}-{(last or 0) + 1}"
            connection.execute("INSERT INTO cases (id, opened, touched) VALUES (?, ?, ?)", (case_id, at, at))
            connection.execute("INSERT INTO case_words VALUES (?, ?)", (case_id, case_id))
        return case_id

    def restore(self, case: Kept) -> str:
        """Enter a whole case under its own id, or where that is taken or empty under a new one; return the id."""
        with self._writing() as connection:
            case_id = case.id
            if not case_id or connection.execute("SELECT 1 FROM cases WHERE id = ?", (case_id,)).fetchone():
                case_id = self.new_case(case.opened)
            else:
                row = (case_id, case.opened, case.opened)
                connection.execute("INSERT INTO cases (id, opened, touched) VALUES (?, ?, ?)", row)
            chain, rows = 0, []
            for place, (payload, at) in enumerate(case.events):
                checksum = crc32(payload)
                rows.append((case_id, place, at, payload, checksum))
                chain = chained(chain, checksum)
            connection.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?)", rows)
            connection.execute(
                "UPDATE cases SET touched = ?, length = ?, chain = ? WHERE id = ?",
                (max([case.opened, *(at for _, at in case.events)]), len(rows), chain, case_id),
            )
            self.set_headline(case_id, case.headline, case.state, case.proved)
        return case_id

    def kept(self, case_id: str) -> Kept:
        """Return a whole case, to be carried elsewhere; refuses one that is damaged or not there."""
        payloads = self.events(case_id)
        with plainly(self.path):
            (row,) = self.cases(case_id=case_id)
            times = self._connection.execute("SELECT at FROM events WHERE case_id = ? ORDER BY number", (case_id,))
            events = list(zip(payloads, (at for (at,) in times.fetchall()), strict=True))
            proved = self._connection.execute("SELECT cause FROM proved WHERE case_id = ? ORDER BY cause", (case_id,))
            causes = tuple(cause for (cause,) in proved.fetchall())
        return Kept(case_id, row.opened, row.headline, row.state, events, causes)

    def begun_by(self, payload: bytes) -> tuple[str, ...]:
        """Return the cases whose first event is this one: the same case, as far as it has come."""
        with plainly(self.path):
            rows = self._connection.execute(
                "SELECT case_id FROM events WHERE number = 0 AND checksum = ? AND payload = ? ORDER BY case_id",
                (crc32(payload), payload),
            ).fetchall()
        return tuple(case_id for (case_id,) in rows)

    def append(self, case_id: str, payload: bytes, at: float, expected: int | None = None) -> int:
        """Write one event durably and return its place; `expected` is how many events the caller knows of."""
        with self._writing() as connection:
            count, chain = self._length(case_id)
            if expected is not None and count != expected:
                raise CaseMovedOn(
                    f"Case {case_id} was added to from another window.", "Open the case again, then go on from there."
                )
            checksum = crc32(payload)
            connection.execute("INSERT INTO events VALUES (?, ?, ?, ?, ?)", (case_id, count, at, payload, checksum))
            connection.execute(
                "UPDATE cases SET touched = max(touched, ?), length = ?, chain = ? WHERE id = ?",
                (at, count + 1, chained(chain, checksum), case_id),
            )
        return count

    def events(self, case_id: str) -> list[bytes]:
        """Return the events of a case in their order; refuses a case with one that changed on the disk."""
        with plainly(self.path):
            # One statement, so that both are of one moment while another program writes.
            rows = self._connection.execute(
                "SELECT number, payload, checksum, length, chain FROM cases LEFT JOIN events ON case_id = id"
                " WHERE id = ? ORDER BY number",
                (case_id,),
            ).fetchall()
        if not rows:
            self._known(case_id)
        length, chain = rows[0][3:]
        rows = [row[:3] for row in rows if row[0] is not None]
        held = 0
        for place, (number, payload, checksum) in enumerate(rows):
            if number != place or crc32(payload) != checksum:
                raise damaged(self.path, f"is damaged: case {case_id} can be read up to event {place} only")
            held = chained(held, checksum)
        if (len(rows), held) != (length, chain):
            raise damaged(self.path, f"is damaged: case {case_id} had {length} events and has {len(rows)}")
        return [payload for _, payload, _ in rows]

    def cases(
        self, matching: str = "", open_only: bool = False, most: int | None = None, case_id: str | None = None
    ) -> tuple[CaseRow, ...]:
        """Return the cases (or the first `most`), the one touched last first.

        `matching` keeps those in whose words every word of it begins one; `open_only` those that are not closed;
        `case_id` that one alone. A headline damaged on the disk is shown as far as it can be read.
        """
        where, values = [], list[str | int]()
        wanted = _search_words(matching)
        if wanted:
            # A case's words are written anew when its line changes, so the last written are those touched last:
            # a word that half of all cases hold is looked up in no more of them than are shown.
            where.append("id IN (SELECT case_id FROM case_words WHERE case_words MATCH ? ORDER BY rowid DESC LIMIT ?)")
            values += [wanted, -1 if most is None or open_only else most]
        if open_only:
            where.append("state = 'open'")
        if case_id is not None:
            where.append("id = ?")
            values.append(case_id)
        clause = f" WHERE {' AND '.join(where)}" if where else ""
        with plainly(self.path):
            rows = self._connection.execute(
                "SELECT id, opened, touched, CAST(headline AS BLOB), state FROM cases"
                f"{clause} ORDER BY touched DESC, id DESC LIMIT ?",
                (*values, -1 if most is None else most),
            ).fetchall()
        return tuple(
            CaseRow(one, opened, touched, line.decode("utf-8", "replace"), state)
            for one, opened, touched, line, state in rows
        )

    def disorder(self) -> tuple[str, ...]:
        """Return what SQLite itself finds wrong with the file; nothing if it is in order."""
        with plainly(self.path):
            said = [line for (line,) in self._connection.execute("PRAGMA integrity_check(20)")]
        return () if said == ["ok"] else tuple(said)

    def with_event(self, what: str) -> tuple[str, ...]:
        """Return the cases that hold an event of this kind, taken back or not."""
        tag = f'"what":"{what}"'.encode()
        with plainly(self.path):
            found = self._connection.execute(
                "SELECT DISTINCT case_id FROM events WHERE instr(payload, ?) ORDER BY case_id", (tag,)
            ).fetchall()
        return tuple(case_id for (case_id,) in found)

    def count(self) -> int:
        """Return how many cases there are."""
        with plainly(self.path):
            return int(self._connection.execute("SELECT count(*) FROM cases").fetchone()[0])

    def set_headline(
        self, case_id: str, headline: str, state: str, proved: Sequence[str] = (), words: str = ""
    ) -> None:
        """Write what the list of cases shows, the causes a closed case proved, and what else it is found by."""
        with self._writing() as connection:
            self._known(case_id)
            connection.execute("UPDATE cases SET headline = ?, state = ? WHERE id = ?", (headline, state, case_id))
            self._forget_words(case_id)
            connection.execute("INSERT INTO case_words VALUES (?, ?)", (case_id, f"{case_id} {headline} {words}"))
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
            self._forget_words(case_id)

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

    def _known(self, case_id: str) -> None:
        self._length(case_id)

    def _forget_words(self, case_id: str) -> None:
        # An id is a row of numbers to the search, and no other id has the same row.
        wanted = (f'case_id : "{case_id}"',)
        rows = self._connection.execute("SELECT rowid FROM case_words WHERE case_words MATCH ?", wanted).fetchall()
        self._connection.executemany("DELETE FROM case_words WHERE rowid = ?", rows)

    def _same_file(self) -> tuple[int, int] | None:
        """Return what tells the file from any other; None where it is no longer there."""
        try:
            found = self.path.stat()
        except OSError:
            return None
        return found.st_dev, found.st_ino

    def _length(self, case_id: str) -> tuple[int, int]:
        """Return how many events a case has, and the checksum over them; CaseUnknown if there is no such case."""
        row = self._connection.execute("SELECT length, chain FROM cases WHERE id = ?", (case_id,)).fetchone()
        if row is None:
            raise CaseUnknown(f"There is no case {case_id!r} in {self.path}.", "See `troubleshoot cases` for the list.")
        return int(row[0]), int(row[1])

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        if self._inside:
            yield self._connection
            return
        with plainly(self.path):
            if self._file is not None and self._same_file() != self._file:
                raise gone(self.path)
            with at_once(self._connection):
                self._inside = True
                try:
                    yield self._connection
                finally:
                    self._inside = False


def _search_words(typed: str) -> str:
    """Return a search for cases that hold every word typed, or a word that begins so; empty for no words."""
    words = "".join(one if one.isalnum() else " " for one in typed).split()
    return " ".join(f'"{word}"*' for word in words[:20])
