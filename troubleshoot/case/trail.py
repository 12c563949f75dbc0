"""The trail: what has been done in a case, one line each, in the order it was done."""

from __future__ import annotations

from dataclasses import replace
from typing import assert_never

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.comparing import held_together, sum_line
from troubleshoot.case.events import (
    Aside,
    CheckSkipped,
    Closed,
    FuelSmelt,
    LeakRepaired,
    Opened,
    ReadingCorrected,
    ReadingTaken,
    RepairMade,
    Retested,
    Setting,
    Undone,
    Work,
)
from troubleshoot.case.folding import Done
from troubleshoot.case.view import TrailLine
from troubleshoot.knowledge.answers import id_words
from troubleshoot.knowledge.catalogue import Catalogue

ANSWERS = ("reading", "skipped")
"""Kinds of lines that are answers, which can be changed."""

RETEST_WORDS = {"gone": "the concern is gone", "partly": "better, not gone", "still": "the concern is still there"}


def trail(seen: Assessment, catalogue: Catalogue) -> tuple[TrailLine, ...]:
    """Return what has been done, line by line; car, concerns, tools and cautions read are not in it.

    Answers, which can be changed, are numbered from 1; every other line has the number 0.
    """
    lines: list[TrailLine] = []
    answers = 0
    sums = _sums(seen, catalogue)
    for one in seen.state.done:
        line = _line(one, seen, catalogue)
        if line is not None and one.before:
            line = replace(line, verdict=f"{line.verdict}; changed from {', '.join(one.before)}".lstrip("; "))
        if line is not None:
            answers += line.kind in ANSWERS
            lines.append(replace(line, number=answers) if line.kind in ANSWERS else line)
        lines += sums.get(one.index, ())
    return tuple(lines)


def _sums(seen: Assessment, catalogue: Catalogue) -> dict[int, list[TrailLine]]:
    """Return what two readings say together, by the place of the later of the two."""
    found: dict[int, list[TrailLine]] = {}
    events = {one.index: one.event for one in seen.state.done}
    for at, other in held_together(seen.state, seen.understood, catalogue).items():
        event, later = events[at], max(at, other)
        assert isinstance(event, ReadingTaken)
        pair = seen.understood[at], seen.understood[other]
        line = sum_line(later, *pair, event.check, catalogue, seen.car, events[later].at)
        if line is not None:
            found.setdefault(later, []).append(line)
    return found


def _line(one: Done, seen: Assessment, catalogue: Catalogue) -> TrailLine | None:
    at, index = one.event.at, one.index
    match one.event:
        case ReadingTaken() as event:
            return _reading(event, index, seen, catalogue)
        case CheckSkipped(check=check, why=why):
            words = why or "not done"
            return TrailLine(index, 0, "skipped", check, _ask(catalogue, check), "skipped", words, None, 0.0, at)
        case RepairMade(cause=cause, minutes=minutes, said=said):
            title = catalogue.causes[cause].title if cause in catalogue.causes else id_words(cause)
            words = ", part ".join(one for one in (said.words, said.part) if one)
            return TrailLine(index, 0, "repair", "", f"Repair: {title}", "made", words, None, minutes, at)
        case Retested(result=result):
            words = RETEST_WORDS[result]
            return TrailLine(index, 0, "retest", "", "Retest", words, "", result == "gone", 0.0, at)
        case FuelSmelt():
            return TrailLine(index, 0, "stop", "", "Fuel smelt or seen", "stopped", "", False, 0.0, at)
        case LeakRepaired():
            return TrailLine(index, 0, "stop", "", "Leak repaired", "looked at again", "", True, 0.0, at)
        case Aside(line=said) | Work(line=said):
            return None if said is None else TrailLine(index, 0, "note", "", *said, "", None, 0.0, at)
        case Opened() | Setting() | Closed():
            return None
        case ReadingCorrected() | Undone():
            raise AssertionError("these never stand")
        case never:
            assert_never(never)


def _reading(event: ReadingTaken, index: int, seen: Assessment, catalogue: Catalogue) -> TrailLine:
    read = seen.understood.get(index)
    title = _ask(catalogue, event.check)
    if read is None:
        return TrailLine(
            index, 0, "reading", event.check, title, event.typed, "not counted", None, event.minutes, event.at
        )
    answer = read.shown
    verdict = read.words if read.value is not None else ""
    return TrailLine(index, 0, "reading", event.check, title, answer, verdict, read.normal, event.minutes, event.at)


def _ask(catalogue: Catalogue, check: str) -> str:
    return catalogue.checks[check].ask if check in catalogue.checks else id_words(check)
