"""The tables of the casebook, how a new file gets them, and how an older file is brought up."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from zlib import crc32

from troubleshoot.casebook.refusing import at_once, damaged, empty, newer

VERSION = 3
"""Form of the file. 1: cases and events. 2: a checksum for each event, and the causes that were proved.
3: how many events a case has and a checksum over all of them, so that a lost end is noticed; words to search by."""

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
_FORM_3 = (
    "ALTER TABLE cases ADD COLUMN length INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE cases ADD COLUMN chain INTEGER NOT NULL DEFAULT 0",
    "CREATE INDEX cases_by_time ON cases (touched DESC, id DESC)",
    "CREATE INDEX cases_open_by_time ON cases (touched DESC, id DESC) WHERE state = 'open'",
    "CREATE INDEX proved_causes ON proved (cause, case_id)",
    "CREATE INDEX first_events ON events (checksum) WHERE number = 0",
    "CREATE VIRTUAL TABLE case_words USING fts5"
    " (case_id, words, prefix = '1 2 3', tokenize = 'unicode61 remove_diacritics 2')",
)


def chained(chain: int, checksum: int) -> int:
    """Return the checksum over a case's events once one more with this checksum is added."""
    return crc32(checksum.to_bytes(4, "big"), chain)


def settle(connection: sqlite3.Connection, path: Path, writable: bool) -> None:
    """Make the tables of a new file, bring up an older one, and refuse a newer or foreign one."""
    version, tables = refuse_foreign(connection, path)
    if version == VERSION and tables:
        return
    if not writable:
        if not tables:
            raise empty(path)
        return
    with at_once(connection):
        _bring_up(connection)


def refuse_foreign(connection: sqlite3.Connection, path: Path) -> tuple[int, int]:
    """Refuse a newer or foreign file before anything of it is changed; return its form and how many tables it has."""
    version, mark, tables = _look(connection)
    if tables and mark != MARK:
        raise damaged(path, "belongs to another program")
    if version > VERSION:
        raise newer(path, version, VERSION)
    return version, tables


def _look(connection: sqlite3.Connection) -> tuple[int, int, int]:
    """Return version, mark and number of tables, all of one moment: another process may be making the tables."""
    with at_once(connection, "BEGIN"):
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        mark = connection.execute("PRAGMA application_id").fetchone()[0]
        tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
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
    for statement in _FORM_3:
        connection.execute(statement)
    _count_events(connection)
    connection.execute("INSERT INTO case_words (case_id, words) SELECT id, id || ' ' || headline FROM cases")
    connection.execute(f"PRAGMA user_version = {VERSION}")


def _count_events(connection: sqlite3.Connection) -> None:
    found: dict[str, tuple[int, int]] = {}
    for case_id, checksum in connection.execute("SELECT case_id, checksum FROM events ORDER BY case_id, number"):
        length, chain = found.get(case_id, (0, 0))
        found[case_id] = (length + 1, chained(chain, checksum))
    connection.executemany(
        "UPDATE cases SET length = ?, chain = ? WHERE id = ?",
        ((length, chain, case_id) for case_id, (length, chain) in found.items()),
    )
