"""The trainer's screens of a term: belief on the board, the grade book, a drill on paper, names of a class."""

from __future__ import annotations

import json

from tests.classroom.walking import press, until, until_gone, words
from troubleshoot.casebook.gradebook import GradeBook
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.board import seats_in
from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.classroom.handing_in import hand_in
from troubleshoot.classroom.key_file import PLAIN_KEY, key_text, read_key, write_key
from troubleshoot.classroom.name_list import read_names

RIGHT = "inlet-strainer-blocked"


async def test_the_board_shows_belief_to_whoever_has_the_key_and_hides_it_again(app, tmp_path, lean, sitting, work):
    write_key(tmp_path / "hill.key", lean[1])
    seat = tmp_path / "class" / "seats" / "0123456789abcdef"
    seat.mkdir(parents=True)
    with Casebook(seat / "casebook.sqlite") as book:
        work(sitting("Cy", book=book), ("pressure-when-lean", "suction-vacuum"), close=False)
    assert seats_in(tmp_path / "class")[0].belief is None
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", "5", "1")
        await until(pilot, app, "Cy")
        assert " right " not in words(app)
        await press(pilot, "w")
        await until(pilot, app, "Which key?")
        await press(pilot, "1")
        await until(pilot, app, " right ")
        line = next(one for one in words(app).split("  ") if "%" in one)
        assert int(line.strip(" %").split()[-1]) > 20
        await press(pilot, "w")
        await until_gone(pilot, app, " right ")


async def test_marks_go_into_the_grade_book_and_are_shown(app, tmp_path, lean, sitting, work):
    write_key(tmp_path / "hill.key", lean[1])
    text = hand_in(work(sitting("Anna"), ("pressure-when-lean", "suction-vacuum"), [RIGHT]))
    (tmp_path / "hill-Anna.handin.json").write_text(text, encoding="utf-8")
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", "6", "1")
        await until(pilot, app, "Where are the hand-ins?")
        await press(pilot, "1")
        await until(pilot, app, "1 of 1 found it")
        await press(pilot, "r")
        await until(pilot, app, "Grade book")
        await press(pilot, "tab", "5b", "enter")
        await until(pilot, app, "1 marks entered")
        with GradeBook(tmp_path / "grades.sqlite") as kept:
            assert [one.class_name for one in kept.grades()] == ["5b"]
        await press(pilot, "escape")
        await until(pilot, app, "OPEN CASES")
        await press(pilot, "p", "8", "1")
        await until(pilot, app, "Right cause")
        assert "Anna" in words(app) and "5b" in words(app)


async def test_a_drill_is_written_on_paper_and_never_over_another(app, tmp_path, lean):
    (tmp_path / "hill.drill.json").write_text(drill_text(lean[0]), encoding="utf-8")
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", "9", "1")
        await until(pilot, app, "To print, from a browser")
        before = (tmp_path / "hill-paper.html").read_bytes()
        await press(pilot, "escape", "p", "9", "1")
        await until(pilot, app, "is there already")
    assert (tmp_path / "hill-paper.html").read_bytes() == before


async def test_a_list_of_names_is_made_and_shown(app, tmp_path):
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", *["down"] * 9, "enter")
        await until(pilot, app, "Names of which class?")
        await press(pilot, "1")
        await until(pilot, app, "What to call it")
        await press(pilot, "class", "enter")
        await until(pilot, app, "Names")
        await press(pilot, "Anna Berg; Bo Lind", "enter")
        await until(pilot, app, "2 names in")
    assert [one.name for one in read_names(tmp_path / "class.csv")] == ["Anna Berg", "Bo Lind"]


def test_a_key_cannot_be_read_in_passing_and_one_of_an_earlier_release_still_serves(tmp_path, lean):
    write_key(tmp_path / "hill.key", lean[1])
    kept = (tmp_path / "hill.key").read_bytes()
    assert (tmp_path / "hill.key").stat().st_mode & 0o777 == 0o600
    assert not any(cause.encode() in kept for cause in lean[1].causes) and b"{" not in kept[:40]
    (tmp_path / f"old{PLAIN_KEY}").write_text(key_text(lean[1]), encoding="utf-8")
    assert json.loads((tmp_path / f"old{PLAIN_KEY}").read_text(encoding="utf-8"))["faults"]
    assert read_key(tmp_path / "hill.key") == read_key(tmp_path / f"old{PLAIN_KEY}") == lean[1]
