"""The grade book: one file with every mark that a trainer entered, over drills and classes."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Sequence
from pathlib import Path

import msgspec
from msgspec import Struct, field

from troubleshoot.casebook.refusing import at_once, damaged, newer, plainly
from troubleshoot.file_writing import PRIVATE

VERSION = 1
"""Form of the file. 1: one row a mark."""
MARK = 0x7C_A5_6B_00
"""Marks the file as a grade book, so that another program's database is not taken for one."""
_CREATE = (
    "CREATE TABLE grades (hand_in TEXT NOT NULL, drill TEXT NOT NULL, class TEXT NOT NULL, trainee TEXT NOT NULL,"
    " day TEXT NOT NULL, grade BLOB NOT NULL, PRIMARY KEY (hand_in, class)) STRICT"
)


class Grade(Struct, frozen=True, kw_only=True, rename="kebab"):
    """One mark: who, in which class, for which drill, and what it came to; `parts` gives each as points of points."""

    trainee: str
    class_name: str = ""
    id: str = ""
    email: str = ""
    drill: str
    title: str
    day: str
    attempt: int = 1
    total: float
    passed: bool
    found: bool = False
    finished: bool = True
    minutes: float = 0.0
    parts: dict[str, tuple[float, float]] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()
    hand_in: str
    """A hash over what was handed in: the same work entered again takes the place of the mark it had."""


class GradeBook:
    """An open grade book; raises `CasebookRefused` and nothing else."""

    def __init__(self, path: Path) -> None:
        """Open the file, or make it for its owner alone."""
        self.path = path
        with plainly(path):
            if not path.exists():
                with contextlib.suppress(FileExistsError):
                    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, PRIVATE))
            self._connection = sqlite3.connect(path, timeout=5.0, isolation_level=None)
            try:
                self._connection.execute("PRAGMA synchronous = FULL")
                self._settle()
            except BaseException:
                self._connection.close()
                raise

    def _settle(self) -> None:
        run = self._connection.execute
        with at_once(self._connection):
            version = run("PRAGMA user_version").fetchone()[0]
            if run("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0:
                run(_CREATE)
                run(f"PRAGMA application_id = {MARK}")
                run(f"PRAGMA user_version = {VERSION}")
            elif run("PRAGMA application_id").fetchone()[0] != MARK:
                raise damaged(self.path, "belongs to another program")
            elif version > VERSION:
                raise newer(self.path, version, VERSION)

    def enter(self, grades: Sequence[Grade]) -> int:
        """Enter marks, all or none, and return how many are new; the same hand-in takes the place of its old mark."""
        with plainly(self.path):
            before = self._count()
            with at_once(self._connection):
                for one in grades:
                    self._connection.execute(
                        "INSERT OR REPLACE INTO grades VALUES (?, ?, ?, ?, ?, ?)",
                        (one.hand_in, one.drill, one.class_name, one.trainee, one.day, msgspec.json.encode(one)),
                    )
            return self._count() - before

    def _count(self) -> int:
        return int(self._connection.execute("SELECT count(*) FROM grades").fetchone()[0])

    def grades(self, class_name: str = "", trainee: str = "") -> tuple[Grade, ...]:
        """Return the marks of a class and of a trainee, of all where none is named, in the order of their days."""
        where, values = [], []
        for column, wanted in (("class", class_name), ("trainee", trainee)):
            if wanted:
                where.append(f"{column} = ?")
                values.append(wanted)
        clause = f" WHERE {' AND '.join(where)}" if where else ""
        with plainly(self.path):
            rows = self._connection.execute(
                f"SELECT grade FROM grades{clause} ORDER BY day, drill, trainee, hand_in", values
            ).fetchall()
        try:
            return tuple(msgspec.json.decode(row, type=Grade) for (row,) in rows)
        except (msgspec.MsgspecError, UnicodeError) as problem:
            raise damaged(self.path, "has a mark that cannot be read") from problem

    def classes(self) -> tuple[str, ...]:
        """Return the classes that have marks, the one marked last first."""
        with plainly(self.path):
            rows = self._connection.execute(
                "SELECT class FROM grades GROUP BY class ORDER BY max(day) DESC, class"
            ).fetchall()
        return tuple(name for (name,) in rows)

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def __enter__(self) -> GradeBook:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
