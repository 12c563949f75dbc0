"""The tables of the casebook, how a new file gets them, and how an older file is brought up."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from zlib import crc32

from troubleshoot.casebook.refusing import damaged, newer

VERSION = 2
"""Form of the file. 1: cases and events. 2: a checksum for each event, and the causes that were proved."""

MARK = 0x7C_A5_E_B0
"""Marks the file as a casebook, so that another program's database is not taken for one."""

_CREATE = (
    "CREATE TABLE cases (id TEXT PRIMARY KEY, opened REAL NOT NULL, touched REAL NOT NULL,"
    " headline TEXT NOT NULL DEFAULT '', state TEXT NOT NULL DEFAULT 'open') STRICT",
    "CREATE TABLE events (case_id TEXT NOT NULL REFERENCES cases (id), number INTEGER NOT NULL, at REAL NOT NULL,"
    " payload BLOB NOT NULL, checksum INTEGER NOT NULL, PRIMARY KEY (case_id, number)) STRICT",
    "CREATE TABLE proved (case_id TEXT NOT NULL REFERENCES cases (id), cause TEXT NOT NULL,"
    " PRIMARY KEY (case_id, cause)) STRICT",
)


def settle(connection: sqlite3.Connection, path: Path, writable: bool) -> None:
    """Make the tables of a new file, bring up an older one, and refuse a newer or foreign one."""
    version, mark, tables = _look(connection)
    if tables and mark != MARK:
        raise damaged(path, "belongs to another program")
    if version > VERSION:
        raise newer(path, version, VERSION)
    if version == VERSION and tables:
        return
    if not writable:
        if not tables:
            raise damaged(path, "is empty")
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        _bring_up(connection)
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise


def _look(connection: sqlite3.Connection) -> tuple[int, int, int]:
    """Return version, mark and number of tables, all of one moment: another process may be making the tables."""
    connection.execute("BEGIN")
    try:
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        mark = connection.execute("PRAGMA application_id").fetchone()[0]
        tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    finally:
        connection.execute("ROLLBACK")
    return version, mark, tables


def _bring_up(connection: sqlite3.Connection) -> None:
    # Read again inside the transaction: another process may have made the tables meanwhile.
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if version == VERSION:
        return
    if version == 0:
        for statement in _CREATE:
            connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {MARK}")
    elif version == 1:
        connection.execute(_CREATE[2])
        connection.execute("ALTER TABLE events ADD COLUMN checksum INTEGER NOT NULL DEFAULT 0")
        for row, payload in connection.execute("SELECT rowid, payload FROM events").fetchall():
            connection.execute("UPDATE events SET checksum = ? WHERE rowid = ?", (crc32(payload), row))
    connection.execute(f"PRAGMA user_version = {VERSION}")
