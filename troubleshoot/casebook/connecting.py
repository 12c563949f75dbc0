"""Opening the casebook's file: to write, to read, or a copy of it where it cannot be read in place."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import tempfile
import time
from pathlib import Path

from troubleshoot.casebook.refusing import missing, no_file
from troubleshoot.casebook.schema import VERSION, refuse_foreign, settle
from troubleshoot.file_writing import PRIVATE

IN_MEMORY = ":memory:"
"""In place of a path: a casebook that is forgotten when it is closed."""


def connect(path: Path | str, wait: float, writable: bool) -> sqlite3.Connection:
    """Return a connection to a casebook of today's form; sqlite3.Error, OSError or CasebookRefused when there is none.

    To read, an older file, and one in a folder that cannot be written (SQLite wants to lay a file beside it), are
    read from a copy; the file is left as it is.
    """
    if str(path) == IN_MEMORY:
        connection = sqlite3.connect(IN_MEMORY, isolation_level=None)
        settle(connection, Path(path), writable)
        return connection
    where = Path(path).absolute()
    if where.exists() and not where.is_file():
        raise no_file(where)  # a pipe would be waited for, a device has no end
    if writable:
        return _to_write(where, wait)
    if not where.exists():
        raise missing(where)
    try:
        connection = _opened(where, "ro", wait)
    except sqlite3.OperationalError:
        return _copy(where)
    try:
        settle(connection, where, writable=False)
        form = connection.execute("PRAGMA user_version").fetchone()[0]
    except sqlite3.OperationalError:
        connection.close()
        return _copy(where)
    except BaseException:
        connection.close()
        raise
    if form == VERSION:
        return connection
    connection.close()
    return _copy(where)


def _to_write(where: Path, wait: float) -> sqlite3.Connection:
    where.parent.mkdir(parents=True, exist_ok=True)
    if not where.exists():
        # SQLite gives its side files the rights of this one.
        with contextlib.suppress(FileExistsError):
            os.close(os.open(where, os.O_CREAT | os.O_EXCL | os.O_WRONLY, PRIVATE))
    connection = _opened(where, "rwc", wait)
    try:
        refuse_foreign(connection, where)
        connection.execute("PRAGMA synchronous = FULL")
        if os.access(where, os.W_OK):
            _write_ahead(connection, wait)
        settle(connection, where, writable=True)
    except BaseException:
        connection.close()
        raise
    return connection


def _opened(where: Path, mode: str, wait: float) -> sqlite3.Connection:
    return sqlite3.connect(f"{where.as_uri()}?mode={mode}", timeout=wait, isolation_level=None, uri=True)


def _copy(where: Path) -> sqlite3.Connection:
    """Return a connection to a copy in memory, brought up to today's form; what is written to it is forgotten."""
    held = sqlite3.connect(IN_MEMORY, isolation_level=None)
    try:
        with tempfile.TemporaryDirectory() as folder:
            copied = Path(folder) / "casebook.sqlite"
            shutil.copyfile(where, copied)
            beside = where.with_name(where.name + "-wal")
            if beside.exists():
                shutil.copyfile(beside, copied.with_name(copied.name + "-wal"))
            with contextlib.closing(_opened(copied, "rw", 1.0)) as source:
                settle(source, where, writable=False)
                source.backup(held)
        settle(held, where, writable=True)
    except BaseException:
        held.close()
        raise
    return held


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
