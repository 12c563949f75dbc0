"""A limit by the clock: time left is shown, nothing counts after it, and what was named is handed in."""

from __future__ import annotations

import io
import json
import sys

import msgspec
import pytest

from tests.classroom.walking import until
from troubleshoot.case.errors import TimeUp
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.board import board_lines, seats_in
from troubleshoot.classroom.class_folder import ServedClass, note_class
from troubleshoot.classroom.drill_file import drill_text, read_drill, sealed
from troubleshoot.classroom.handing_in import finish, hand_in, to_hand_in_at
from troubleshoot.classroom.replaying import HandInRefused, replay
from troubleshoot.classroom.seats import seat_casebook
from troubleshoot.classroom.sitting import sit
from troubleshoot.cli.conversation import Talk, hold
from troubleshoot.tui.drill_app import DrillApp
from troubleshoot.tui.workspace import Workspace

RIGHT = "inlet-strainer-blocked"
BEGAN = 1_800_000_000.0


class Set:
    """A clock that stands where it is put."""

    now = BEGAN

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def timed(lean, trees):
    """A drill of ten minutes by the clock, and a sitting of it."""
    drill = sealed(msgspec.structs.replace(lean[0], clock_minutes=10.0, seal=""))

    def begin(book=None, clock=None):
        mine = CaseSettings(learn=False)
        return sit(book or Casebook(":memory:"), trees, clock or Set(), drill, "Ann", mine)[0]

    return drill, begin


def test_a_drill_without_a_limit_has_no_word_of_it(lean, timed, tmp_path):
    """So that the seals of drills written before hold."""
    assert "clock" not in drill_text(lean[0])
    (tmp_path / "t.drill.json").write_text(drill_text(timed[0]), encoding="utf-8")
    assert read_drill(tmp_path / "t.drill.json").clock_limit == 10.0


def test_nothing_but_finishing_is_left_once_the_time_is_up(timed, trees):
    drill, begin = timed
    clock = Set()
    sitting = begin(clock=clock)
    clock.now += 9.9 * 60
    sitting.repair(RIGHT)
    assert sitting.time_words == "6 s left" and not sitting.ended_by_clock
    clock.now += 60
    with pytest.raises(TimeUp):
        sitting.repair("pump-worn")
    finish(sitting)
    assert sitting.over and sitting.ended_by_clock
    assert replay(hand_in(sitting), "x", drill, trees).sitting.named == (RIGHT,)


def test_what_was_done_after_the_time_is_refused_in_a_hand_in(timed, trees):
    drill, begin = timed
    whole = json.loads(hand_in(_named(begin())))
    assert replay(json.dumps(whole), "x", drill, trees).sitting.named == (RIGHT,)
    whole["events"][-1]["at"] += 601.0
    with pytest.raises(HandInRefused, match="time by the clock is up"):
        replay(json.dumps(whole), "x", drill, trees)


def _named(sitting):
    sitting.repair(RIGHT)
    return sitting


@pytest.mark.parametrize("late", ["repair pump-worn", "list pressure", ""])
def test_plain_lines_show_what_is_left_and_hand_in_when_it_is_up(late, timed, tmp_path, monkeypatch, capsys):
    clock = Set()
    sitting = to_hand_in_at(timed[1](clock=clock), tmp_path / "x.handin.json")

    class Slow(io.StringIO):
        def readline(self, *size: int) -> str:
            clock.now += 210.0
            return super().readline(*size)

    monkeypatch.setattr(sys, "stdin", Slow(f"y\nrepair {RIGHT}\n{late}\n"))
    assert hold(Talk(sitting.case, sitting))
    said = capsys.readouterr().out
    assert "6 min left" in said and "3 min left" in said and "is up" in said
    assert sitting.over and sitting.named == (RIGHT,) and (tmp_path / "x.handin.json").exists()


async def test_the_screens_hand_in_over_whatever_is_open_when_it_is_up(timed, tmp_path):
    clock = Set()
    workspace = Workspace(None, tmp_path / "casebook.sqlite")
    sitting = to_hand_in_at(timed[1](workspace.casebook, clock), tmp_path / "x.handin.json")
    app = DrillApp(workspace, sitting)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, app, "have read this")
        await pilot.press("y")
        await until(pilot, app, "10 min left")
        await pilot.press("m")
        await until(pilot, app, "What would you repair?")
        clock.now += 601.0
        for _ in range(600):
            if (tmp_path / "x.handin.json").exists():
                break
            await pilot.pause(0.1)
    workspace.close()
    assert sitting.over and (tmp_path / "x.handin.json").exists()


def test_the_board_has_the_minutes_left_by_the_clock(timed, tmp_path):
    seat = seat_casebook(tmp_path, "0123456789abcdef")
    seat.parent.mkdir(parents=True)
    note_class(tmp_path, ServedClass(drill=timed[0].seal, title="x", minutes=200.0, clock=10.0))
    with Casebook(seat) as book:
        timed[1](book)
    head, row, _ = board_lines(seats_in(tmp_path), BEGAN + 180.0)
    assert row[head.index("left") : head.index("left") + 4].strip() == "7"
