"""A damaged casebook gives back everything that can still be read, and says what it cannot."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
from pathlib import Path

import pytest

from troubleshoot.casebook.backups import KEPT, WEEK, back_up, back_up_if_due, backups, faults
from troubleshoot.casebook.raw_pages import RawPages
from troubleshoot.casebook.refusing import CasebookDamaged, CasebookRefused
from troubleshoot.casebook.rescue import rescue
from troubleshoot.casebook.store import Casebook


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty cases of up to twenty events; every seventh event is longer than a page."""
    path = tmp_path_factory.mktemp("book") / "casebook.sqlite"
    with Casebook(path) as book, book.all_or_nothing():
        for number in range(60):
            case = book.new_case(1.7e9 + 3600 * number)
            for place in range(1 + number % 20):
                pad = b"x" * (9000 if (number + place) % 7 == 0 else 150)
                book.append(case, b'{"n":%d,"pad":"%s"}' % (place, pad), 1.7e9 + 3600 * number + place)
            book.set_headline(case, f"car {number} · lean", "proved" if number % 2 else "open", ["pump-worn"])
    return path


def everything(path: Path) -> dict[str, list[bytes]]:
    with Casebook(path, writable=False) as book:
        return {row.id: book.events(row.id) for row in book.cases()}


def test_the_pages_of_a_whole_file_hold_what_sqlite_reads(whole: Path) -> None:
    with sqlite3.connect(whole) as raw:
        events = set(raw.execute("SELECT case_id, number, at, payload, checksum FROM events").fetchall())
    found = {row for row in RawPages(whole).rows() if len(row) == 5 and isinstance(row[3], bytes)}
    assert {(*row[:2], float(row[2]), *row[3:]) for row in found} == events  # type: ignore[arg-type] # a number
    assert faults(whole) == ()


def test_a_whole_casebook_comes_back_whole(whole: Path, tmp_path: Path) -> None:
    rescued = rescue(whole, tmp_path / "new.sqlite")
    assert (rescued.cases, rescued.lost) == (60, ())
    assert everything(tmp_path / "new.sqlite") == everything(whole)
    with Casebook(whole) as old, Casebook(tmp_path / "new.sqlite") as new:
        assert old.proved() == new.proved()
        assert [(row.id, row.headline, row.state) for row in old.cases()] == [
            (row.id, row.headline, row.state) for row in new.cases()
        ]


def test_every_kind_of_value_is_read_as_sqlite_reads_it(tmp_path: Path) -> None:
    """Serial types 0 to 9, and 12 and more with empty and short text and bytes (SQLite file format, 2.1)."""
    numbers = (None, 0, 1, 2, -1, 300, -70_000, 2**31, 2**40, 2**60, 1.5)
    values = (*numbers, "", "x", "xy", b"", b"x", b"xy")
    with sqlite3.connect(tmp_path / "kinds.sqlite") as raw:
        raw.execute(f"CREATE TABLE kinds ({', '.join(f'v{at}' for at in range(len(values)))})")
        raw.execute(f"INSERT INTO kinds VALUES ({', '.join('?' * len(values))})", values)
    assert values in set(RawPages(tmp_path / "kinds.sqlite").rows())


@pytest.mark.parametrize("size", [512, 8192, 65_536])
def test_pages_of_any_size_are_read(whole: Path, tmp_path: Path, size: int) -> None:
    """Pages are a power of two from 512 to 65,536 bytes (SQLite file format, 1.3.2); 1 in the header means the last."""
    other = tmp_path / "other.sqlite"
    shutil.copy(whole, other)
    with sqlite3.connect(other) as raw:
        raw.execute("PRAGMA journal_mode=DELETE")
        raw.execute(f"PRAGMA page_size={size}")
        raw.execute("VACUUM")
    assert RawPages(other).page_size == size
    assert rescue(other, tmp_path / "new.sqlite").cases == 60
    assert everything(tmp_path / "new.sqlite") == everything(whole)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9, 0.99])
def test_a_file_cut_short(whole: Path, tmp_path: Path, share: float) -> None:
    cut = tmp_path / "cut.sqlite"
    held = whole.read_bytes()
    cut.write_bytes(held[: int(len(held) * share)])
    rescued = rescue(cut, tmp_path / "new.sqlite")
    before, after = everything(whole), everything(tmp_path / "new.sqlite")
    assert rescued.cases >= 60 * share * 0.5
    assert any("is cut short" in line for line in rescued.lost)
    for case, payloads in after.items():
        assert payloads == before[case][: len(payloads)]
        if len(payloads) < len(before[case]):
            assert any(case in line for line in rescued.lost) or share < 0.9


def test_flipped_bytes(whole: Path, tmp_path: Path) -> None:
    """Every event that comes back is one that was written, whatever byte is wrong; most come back."""
    draw = random.Random(7)
    before = everything(whole)
    written = sum(map(len, before.values()))
    for number in range(25):
        held = bytearray(whole.read_bytes())
        for _ in range(20):
            held[draw.randrange(100, len(held))] ^= 1 << draw.randrange(8)
        bad, new = tmp_path / f"bad{number}.sqlite", tmp_path / f"new{number}.sqlite"
        bad.write_bytes(held)
        rescued = rescue(bad, new)
        after = everything(new)
        for case, payloads in after.items():
            if case in before:
                assert payloads == before[case][: len(payloads)]
        assert rescued.events > 0.5 * written


def test_events_still_in_the_log_beside_it_come_back(tmp_path: Path) -> None:
    path = tmp_path / "casebook.sqlite"
    book = Casebook(path)
    case = book.new_case(1.7e9)
    for place in range(30):
        book.append(case, b'{"n":%d}' % place, 1.7e9 + place)
    taken = tmp_path / "taken"
    taken.mkdir()
    for one in tmp_path.glob("casebook.sqlite*"):
        shutil.copyfile(one, taken / one.name)
    book.close()
    assert (taken / "casebook.sqlite-wal").stat().st_size > 0
    assert rescue(taken / "casebook.sqlite", tmp_path / "new.sqlite").events == 30


def test_what_is_no_casebook_gives_nothing(tmp_path: Path) -> None:
    for number, content in enumerate((b"", b"SQLite format 3\0" + b"\0" * 90, os.urandom(50_000))):
        path = tmp_path / f"{number}"
        path.write_bytes(content)
        with pytest.raises(CasebookRefused, match="No case"):
            rescue(path, tmp_path / f"new{number}")
        assert not (tmp_path / f"new{number}").exists()


def test_nothing_is_written_over(whole: Path, tmp_path: Path) -> None:
    there = tmp_path / "there"
    there.write_text("mine")
    with pytest.raises(CasebookRefused, match="already"):
        rescue(whole, there)
    assert there.read_text() == "mine"


def test_a_case_that_lost_its_end_is_noticed(whole: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.sqlite"
    shutil.copyfile(whole, bad)
    with sqlite3.connect(bad) as raw:
        (case,) = raw.execute("SELECT id FROM cases WHERE length = 20").fetchone()
        raw.execute("DELETE FROM events WHERE case_id = ? AND number = 19", (case,))
    with Casebook(bad) as book, pytest.raises(CasebookDamaged, match="had 20 events and has 19"):
        book.events(case)
    assert [case in said for said in faults(bad)] == [True]


def test_a_damaged_headline_is_listed_as_far_as_it_can_be_read(whole: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.sqlite"
    shutil.copyfile(whole, bad)
    with sqlite3.connect(bad) as raw:
        raw.execute("UPDATE cases SET headline = CAST(x'4361ff72' AS TEXT) WHERE rowid = 3")
    with Casebook(bad, writable=False) as book:
        assert "Ca\ufffdr" in [row.headline for row in book.cases()]


def test_a_copy_a_week_and_no_more_than_are_kept(whole: Path, tmp_path: Path) -> None:
    path = tmp_path / "casebook.sqlite"
    shutil.copyfile(whole, path)
    now = 1.75e9
    first = back_up_if_due(path, now)
    assert first is not None
    assert everything(first) == everything(path)
    assert back_up_if_due(path, now + WEEK - 1) is None
    for week in range(1, 8):
        assert back_up_if_due(path, now + week * WEEK) is not None
    assert len(backups(path)) == KEPT
    assert back_up_if_due(tmp_path / "none.sqlite", now) is None


def test_a_copy_of_a_casebook_in_use(whole: Path, tmp_path: Path) -> None:
    path = tmp_path / "casebook.sqlite"
    shutil.copyfile(whole, path)
    with Casebook(path) as book:
        case = book.new_case(1.76e9)
        book.append(case, b"{}", 1.76e9)
        back_up(path, tmp_path / "copy.sqlite")
    assert case in everything(tmp_path / "copy.sqlite")


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write everywhere")
def test_a_casebook_in_a_folder_that_cannot_be_written_is_read(whole: Path, tmp_path: Path) -> None:
    folder = tmp_path / "still"
    folder.mkdir()
    shutil.copyfile(whole, folder / "casebook.sqlite")
    folder.chmod(0o500)
    try:
        assert everything(folder / "casebook.sqlite") == everything(whole)
    finally:
        folder.chmod(0o700)
