"""The trainer's board: who sits where, how far along, and who has handed in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import assert_never

import msgspec

from troubleshoot.case.events import (
    Aside,
    CheckChosen,
    Closed,
    Event,
    Opened,
    ReadingCorrected,
    ReadingTaken,
    RepairMade,
    Seated,
    Setting,
    Undone,
    Work,
)
from troubleshoot.case.kept_events import decode_all
from troubleshoot.casebook.refusing import CasebookRefused
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.seats import CASEBOOK, SEATS
from troubleshoot.classroom.sitting import real_minutes
from troubleshoot.problems import TroubleshootError

QUIET = 300.0
"""Seconds without anything done after which a seat is called quiet."""


@dataclass(frozen=True)
class SeatRow:
    """One seat as the board shows it."""

    trainee: str
    state: str
    at: str
    readings: int
    minutes: float
    real_minutes: float
    touched: float


def seats_in(into: Path) -> tuple[SeatRow, ...]:
    """Return the seats of a class by name; TroubleshootError where there is no class."""
    folder = into / SEATS
    try:
        if not folder.is_dir():
            raise TroubleshootError(f"There is no class in {into}.", "Name the folder that `drill serve --into` names.")
        books = [one / CASEBOOK for one in sorted(folder.iterdir()) if (one / CASEBOOK).is_file()]
    except OSError as refused:
        words = f"{folder} cannot be read: {refused.strerror or refused}."
        raise TroubleshootError(words, "Look at the class as whoever serves it.") from refused
    found = [seat for book in books for seat in _seats(book)]
    return tuple(sorted(found, key=lambda seat: (seat.trainee.casefold(), seat.touched)))


def _seats(path: Path) -> Iterator[SeatRow]:
    """Yield the sittings of one casebook; one that cannot be read just now is left out."""
    try:
        with Casebook(path, wait=1.0, writable=False) as book:
            for row in book.cases():
                yield _seat(decode_all(book.events(row.id)), row.touched)
    except (CasebookRefused, msgspec.MsgspecError, UnicodeError):
        return


def _seat(events: Sequence[Event], touched: float) -> SeatRow:
    trainee = next((one.trainee for one in events if isinstance(one, Seated)), "(no name)")
    readings = [one for one in events if isinstance(one, ReadingTaken)]
    repairs = sum(isinstance(one, RepairMade) for one in events)
    state = "handed in" if any(isinstance(one, Closed) for one in events) else "at work"
    spent = sum(one.minutes for one in events if isinstance(one, ReadingTaken | RepairMade))
    return SeatRow(trainee, state, _at(events, repairs), len(readings), spent, real_minutes(events), touched)


def _at(events: Sequence[Event], repairs: int) -> str:
    """Return the last thing done, in a few words that tell no answer."""
    for event in reversed(events):
        match event:
            case Closed():
                return "done"
            case RepairMade() | Undone() if repairs:
                return f"{repairs} named"
            case ReadingTaken(check=check):
                return f"read {check}"
            case CheckChosen(check=check):
                return f"at {check}"
            case Opened():
                return "just begun"
            case Undone() | ReadingCorrected() | Setting() | Work() | Aside():
                continue
            case never:
                assert_never(never)
    return ""


def board_lines(seats: Sequence[SeatRow], now: float) -> Iterator[str]:
    """Yield the board as lines of a table of at most 78 columns."""
    if not seats:
        yield "Nobody has taken a seat yet."
        return
    yield f"{'Trainee':<18} {'state':<10} {'read':>4} {'min':>5} {'clock':>5} {'quiet':>6}  at"
    for one in seats:
        quiet = max(now - one.touched, 0.0)
        away = f"{quiet / 60:.0f} min" if one.state == "at work" and quiet >= QUIET else ""
        name = "".join(letter if letter.isprintable() else "?" for letter in one.trainee)
        yield (
            f"{name[:18]:<18} {one.state:<10} {one.readings:>4} {one.minutes:>5.0f} {one.real_minutes:>5.0f}"
            f" {away:>6}  {one.at[:23]}"
        )
    done = sum(one.state == "handed in" for one in seats)
    yield f"{len(seats)} {'seat' if len(seats) == 1 else 'seats'}, {done} handed in."
