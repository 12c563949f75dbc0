"""What was done after a lost part of a case, in words: nothing is built on it, but nobody has to measure it again."""

from __future__ import annotations

from collections.abc import Sequence

from troubleshoot.case.events import (
    CheckSkipped,
    Event,
    FuelSmelt,
    LeakRepaired,
    Measured,
    Note,
    Opened,
    ReadingCorrected,
    ReadingTaken,
    RepairMade,
    Retested,
    Undone,
)
from troubleshoot.case.kept_events import decode, encode
from troubleshoot.casebook.store import Casebook


def note_later(book: Casebook, case_id: str, payloads: Sequence[bytes], at: float) -> str:
    """Add what was read, skipped, repaired, retested and noted in these kept events as a note, and return it.

    Empty, and no note, where they hold none of these. A drill is only told of: its trail is handed in as it is.
    """
    found = [said for payload in payloads if (said := _told(payload))]
    if not found:
        return ""
    text = f"After a lost part of this case: {'; '.join(found)}."
    try:
        first = decode(book.events(case_id)[0])
    except ValueError:
        return text
    if isinstance(first, Opened) and not first.drill:
        book.append(case_id, encode(Note(text=text, at=at)), at)
    return text


def _told(payload: bytes) -> str:
    try:
        return _words(decode(payload))
    except ValueError:
        return ""


def _words(event: Event) -> str:
    match event:
        case ReadingCorrected(reading=reading):
            return f"{_words(reading)} (corrected)"
        case ReadingTaken(check=check, answer=Measured(value=value, unit=unit)) if unit:
            return f"{check}: {value:.6g} {unit}"
        case ReadingTaken(check=check, typed=typed):
            return f"{check}: {typed}"
        case CheckSkipped(check=check):
            return f"{check}: skipped"
        case RepairMade(cause=cause):
            return f"repair made for {cause}"
        case Retested(result=result):
            return f"retest: the concern is {result}"
        case FuelSmelt():
            return "fuel was smelt or seen"
        case LeakRepaired():
            return "the fuel leak was repaired"
        case Note(text=text):
            return f"note: {text}"
        case Undone():
            return "the last that stood was taken back"
    return ""
