"""The casebook keeps every event in order, and says plainly what is wrong with a file."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, initialize, rule

from troubleshoot.casebook.refusing import (
    CasebookDamaged,
    CasebookFull,
    CasebookLocked,
    CasebookNewer,
    CasebookReadOnly,
    CasebookRefused,
    CaseMovedOn,
    CaseUnknown,
    at_once,
    plainly,
)
from troubleshoot.casebook.store import IN_MEMORY, Casebook, default_path

OLD_FORM = Path(__file__).with_name("casebook-form-1.sqlite")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "casebook.sqlite"


def filled(path: Path, events: int = 40) -> str:
    with Casebook(path) as book:
        case = book.new_case(1.7e9)
        for number in range(events):
            book.append(case, b'{"n":%d,"pad":"%s"}' % (number, b"x" * 200), 1.7e9 + number)
    return case


class CasebookAgainstLists(RuleBasedStateMachine):
    """A casebook behaves as a dict of lists, whatever is done to it and however often it is reopened."""

    cases = Bundle("cases")

    @initialize(folder=st.just(None))
    def begin(self, folder: None) -> None:
        import tempfile

        self.folder = tempfile.mkdtemp()
        self.path = Path(self.folder) / "casebook.sqlite"
        self.book = Casebook(self.path)
        self.expected: dict[str, list[bytes]] = {}
        self.proved: dict[str, tuple[str, ...]] = {}

    @rule(target=cases, at=st.floats(0, 4e9))
    def new(self, at: float) -> str:
        case = self.book.new_case(at)
        assert case not in self.expected
        self.expected[case] = []
        return case

    @rule(case=cases, payload=st.binary(max_size=60), at=st.floats(0, 4e9))
    def append(self, case: str, payload: bytes, at: float) -> None:
        assert self.book.append(case, payload, at, expected=len(self.expected[case])) == len(self.expected[case])
        self.expected[case].append(payload)

    @rule(case=cases)
    def refuse_stale(self, case: str) -> None:
        with pytest.raises(CaseMovedOn):
            self.book.append(case, b"{}", 0.0, expected=len(self.expected[case]) + 1)

    @rule(case=cases, causes=st.lists(st.sampled_from(["a", "b", "c"]), max_size=3))
    def prove(self, case: str, causes: list[str]) -> None:
        self.book.set_headline(case, "line", "proved", causes)
        self.proved[case] = tuple(set(causes))

    @rule(case=consumes(cases))
    def delete(self, case: str) -> None:
        self.book.delete(case)
        del self.expected[case]
        self.proved.pop(case, None)
        with pytest.raises(CaseUnknown):
            self.book.events(case)

    @rule()
    def reopen(self) -> None:
        self.book.close()
        self.book = Casebook(self.path)

    @rule()
    def compare(self) -> None:
        assert {row.id for row in self.book.cases()} == set(self.expected)
        for case, payloads in self.expected.items():
            assert self.book.events(case) == payloads
        counts: dict[str, int] = {}
        for causes in self.proved.values():
            for cause in causes:
                counts[cause] = counts.get(cause, 0) + 1
        assert self.book.proved() == counts

    def teardown(self) -> None:
        if hasattr(self, "book"):
            self.compare()
            self.book.close()
            shutil.rmtree(self.folder)


TestCasebookAgainstLists = CasebookAgainstLists.TestCase
TestCasebookAgainstLists.settings = settings(max_examples=25, stateful_step_count=20, deadline=None)


WRITER = """
import sys
from troubleshoot.casebook.store import Casebook
book = Casebook(sys.argv[1])
case = book.new_case(1.7e9)
print(case, flush=True)
for number in range(100000):
    book.append(case, b'{"n":%d}' % number, 1.7e9)
    print(number, flush=True)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9")
def test_nothing_said_to_be_saved_is_lost_when_the_process_is_killed(path: Path) -> None:
    """An event is on the disk before anyone is told so."""
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True, encoding="utf-8"
    )
    assert writer.stdout is not None
    case = writer.stdout.readline().strip()
    told = [int(writer.stdout.readline()) for _ in range(25)]
    os.kill(writer.pid, signal.SIGKILL)
    told += [int(line) for line in writer.stdout.read().split() if line.isdigit()]
    writer.wait()
    writer.stdout.close()
    with Casebook(path) as book:
        events = book.events(case)
        assert events == [b'{"n":%d}' % number for number in range(len(events))]
        assert len(events) >= len(told) - 1  # the last line told may have been cut in the middle of its digits
        book.append(case, b"{}", 1.7e9)


def test_full_synchronisation_and_a_write_ahead_log(path: Path) -> None:
    """Durable after each event: synchronous=FULL (2) in WAL mode, as SQLite's documentation of PRAGMA synchronous."""
    with Casebook(path) as book:
        assert book._connection.execute("PRAGMA synchronous").fetchone() == (2,)
        assert book._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


@pytest.mark.parametrize("share", [0.1, 0.35, 0.6, 0.9])
def test_a_truncated_file_is_called_damaged(path: Path, share: float) -> None:
    case = filled(path)
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(CasebookDamaged) as problem, Casebook(path) as book:
        for _ in range(2):
            book.events(case)
            book.cases()
    assert str(path) in problem.value.sentence
    assert problem.value.advice


def test_a_changed_event_is_noticed(path: Path) -> None:
    case = filled(path)
    raw = sqlite3.connect(path)
    raw.execute("UPDATE events SET payload = ? WHERE number = 3", (b'{"n":4}',))
    raw.commit()
    raw.close()
    with Casebook(path) as book, pytest.raises(CasebookDamaged, match="up to event 3"):
        book.events(case)


def test_a_file_that_is_something_else_is_left_alone(path: Path) -> None:
    path.write_bytes(b"not a database, by a long way" * 100)
    before = path.read_bytes()
    with pytest.raises(CasebookDamaged):
        Casebook(path)
    assert path.read_bytes() == before
    path.unlink()
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE songs (title TEXT)")
    other.commit()
    other.close()
    with pytest.raises(CasebookDamaged, match="another program"):
        Casebook(path)


def test_a_newer_file_is_refused_and_left_alone(path: Path) -> None:
    filled(path)
    raw = sqlite3.connect(path)
    raw.execute("PRAGMA user_version = 99")
    raw.commit()
    raw.close()
    with pytest.raises(CasebookNewer, match="form 99"):
        Casebook(path)


def test_a_locked_file_says_so(path: Path) -> None:
    case = filled(path)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with Casebook(path, wait=0.05) as book:
        with pytest.raises(CasebookLocked, match="in use"):
            book.append(case, b"{}", 1.7e9)
        holder.execute("ROLLBACK")
        book.append(case, b"{}", 1.7e9)
        assert len(book.events(case)) == 41
    holder.close()


def test_a_file_opened_for_reading_only_refuses_to_write(path: Path) -> None:
    case = filled(path)
    with Casebook(path, writable=False) as book:
        assert len(book.events(case)) == 40
        with pytest.raises(CasebookReadOnly):
            book.append(case, b"{}", 1.7e9)
        with pytest.raises(CasebookReadOnly):
            book.new_case(1.7e9)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may write anything")
def test_a_write_protected_file_and_folder_can_still_be_read(path: Path) -> None:
    case = filled(path)
    path.chmod(0o444)
    path.parent.chmod(0o555)
    try:
        with Casebook(path, writable=False) as book:
            assert len(book.events(case)) == 40
    finally:
        path.parent.chmod(0o755)


def test_a_full_disk_is_called_full(path: Path) -> None:
    """SQLite's own limit on pages stands for the disk: the same error code comes from both."""
    case = filled(path, 5)
    with Casebook(path) as book:
        (pages,) = book._connection.execute("PRAGMA page_count").fetchone()
        book._connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(CasebookFull, match="no room"):
            for _ in range(200):
                book.append(case, b"x" * 4000, 1.7e9)
        kept = len(book.events(case))
    with Casebook(path) as book:
        assert len(book.events(case)) == kept


def test_no_room_for_the_file_beside_it_is_called_full_too(path: Path, monkeypatch) -> None:
    """SQLite says "disk I/O error" where its shared memory does not fit; seen on a full tmpfs."""
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=0))
    with pytest.raises(CasebookFull, match="no room"), plainly(path):
        raise sqlite3.OperationalError("disk I/O error")


def test_a_damaged_schema_is_called_damaged(path: Path) -> None:
    """What SQLite says of it quotes the damage, which need not be text."""
    filled(path)
    held = path.read_bytes()
    at = held.index(b"CREATE TABLE")
    path.write_bytes(held[: at + 7] + b"\x85\x90" + held[at + 9 :])
    with pytest.raises(CasebookDamaged), Casebook(path) as book:
        book.cases()


def test_what_the_database_took_back_by_itself_is_not_taken_back_twice() -> None:
    """Out of room SQLite has gone back already; its first word is the one that counts."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    with pytest.raises(KeyError), at_once(connection):
        connection.execute("ROLLBACK")
        raise KeyError


def test_an_empty_file_says_what_it_may_be_and_is_begun_in(path: Path) -> None:
    """A power cut while a casebook is made leaves a file with nothing in it."""
    path.write_bytes(b"")
    with pytest.raises(CasebookDamaged, match=r"nothing in the file .*\n?.*weekly copy.* begins anew"):
        Casebook(path, writable=False)
    with Casebook(path) as book:
        assert book.cases() == ()


def test_a_folder_or_a_missing_file_in_place_of_the_casebook(tmp_path: Path) -> None:
    with pytest.raises(CasebookRefused):
        Casebook(tmp_path)
    with pytest.raises(CasebookRefused):
        Casebook(tmp_path / "none.sqlite", writable=False)
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(CasebookRefused):
        Casebook(tmp_path / "file" / "casebook.sqlite")


def test_a_casebook_of_the_first_form_is_brought_up(path: Path) -> None:
    """A file that form 1 of the casebook wrote is kept beside this test."""
    shutil.copy(OLD_FORM, path)
    with Casebook(path, writable=False) as book:
        assert len(book.cases()) == 1
    with Casebook(path) as book:
        (row,) = book.cases()
        events = book.events(row.id)
        assert len(events) == 6
        assert b"38 psi" in events[-1]
        book.append(row.id, b"{}", 1.7e9)
    with Casebook(path) as book:
        assert book.events(row.id) == [*events, b"{}"]
        assert book.proved() == {}


PATIENT = 120.0
"""Seconds a window waits for another here: long, for a machine whose disk is slow just now."""


def test_several_windows_may_begin_cases_at_once(path: Path) -> None:
    made: list[str] = []

    def begin() -> None:
        with Casebook(path, wait=PATIENT) as book:
            made.extend(book.new_case(1.7e9) for _ in range(10))

    threads = [threading.Thread(target=begin) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(made)) == 40


@pytest.mark.slow
def test_a_new_file_opened_by_many_at_once_is_neither_damaged_nor_locked(tmp_path: Path) -> None:
    """The first one sets the journal and makes the tables while the others look."""
    problems: list[Exception] = []

    def opened(file: Path, together: threading.Barrier) -> None:
        together.wait()
        try:
            with Casebook(file, wait=PATIENT) as book:
                book.new_case(1.7e9)
        except Exception as problem:
            problems.append(problem)

    for number in range(60):
        file, together = tmp_path / f"{number}.sqlite", threading.Barrier(6)
        threads = [threading.Thread(target=opened, args=(file, together)) for _ in range(6)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert not problems


def test_all_or_nothing(path: Path) -> None:
    with Casebook(path) as book:
        with pytest.raises(RuntimeError), book.all_or_nothing():
            book.append(book.new_case(1.7e9), b"{}", 1.7e9)
            raise RuntimeError
        assert book.cases() == ()


def test_memory_is_forgotten(tmp_path: Path) -> None:
    with Casebook(IN_MEMORY) as book:
        book.append(book.new_case(0.0), b"{}", 0.0)
        assert len(book.cases()) == 1
    with Casebook(IN_MEMORY) as book:
        assert book.cases() == ()
    assert not list(tmp_path.iterdir())


def test_the_usual_place_follows_the_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TROUBLESHOOT_DATA", str(tmp_path / "mine"))
    assert default_path() == tmp_path / "mine" / "casebook.sqlite"


@pytest.mark.skipif(sys.platform == "win32", reason="an open file cannot be moved there")
@pytest.mark.parametrize("away", ["removed", "moved", "replaced"])
def test_nothing_is_taken_into_a_file_that_is_no_longer_in_its_place(path: Path, away: str) -> None:
    case = filled(path, 2)
    with Casebook(path) as book:
        if away == "removed":
            path.unlink()
        else:
            path.rename(path.with_name("elsewhere.sqlite"))
        if away == "replaced":
            filled(path, 1)
        with pytest.raises(CasebookRefused, match="no longer there"):
            book.append(case, b"{}", 1.7e9)


def test_not_a_byte_of_a_newer_or_foreign_file_is_changed(tmp_path: Path) -> None:
    for name, pragma in (("newer", "user_version = 99"), ("foreign", "application_id = 7")):
        path = tmp_path / f"{name}.sqlite"
        filled(path, 1)
        with sqlite3.connect(path) as raw:
            raw.execute("PRAGMA journal_mode = DELETE")
            raw.execute(f"PRAGMA {pragma}")
        raw.close()
        before = path.read_bytes()
        with pytest.raises(CasebookRefused):
            Casebook(path)
        assert path.read_bytes() == before
