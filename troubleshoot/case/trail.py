"""The trail: what has been done in a case, one line each, in the order it was done."""

from __future__ import annotations

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.events import (
    CheckSkipped,
    FuelSmelt,
    LeakRepaired,
    Note,
    ReadingTaken,
    RecordingKept,
    RepairMade,
    Retested,
)
from troubleshoot.case.folding import Done
from troubleshoot.case.view import TrailLine
from troubleshoot.knowledge.answers import id_words
from troubleshoot.knowledge.catalogue import Catalogue

RETEST_WORDS = {"gone": "the concern is gone", "partly": "better, not gone", "still": "the concern is still there"}


def trail(seen: Assessment, catalogue: Catalogue) -> tuple[TrailLine, ...]:
    """Return what has been done, numbered from 1; car, concerns, tools and cautions read are not in it."""
    lines: list[TrailLine] = []
    for one in seen.state.done:
        line = _line(one, len(lines) + 1, seen, catalogue)
        if line is not None:
            lines.append(line)
    return tuple(lines)


def _line(one: Done, number: int, seen: Assessment, catalogue: Catalogue) -> TrailLine | None:
    at, index = one.event.at, one.index
    match one.event:
        case ReadingTaken() as event:
            return _reading(event, index, number, seen, catalogue)
        case CheckSkipped(check=check, why=why):
            words = why or "not done"
            return TrailLine(index, number, "skipped", check, _ask(catalogue, check), "skipped", words, None, 0.0, at)
        case RepairMade(cause=cause, minutes=minutes):
            title = catalogue.causes[cause].title if cause in catalogue.causes else id_words(cause)
            return TrailLine(index, number, "repair", "", f"Repair: {title}", "made", "", None, minutes, at)
        case Retested(result=result):
            words = RETEST_WORDS[result]
            return TrailLine(index, number, "retest", "", "Retest", words, "", result == "gone", 0.0, at)
        case FuelSmelt():
            return TrailLine(index, number, "stop", "", "Fuel smelt or seen", "stopped", "", False, 0.0, at)
        case LeakRepaired():
            return TrailLine(index, number, "stop", "", "Leak repaired", "looked at again", "", True, 0.0, at)
        case RecordingKept(kind=kind, file=file):
            return TrailLine(index, number, "note", "", f"Recording: {kind}", file, "", None, 0.0, at)
        case Note(text=text):
            return TrailLine(index, number, "note", "", "Note", text, "", None, 0.0, at)
        case _:
            return None


def _reading(event: ReadingTaken, index: int, number: int, seen: Assessment, catalogue: Catalogue) -> TrailLine:
    read = seen.understood.get(index)
    title = _ask(catalogue, event.check)
    if read is None:
        return TrailLine(
            index, number, "reading", event.check, title, event.typed, "not counted", None, event.minutes, event.at
        )
    answer = read.shown
    verdict = read.words if read.value is not None else ""
    return TrailLine(
        index, number, "reading", event.check, title, answer, verdict, read.normal, event.minutes, event.at
    )


def _ask(catalogue: Catalogue, check: str) -> str:
    return catalogue.checks[check].ask if check in catalogue.checks else id_words(check)
