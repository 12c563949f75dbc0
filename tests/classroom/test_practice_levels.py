"""Practice alone: levels that mean something, hints by stages, a record over weeks."""

from __future__ import annotations

from datetime import date

import pytest

from troubleshoot.bench.complaint_concerns import REPORTABLE
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.hinting import staged_hints
from troubleshoot.classroom.practice_record import Practised, practised, record_lines
from troubleshoot.classroom.practising import LEVELS, PracticeRefused, begin_practice, draw_practice

INSIDE = ("cam-retarded", "valve-float", "compression-low")


def test_what_the_engine_cannot_show_is_refused_at_once(trees):
    """It smells of nothing and does not pop; before, seconds of drawing ended in "Try again"."""
    assert {"wont-rev", "idle-surge", "floods-key-on", "lean-top"} <= REPORTABLE <= trees.concerns.keys()
    for concern in sorted(trees.concerns.keys() - REPORTABLE):
        with pytest.raises(PracticeRefused, match="cannot show"):
            draw_practice(1, concern, 1, None, "asked", trees)


def test_a_beginner_s_level_has_nothing_inside_the_engine(trees):
    """Common practice, no source: a beginner's fault is one that is put right within the hour, heads on."""
    for level in (1, 2):
        assert not any(LEVELS[level].takes(trees.causes[one]) for one in INSIDE)
    assert all(LEVELS[level].takes(trees.causes[one]) for level in (3, 4, 5) for one in INSIDE)
    assert LEVELS[1].takes(trees.causes["plug-lead-off"]) and not LEVELS[1].takes(trees.causes["pump-worn"])
    assert sum(LEVELS[1].takes(one) for one in trees.causes.values()) > 60


def test_hints_tell_more_from_stage_to_stage_and_never_all(lean, trees):
    hints = staged_hints(lean[1], trees)
    title = trees.causes[lean[1].causes[0]].title
    assert len(hints) >= 3 and hints[0] == "Look at this side of the car: fuel."
    assert not any(title in one for one in hints[:-1])
    assert title in hints[-1] and hints[-1].count(";") == 2


def test_practice_over_weeks_is_kept_with_what_it_was(tmp_path, trees):
    """A car of level 1, repaired wrong and then right; the record says so from the casebook alone."""
    now = iter(range(1_800_000_000, 1_800_100_000, 20))
    made = draw_practice(5, None, 1, "harrow-240", "asked", trees)
    assert made.drill.hints and made.key.best_minutes <= LEVELS[1].path
    with Casebook(tmp_path / "casebook.sqlite") as book:
        sitting = begin_practice(book, trees, lambda: float(next(now)), made, CaseSettings(learn=False))
        sitting.next_hint()
        wrong = next(one.id for one in sitting.candidates() if one.id not in made.key.causes)
        for cause in (wrong, *made.key.causes):
            sitting.repair(cause)
        assert practised(book, trees) == ()
        sitting.case.close("left")
        (one,) = practised(book, trees)
    assert (one.found, one.wrong, one.hints, one.day) == (True, 1, 1, date(2027, 1, 15))
    assert one.what == trees.causes[made.key.causes[0]].title


def test_the_weeks_are_worked_out_by_hand():
    """ISO 8601: 4 January is always in week 1, and 2027-01-03 is a Sunday of 2026's week 53."""
    found = [
        Practised("a", date(2027, 1, 3), "x", True, 200.0, 100.0, 1, 5, 0),
        Practised("b", date(2027, 1, 4), "y", True, 100.0, 100.0, 0, 5, 0),
        Practised("c", date(2027, 1, 5), "z", False, 900.0, 100.0, 3, 5, 2),
    ]
    lines = list(record_lines(found))
    assert lines[-2].split() == ["2026-W53", "1", "1", "1.0", "2.0"]
    assert lines[-1].split() == ["2027-W01", "2", "1", "1.5", "1.0"]
    assert list(record_lines([])) == ["No practice is over yet."]
