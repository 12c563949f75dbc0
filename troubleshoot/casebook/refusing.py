"""What can go wrong with a casebook file, said in a sentence with what to do about it."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from troubleshoot.problems import TroubleshootError


class CasebookRefused(TroubleshootError):
    """The casebook cannot be opened, read or written; nothing was changed."""

    exit_code = 4


class CasebookLocked(CasebookRefused):
    """Another program holds the casebook."""


class CasebookReadOnly(CasebookRefused):
    """The casebook may be read but not written."""


class CasebookDamaged(CasebookRefused):
    """The file is not a casebook, or no longer one that can be read."""


class CasebookNewer(CasebookRefused):
    """The file was written by a later version of the program."""


class CasebookFull(CasebookRefused):
    """There is no room left where the casebook is kept."""


class CaseUnknown(CasebookRefused):
    """There is no case of that name."""

    exit_code = 2


class CaseMovedOn(CasebookRefused):
    """The same case was added to from another window since it was opened here."""


def _no_access(path: Path) -> CasebookRefused:
    if path.is_file() and os.access(path, os.R_OK):
        return _read_only(path)  # SQLite could not lay its own file beside it
    return CasebookRefused(
        f"The casebook {path} cannot be opened.",
        "Look whether it is a file and its folder may be read, or name another file with --casebook.",
    )


def _locked(path: Path) -> CasebookRefused:
    return CasebookLocked(
        f"The casebook {path} is in use by another program.",
        "Close the other window or wait for it to finish, then do the last thing again; it was not saved.",
    )


def _read_only(path: Path) -> CasebookRefused:
    return CasebookReadOnly(
        f"The casebook {path} may be read but not written.",
        "Give yourself leave to write the file and its folder, or name another file with --casebook.",
    )


def _full(path: Path) -> CasebookRefused:
    return CasebookFull(
        f"There is no room left to write the casebook {path}.",
        "Make room on that disk, then do the last thing again; it was not saved.",
    )


def damaged(path: Path, what: str = "cannot be read as a casebook") -> CasebookDamaged:
    """Return the problem of a file that is damaged or is something else."""
    return CasebookDamaged(
        f"The file {path} {what}.",
        "`troubleshoot cases rescue DAMAGED -o NEW` gets back what can be read; weekly copies lie beside it. "
        "The file was left as it is.",
    )


def empty(path: Path) -> CasebookDamaged:
    """Return the problem of a file with nothing in it: cut off, or left by a power cut while it was being made."""
    return CasebookDamaged(
        f"There is nothing in the file {path}.",
        "If cases were in it, put a weekly copy, which lies beside it, in its place; "
        "if not, `troubleshoot` or `troubleshoot ask` begins anew in it.",
    )


def no_file(path: Path) -> CasebookRefused:
    """Return the problem of a folder, a pipe or a device named as the casebook."""
    return CasebookRefused(f"{path} is no file.", "Name the casebook's file with --casebook, or leave it out.")


def missing(path: Path) -> CasebookRefused:
    """Return the problem of a casebook that is to be read before there is one."""
    return CasebookRefused(
        f"There is no casebook {path} yet.",
        "`troubleshoot` or `troubleshoot ask` begins a case; another file is named with --casebook.",
    )


def gone(path: Path) -> CasebookRefused:
    """Return the problem of a file that was moved, removed or replaced while it was open."""
    return CasebookRefused(
        f"The casebook {path} is no longer there.",
        "Put it or its disk back in its place, then start the program again; the last thing was not saved.",
    )


def newer(path: Path, version: int, known: int) -> CasebookNewer:
    """Return the problem of a file that a later program wrote."""
    return CasebookNewer(
        f"The casebook {path} has form {version}; this program knows up to form {known}.",
        "Use the newer program that wrote it; the file was left as it is.",
    )


_BESIDE_IT = 65_536
"""Bytes free below which the small file of shared memory may be what could not be made."""
_PROBLEMS = {
    sqlite3.SQLITE_BUSY: _locked,
    sqlite3.SQLITE_LOCKED: _locked,
    sqlite3.SQLITE_READONLY: _read_only,
    sqlite3.SQLITE_PERM: _read_only,
    sqlite3.SQLITE_FULL: _full,
    sqlite3.SQLITE_CANTOPEN: _no_access,
    sqlite3.SQLITE_CORRUPT: damaged,
    sqlite3.SQLITE_NOTADB: damaged,
}


@contextmanager
def at_once(connection: sqlite3.Connection, begin: str = "BEGIN IMMEDIATE") -> Iterator[None]:
    """Write what the block writes whole or not at all; a database that is out of room has gone back by itself."""
    connection.execute(begin)
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


@contextmanager
def plainly(path: Path, to: Path | None = None) -> Iterator[None]:
    """Turn whatever the database says inside the block into a `CasebookRefused`; `to` is written, if not the file."""
    try:
        yield
    except sqlite3.Error as error:
        if path.is_dir():
            raise _no_access(path) from error
        code = getattr(error, "sqlite_errorcode", None)
        known = _PROBLEMS.get(code & 0xFF) if isinstance(code, int) else None
        if known is None and path.parent.is_dir() and shutil.disk_usage(path.parent).free < _BESIDE_IT:
            known = _full  # SQLite only says "disk I/O error" of the file it lays beside it
        if known is not None:
            raise known(to or path if known is _full else path) from error
        raise CasebookRefused(
            f"The casebook {path} could not be used: {error}.",
            "Look at the disk and the file, or name another file with --casebook.",
        ) from error
    except UnicodeDecodeError as error:  # of the database's own words about damage
        raise damaged(path) from error
    except OSError as error:
        raise _no_access(path) from error
