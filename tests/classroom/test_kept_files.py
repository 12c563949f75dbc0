"""Files that version 0.1 wrote still open: a casebook with cases, a sitting and practice, a drill, its key, a hand-in.

They were made once and are never written again; `kept_files/trees` are the trees they were made with.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import msgspec
import pytest

from troubleshoot.case.case import resume_case
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.board import seats_in
from troubleshoot.classroom.debriefing import trail_words
from troubleshoot.classroom.drill_file import read_drill
from troubleshoot.classroom.handing_in import hand_in
from troubleshoot.classroom.key_file import read_key
from troubleshoot.classroom.replaying import HandInRefused, replay
from troubleshoot.classroom.sat_cases import refuse_open_sitting, sitting_of
from troubleshoot.classroom.sitting import Sitting, sittings_of, take_up
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.load_trees import read_catalogue
from troubleshoot.problems import TroubleshootError
from troubleshoot.reports.case_report import report_of
from troubleshoot.reports.case_text import as_text

KEPT = Path(__file__).with_name("kept_files")
TREES_THEN = "7add26d50e7553cc"
WHOLE, OPEN, HANDED_IN, SITTING, PRACTICE = (f"2023-11-14-{number}" for number in range(1, 6))
SETTINGS = CaseSettings(learn=False)


@pytest.fixture(scope="module")
def then() -> Catalogue:
    """Return the trees of then, under the version they had (one of their keys has another name now)."""
    return msgspec.structs.replace(read_catalogue((KEPT / "trees",)).catalogue, version=TREES_THEN)


@pytest.fixture
def book(tmp_path: Path) -> Casebook:
    shutil.copy(KEPT / "casebook-0.1.sqlite", tmp_path / "casebook.sqlite")
    return Casebook(tmp_path / "casebook.sqlite")


def clock() -> float:
    """Return a time long after the files were written."""
    return 1.8e9


def taken_up(book: Casebook, then: Catalogue, case: str) -> Sitting:
    return take_up(book, then, clock, read_drill(KEPT / "drill.json"), case, SETTINGS)


def test_a_whole_case_opens_as_it_was_closed(book: Casebook, then: Catalogue) -> None:
    """Every fact is there: what was read, changed, left out, taken back, repaired and noted."""
    view = resume_case(book, then, WHOLE, clock, SETTINGS).view()
    assert (view.result, view.concerns, view.notices) == ("proved", ("lean-top", "flat"), ())
    said = [(line.title, line.answer) for line in view.trail]
    assert ("Fuel pressure when it goes lean", "39 ± 1 psi") in said
    assert ("Volts at the pump under load", "13.4 ± 0.1 V") in said
    assert ("Repair: Inlet strainer blocked", "made") in said
    assert [answer for title, answer in said if title == "Note"] == [
        "judged nothing by eye yet",
        "trainee: none, this is a customer's car",
    ]
    assert "Closed" in as_text(report_of(resume_case(book, then, WHOLE, clock, SETTINGS)))


def test_a_person_s_own_note_is_no_fact_of_a_drill(book: Casebook) -> None:
    """A note at a car that happens to begin like one of a drill makes no sitting of the case."""
    assert sitting_of(book, WHOLE) == ("", "")
    refuse_open_sitting(book, WHOLE)


def test_an_open_case_goes_on(book: Casebook, then: Catalogue) -> None:
    """It takes the next answer where it was left."""
    case = resume_case(book, then, OPEN, clock, SETTINGS)
    assert case.view().readings == 1
    case.take("pump-volts", "11 V")
    assert resume_case(book, then, OPEN, clock, SETTINGS).view().readings == 2


def test_a_sitting_goes_on_with_who_sits_it_what_was_judged_and_told(book: Casebook, then: Catalogue) -> None:
    """The trainee, the judgements, the hint and the ranking asked for are there, and the person's own note as typed."""
    drill = read_drill(KEPT / "drill.json")
    assert [row.id for row in sittings_of(book, drill, "Bo Lind")] == [SITTING]
    sitting = taken_up(book, then, SITTING)
    assert (sitting.trainee, sitting.ranking_shown, sitting.unjudged) == ("Bo Lind", True, ())
    words = trail_words(sitting)
    assert "Asked for a hint: Measure where it goes wrong." in words
    assert [line.rsplit("; ", 1)[-1] for line in words if "judged" in line] == ["judged right", "judged: too low"]
    assert "judged by the sound of it" in [line.answer.removeprefix("note: ") for line in sitting.case.view().trail]
    assert sitting.next_hint() == "Then upstream."
    sitting.repair("strainer-blocked")
    sitting.case.close("left")
    assert replay(hand_in(sitting), "bo", drill, then).finished
    with pytest.raises(TroubleshootError):
        refuse_open_sitting(book, PRACTICE + "0")


def test_practice_keeps_its_repairs_and_retests(book: Casebook, then: Catalogue) -> None:
    """The first repair did not cure the car, the second did."""
    view = resume_case(book, then, PRACTICE, clock, SETTINGS).view()
    assert [line.answer for line in view.trail if line.kind == "retest"] == [
        "the concern is still there",
        "the concern is gone",
    ]
    assert sitting_of(book, PRACTICE)[1] == "practice"


def test_a_hand_in_replays_against_its_key(then: Catalogue) -> None:
    """It comes out the same, hash and all, and its key is read."""
    key = read_key(KEPT / "drill.key.json")
    assert (key.best_minutes, key.causes) == (41.0, ("inlet-strainer-blocked",))
    again = replay((KEPT / "ada.handin.json").read_text(encoding="utf-8"), "ada", key.drill, then)
    assert (again.trainee, again.finished, again.sitting.named) == ("Ada Ray", True, ("strainer-blocked",))


@pytest.mark.parametrize(("wrote", "writes"), [
    ("judged pressure: low", "judged pressure: normal"), ("judged pump-volts: low", "judged pump-volts: normal"),
    ("hint: Measure where it goes wrong.", "hint: Measure elsewhere."), ("Ada Ray", "Ida Ray"),
    ("asked to see the ranking", "asked about the ranking"), ("strainer-blocked", "injectors-small"),
])  # fmt: skip
def test_a_hand_in_that_was_edited_is_refused(then: Catalogue, wrote: str, writes: str) -> None:
    """Whatever was changed in the file of then, its hash tells."""
    text = (KEPT / "ada.handin.json").read_text(encoding="utf-8")
    assert wrote in text
    with pytest.raises(HandInRefused, match=r"does not replay|is not what this drill gives"):
        replay(text.replace(wrote, writes, 1), "ada", read_drill(KEPT / "drill.json"), then)


def test_the_board_knows_the_seats_of_then(tmp_path: Path) -> None:
    """Who sits where is read from the casebooks of the seats."""
    seat = tmp_path / "seats" / "one"
    seat.mkdir(parents=True)
    shutil.copy(KEPT / "casebook-0.1.sqlite", seat / "casebook.sqlite")
    assert {(row.trainee, row.state) for row in seats_in(tmp_path)} >= {
        ("Ada Ray", "handed in"),
        ("Bo Lind", "at work"),
    }


def test_the_files_are_those_of_then() -> None:
    """Nobody wrote them anew: the hand-in still keeps its facts in notes."""
    events = json.loads((KEPT / "ada.handin.json").read_text(encoding="utf-8"))["events"]
    assert "trainee: Ada Ray" in [event.get("text") for event in events]
