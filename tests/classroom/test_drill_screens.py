"""Drills on the screens: a sitting from its file, practice with a retest, a drill set in the form, an 80x24 look."""

from __future__ import annotations

import re
import threading

import pytest

from tests.classroom.conftest import Clock
from tests.classroom.walking import press, read_cautions, take, until, words
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.addresses import is_loopback
from troubleshoot.classroom.board import seats_in
from troubleshoot.classroom.drill_file import drill_text, read_drill
from troubleshoot.classroom.drill_maker import DrillPlan
from troubleshoot.classroom.handing_in import finish, hand_in
from troubleshoot.classroom.key_file import key_text, read_key
from troubleshoot.classroom.replaying import replay
from troubleshoot.classroom.seats import seat_environment, seat_folder, seat_of
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.drill_app import DrillApp
from troubleshoot.tui.screens import practice
from troubleshoot.tui.screens.drill import DrillScreen
from troubleshoot.tui.screens.drill_files import path_form
from troubleshoot.tui.screens.drill_form import read_form
from troubleshoot.tui.seat import handed_in_to
from troubleshoot.tui.workspace import Workspace


async def test_a_drill_is_sat_from_its_file_and_handed_in(app, tmp_path, lean, trees):
    (tmp_path / "hill.drill.json").write_text(drill_text(lean[0]), encoding="utf-8")
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", "2")
        await until(pilot, app, "Which drill?")
        await press(pilot, "1")
        await until(pilot, app, "Your name")
        await press(pilot, "Ann", "enter")
        await read_cautions(pilot, app, "Your turn")
        assert "LIKELY" not in words(app) or "%" not in words(app).split("LIKELY")[1]
        await take(pilot, app, "moment the")
        await until(pilot, app, "Where does it lie?")
        await press(pilot, "escape")
        await until(pilot, app, "Not judged yet")
        assert "does not keep up" not in words(app)
        await press(pilot, "j")
        await until(pilot, app, "Where does it lie?")
        await press(pilot, "2")
        await until(pilot, app, "you said")
        await press(pilot, "m", "pump feed", "enter")
        await until(pilot, app, "Named:")
        await press(pilot, "f", "1")
        await until(pilot, app, "Handed in")
    path = tmp_path / "hill-Ann.handin.json"
    replayed = replay(path.read_text(encoding="utf-8"), path.name, lean[0], trees)
    assert replayed.finished and replayed.sitting.named == ("pump-volts-low",)


@pytest.mark.slow
async def test_practice_answers_retests_and_tells_at_the_end(app):
    async with app.run_test(size=(100, 30)) as pilot:
        await press(pilot, "p", "1")
        await press(pilot, "1")
        await press(pilot, "1")
        await press(pilot, "1")
        await read_cautions(pilot, app, "Your turn")
        await press(pilot, "w")
        await until(pilot, app, "%")
        await take(pilot, app, "battery volts at idle")
        await until(pilot, app, "1 reading")
        await press(pilot, "m", "enter")
        await until(pilot, app, "Repair")
        await press(pilot, "f", "1")
        await until(pilot, app, "It was:")
        assert "A good path" in words(app)
        await press(pilot, "escape")
        await until(pilot, app, "OPEN CASES")


@pytest.mark.slow
async def test_practice_that_was_left_goes_on_from_the_start(app):
    async with app.run_test(size=(100, 30)) as pilot:
        await press(pilot, "p", "1")
        for _ in range(3):
            await press(pilot, "1")
        await read_cautions(pilot, app, "Your turn")
        await take(pilot, app, "battery volts")
        await until(pilot, app, "1 reading")
        await press(pilot, "escape")
        await until(pilot, app, "OPEN CASES")
        await press(pilot, "1")
        await until(pilot, app, "1 reading")
        assert "close" in words(app) and "finish" not in words(app).casefold()


@pytest.mark.slow
async def test_a_trainer_sets_checks_and_marks_a_drill_on_the_screens(app, tmp_path):
    """At 80 columns and 24 lines: a fault of one's own by its words, the proof, then a hand-in with its page."""
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", "3")
        await until(pilot, app, "A drill of my own")
        await press(pilot, "1")
        await until(pilot, app, "Which car?")
        await press(pilot, "1")
        await until(pilot, app, "Which fault?")
        await press(pilot, "pump does not", "enter")
        await until(pilot, app, "A second fault?")
        await press(pilot, "1")
        await until(pilot, app, "Tools at hand")
        await press(pilot, "enter")
        await until(pilot, app, "Name of the files")
        await press(pilot, "first", "enter")
        await until(pilot, app, "first.drill.json is for the class")
        await press(pilot, "escape")
        drill, key = read_drill(tmp_path / "first.drill.json"), read_key(tmp_path / "first.key")
        assert key.causes == ("pump-dead",) and key.drill.seal == drill.seal and key.best_minutes > 0
        await until(pilot, app, "OPEN CASES")
        await press(pilot, "p", "4")
        await until(pilot, app, "Which drill?")
        await press(pilot, "1")
        await until(pilot, app, "The drill can be solved")
        await press(pilot, "escape")


async def test_a_class_is_marked_and_watched_on_the_screens(app, tmp_path, lean, trees, sitting, work):
    (tmp_path / "hill.key.json").write_text(key_text(lean[1]), encoding="utf-8")
    into = tmp_path / "class"
    (into / "hand-ins").mkdir(parents=True)
    seat = into / "seats" / "0123456789abcdef"
    seat.mkdir(parents=True)
    with Casebook(seat / "casebook.sqlite") as book:
        work(sitting("Cy", book=book), ("pressure-when-lean",), close=False)
    text = hand_in(work(sitting("Ann"), ("pressure-when-lean", "suction-vacuum"), ["inlet-strainer-blocked"]))
    (into / "hand-ins" / "hill-Ann.handin.json").write_text(text, encoding="utf-8")
    (into / "hand-ins" / "hill-Bo.handin.json").write_text(text.replace("inlet-strainer-blocked", "pump-worn"))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", "5")
        await until(pilot, app, "Which class?")
        await press(pilot, "1")
        await until(pilot, app, "Cy")
        assert "1 seat, 0 handed in" in words(app)
        await press(pilot, "escape")
        await until(pilot, app, "OPEN CASES")
        await press(pilot, "p", "6")
        await until(pilot, app, "Which drill?")
        await press(pilot, "1")
        await until(pilot, app, "Where are the hand-ins?")
        await press(pilot, "1")
        await until(pilot, app, "1 of 1 found it")
        assert "Refused: hill-Bo.handin.json" in words(app)
        await press(pilot, "g")
        await until(pilot, app, "pages to print")
        assert (tmp_path / "hill-marks.csv").exists() and (tmp_path / "hill-marks" / "hill-Ann.html").exists()
        (tmp_path / "hill-marks.csv").unlink()
        await press(pilot, "g")
        await until(pilot, app, "is there already")
        assert not (tmp_path / "hill-marks.csv").exists(), "where the pages are refused, nothing is written"
        await press(pilot, "1")
        await until(pilot, app, "How it was marked:")


@pytest.mark.parametrize("typed", ["nowhere.key.json", "ä" * 200])
def test_a_file_that_cannot_be_looked_at_is_marked_in_the_form(app, typed):
    """A name that is not there, or longer than a file system takes (255 bytes in POSIX), holds the person."""
    found, wrong = path_form("Which drill?", "").reads({"file": typed}, "us")
    assert "file" in wrong and found in (None, typed)


def test_a_class_that_cannot_be_looked_at_is_refused_in_words(tmp_path):
    """The board looks in a thread, where nobody would catch what a file system says."""
    for folder in (tmp_path, tmp_path / ("ä" * 200)):
        with pytest.raises(TroubleshootError):
            seats_in(folder)


async def test_a_fault_that_must_not_be_set_says_so_on_the_screens(app):
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", "7")
        await until(pilot, app, "Which fault?")
        await press(pilot, "fuel leaks", "enter")
        await until(pilot, app, "NOT TO BE SET ON A REAL ENGINE")


async def test_while_a_car_is_computed_one_can_go_back(app, monkeypatch):
    """What comes of it later opens nothing; the car is held back until its waiting was seen, however fast it is."""
    seen, made = threading.Event(), practice.with_files
    monkeypatch.setattr(practice, "with_files", lambda *asked: seen.wait(60) and made(*asked))
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "p", "1")
        for _ in range(3):
            await press(pilot, "1")
        await until(pilot, app, "Putting a car on the bench")
        await press(pilot, "escape")
        await until(pilot, app, "OPEN CASES")
        seen.set()
        await app.workers.wait_for_complete()
        assert "Your turn" not in words(app) and len(app.screen_stack) == 2


@pytest.mark.parametrize("fields", [
    {"name": "../up"}, {"name": ""}, {"severity": "lots"}, {"severity": "3"}, {"minutes": "-1"}, {"money": "nan"},
])  # fmt: skip
def test_a_form_that_does_not_fit_says_which_field(fields):
    result, wrong = read_form("drill", DrillPlan(faults={"pump-dead": 1.0}), fields)
    assert result is None and set(wrong) == set(fields)


def test_a_form_keeps_what_is_left_as_it_stands():
    plan = DrillPlan(title="A", faults={"pump-dead": 0.7, "plugs-worn": 0.9}, hints=("one", "two"), minutes=90)
    assert read_form("drill", plan, {"title": "B", "minutes": ""})[0] == (
        "drill", DrillPlan(title="B", faults={"pump-dead": 0.7, "plugs-worn": 0.9}, hints=("one", "two"))
    )  # fmt: skip


def test_a_seat_is_only_what_the_server_gave_out(tmp_path):
    """A cookie with anything else in it (a path, a shell word) becomes a new seat."""
    for cookie in (None, "", "../../etc", "a" * 15, "A" * 16, "0123456789abcdef; rm"):
        assert re.fullmatch(r"[0-9a-f]{16}", seat_of(cookie)) and seat_of(cookie) != cookie
    assert seat_of("0123456789abcdef") == "0123456789abcdef"
    with pytest.raises(TroubleshootError):
        seat_folder(tmp_path, "../x")
    told = seat_environment({"PATH": "/bin"}, tmp_path, "0123456789abcdef", (80, 24))
    assert told["TROUBLESHOOT_DATA"].startswith(str(tmp_path))


def test_two_trainees_of_one_name_both_keep_their_hand_in(tmp_path, sitting, work):
    """And one who finishes twice, since the first file could not be written to its end, has one file."""
    seats = ("0123456789abcdef", "fedcba9876543210")
    sat = [handed_in_to(sitting("Ann", clock=Clock()), tmp_path, "hill-Ann.handin.json", one) for one in seats[:1]]
    finish(sat[0])
    second = handed_in_to(sitting("Ann", clock=Clock(5.0)), tmp_path, "hill-Ann.handin.json", seats[1])
    finish(second)
    again = handed_in_to(sat[0], tmp_path, "hill-Ann.handin.json", seats[0])
    assert second.hand_in_at != sat[0].hand_in_at == again.hand_in_at
    assert sorted(one.name for one in (tmp_path / "hand-ins").iterdir()) == [
        "hill-Ann-fedcba.handin.json", "hill-Ann.handin.json",
    ]  # fmt: skip


@pytest.mark.parametrize(("host", "closed"), [
    ("127.0.0.1", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("192.168.1.4", False),
    ("class.example", False),
])  # fmt: skip
def test_only_loopback_is_closed(host, closed):
    assert is_loopback(host) is closed


async def test_a_digit_typed_twice_before_it_is_done_closes_nothing_below(tmp_path, trees, lean, sitting):
    """Keys that arrive faster than the screen: the second must not fall through the list and close the drill."""
    workspace = Workspace(None, tmp_path / "casebook.sqlite")
    app = DrillApp(workspace, sitting(book=workspace.casebook))
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, app, "have read this")
        await pilot.press("y")
        await until(pilot, app, "Your turn")
        for keys in (("o",), ("1", "1", "1"), ("escape",), ("o",), ("2", "3"), ("escape",)):
            for key in keys:
                app.simulate_key(key)
            await pilot.pause(0.2)
            assert isinstance(app.screen_stack[1], DrillScreen)
    workspace.close()
