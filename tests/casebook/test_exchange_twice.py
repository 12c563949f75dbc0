"""The same case from two machines is one case; cases that went different ways are both kept."""

from __future__ import annotations

import json
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.casebook.exchange import TakenIn, export_case, import_case, merge, take_in
from troubleshoot.casebook.refusing import CasebookRefused
from troubleshoot.casebook.store import IN_MEMORY, Casebook, Kept


def accept(payload: bytes) -> None:
    json.loads(payload)


def case_of(book: Casebook, *marks: int, at: float = 1.7e9) -> str:
    case = book.new_case(at)
    for place, mark in enumerate(marks):
        book.append(case, b'{"at":%.1f,"mark":%d}' % (at + place, mark), at + place)
    book.set_headline(case, f"marks {marks}", "open")
    return case


def marks_of(book: Casebook, case: str) -> list[int]:
    return [json.loads(payload)["mark"] for payload in book.events(case)]


def test_a_file_taken_in_twice_is_one_case() -> None:
    with Casebook(IN_MEMORY) as shop, Casebook(IN_MEMORY) as laptop:
        text = export_case(laptop, case_of(laptop, 1, 2))
        first = import_case(shop, text, accept)
        assert first.how == "new"
        assert import_case(shop, text, accept) == TakenIn(first.case_id, "known")
        assert shop.count() == 1


def test_a_case_that_went_on_elsewhere_grows_here() -> None:
    with Casebook(IN_MEMORY) as shop, Casebook(IN_MEMORY) as laptop:
        theirs = case_of(laptop, 1, 2)
        mine = import_case(shop, export_case(laptop, theirs), accept).case_id
        laptop.append(theirs, b'{"at":1700000009.0,"mark":3}', 1.7e9 + 9)
        assert import_case(shop, export_case(laptop, theirs), accept) == TakenIn(mine, "longer")
        assert marks_of(shop, mine) == [1, 2, 3]


def test_cases_that_went_different_ways_are_both_kept_and_said() -> None:
    with Casebook(IN_MEMORY) as shop, Casebook(IN_MEMORY) as laptop:
        theirs = case_of(laptop, 1, 2)
        mine = import_case(shop, export_case(laptop, theirs), accept).case_id
        laptop.append(theirs, b'{"at":1700000009.0,"mark":3}', 1.7e9 + 9)
        shop.append(mine, b'{"at":1700000008.0,"mark":4}', 1.7e9 + 8)
        taken = import_case(shop, export_case(laptop, theirs), accept)
        assert (taken.how, taken.other) == ("differs", mine)
        assert marks_of(shop, mine) == [1, 2, 4]
        assert marks_of(shop, taken.case_id) == [1, 2, 3]


@given(
    ours=st.lists(st.lists(st.integers(0, 2), min_size=1, max_size=3), max_size=5),
    theirs=st.lists(st.lists(st.integers(0, 2), min_size=1, max_size=3), max_size=5),
)
def test_merging_loses_nothing_and_once_more_changes_nothing(ours: list[list[int]], theirs: list[list[int]]) -> None:
    with Casebook(IN_MEMORY) as here, Casebook(IN_MEMORY) as there:
        for book, cases in ((here, ours), (there, theirs)):
            for marks in cases:
                take_in(book, _as_kept(marks))
        list(merge(here, there))
        held = {tuple(marks_of(here, row.id)) for row in here.cases()}
        for marks in (*ours, *theirs):
            assert any(tuple(marks) == one[: len(marks)] for one in held), marks
        before = [(row.id, here.events(row.id)) for row in here.cases()]
        assert {taken.how for taken in merge(here, there) if isinstance(taken, TakenIn)} <= {"known"}
        assert [(row.id, here.events(row.id)) for row in here.cases()] == before


def _as_kept(marks: list[int]) -> Kept:
    with Casebook(IN_MEMORY) as book:
        return book.kept(case_of(book, *marks))


def test_a_damaged_case_of_the_other_casebook_is_named_and_the_rest_taken(tmp_path: Path) -> None:
    import sqlite3

    other = tmp_path / "other.sqlite"
    with Casebook(other) as book:
        case_of(book, 1, 2)
        bad = case_of(book, 5, 6, at=1.71e9)
    with sqlite3.connect(other) as raw:
        raw.execute("UPDATE events SET payload = x'7b7d' WHERE case_id = ? AND number = 1", (bad,))
    with Casebook(IN_MEMORY) as here, Casebook(other, writable=False) as there:
        results = list(merge(here, there))
    assert [one.how for one in results if isinstance(one, TakenIn)] == ["new"]
    assert [bad in one.sentence for one in results if isinstance(one, CasebookRefused)] == [True]
