"""The trainer's board: who sits where, connected or not, how far along, how right, and who has handed in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from troubleshoot.case.events import (
    CheckChosen,
    Closed,
    Event,
    Opened,
    ReadingTaken,
    RepairMade,
    Seated,
    Undone,
)
from troubleshoot.case.kept_events import decode_all
from troubleshoot.casebook.refusing import CasebookRefused
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.class_folder import CONNECTED, ServedClass, served_class
from troubleshoot.classroom.name_list import kept_names
from troubleshoot.classroom.seats import CASEBOOK, SEATS
from troubleshoot.classroom.sitting import real_minutes
from troubleshoot.problems import TroubleshootError

QUIET = 300.0
"""Seconds without anything done after which a seat is called quiet."""

Believed = Callable[[str, Sequence[str]], float | None]
"""Gives how probable readings of some checks make what is wrong in the drill of a seal; only its key can say."""


@dataclass(frozen=True)
class SeatRow:
    """One seat as the board shows it; `belief` None where no key was given."""

    trainee: str
    state: str
    at: str
    readings: int
    minutes: float
    real_minutes: float
    touched: float
    seat: str = ""
    connection: str = ""
    check: str = ""
    """The check that `at` names, by id; empty for none."""
    belief: float | None = None
    left: float | None = None
    """Minutes of work left; None where none are set."""
    ends: float | None = None
    """When the minutes by the clock are up, in seconds since 1970; None where there is no limit by it."""


def seats_in(into: Path, believed: Believed | None = None) -> tuple[SeatRow, ...]:
    """Return the seats of a class by name; TroubleshootError where there is no class.

    Everybody on the list of names has a seat, also who has not come yet.
    """
    folder = into / SEATS
    try:
        if not folder.is_dir():
            raise TroubleshootError(f"There is no class in {into}.", "Name the folder that `drill serve --into` names.")
        places = sorted(one for one in folder.iterdir() if one.is_dir())
    except OSError as refused:
        words = f"{folder} cannot be read: {refused.strerror or refused}."
        raise TroubleshootError(words, "Look at the class as whoever serves it.") from refused
    served, people = served_class(into), {one.seat: one.name for one in kept_names(into)}
    stands = served is not None and served.stands
    found: list[SeatRow] = []
    for place in places:
        there = "here" if stands and (place / CONNECTED).exists() else "away"
        sat = (
            list(_seats(place / CASEBOOK, place.name, there, served, believed)) if (place / CASEBOOK).is_file() else []
        )
        if not sat and there == "here":
            name = people.get(place.name, "(no name yet)")
            sat = [SeatRow(name, "at the door", "", 0, 0.0, 0.0, 0.0, place.name[:4], there)]
        found += sat
    come = {place.name for place in places}
    for seat, name in people.items():
        if seat not in come:
            found.append(SeatRow(name, "not come", "", 0, 0.0, 0.0, 0.0, seat[:4], "away"))
    return tuple(sorted(found, key=lambda seat: (seat.trainee.casefold(), seat.touched)))


def _seats(
    path: Path, seat: str, there: str, served: ServedClass | None, believed: Believed | None
) -> Iterator[SeatRow]:
    """Yield the sittings of one casebook; one that cannot be read just now is left out."""
    try:
        with Casebook(path, wait=1.0, writable=False) as book:
            for row in book.cases():
                events = decode_all(book.events(row.id))
                yield _seat(events, row.touched, seat, there, served, believed)
    except (CasebookRefused, msgspec.MsgspecError, UnicodeError):
        return


def _seat(
    events: Sequence[Event], touched: float, seat: str, there: str, served: ServedClass | None,
    believed: Believed | None,
) -> SeatRow:  # fmt: skip
    sat = next((one for one in events if isinstance(one, Seated)), None)
    seal = next((one.drill for one in events if isinstance(one, Opened)), "")
    trainee = sat.trainee if sat is not None else "(no name)"
    if sat is not None and sat.attempt > 1:
        trainee = f"{trainee} ({sat.attempt})"
    readings = [one for one in events if isinstance(one, ReadingTaken)]
    repairs = sum(isinstance(one, RepairMade) for one in events)
    state = "handed in" if any(isinstance(one, Closed) for one in events) else "at work"
    spent = sum(one.minutes for one in events if isinstance(one, ReadingTaken | RepairMade))
    at, check = _at(events, repairs)
    return SeatRow(
        trainee, state, at, len(readings), spent, real_minutes(events), touched, seat[:4], there, check,
        believed(seal, [one.check for one in readings]) if believed is not None else None,
        None if served is None or served.minutes is None else served.minutes - spent,
        None if served is None or served.clock is None or sat is None else sat.at + 60.0 * served.clock,
    )  # fmt: skip


def _at(events: Sequence[Event], repairs: int) -> tuple[str, str]:
    """Return the last thing done, in a few words that tell no answer, and the check it names."""
    for event in reversed(events):
        match event:
            case Closed():
                return "done", ""
            case RepairMade() | Undone() if repairs:
                return f"{repairs} named", ""
            case ReadingTaken(check=check):
                return f"read {check}", check
            case CheckChosen(check=check):
                return f"at {check}", check
            case Opened():
                return "just begun", ""
            case _:
                continue
    return "", ""


def board_lines(seats: Sequence[SeatRow], now: float, titles: Mapping[str, str] | None = None) -> Iterator[str]:
    """Yield the board as lines of a table of at most 79 columns; `titles` are the checks in words."""
    if not seats:
        yield "Nobody has taken a seat yet."
        return
    told, timed = any(one.belief is not None for one in seats), any(_left(one, now) is not None for one in seats)
    yield (
        f"{'Seat':<4} {'Trainee':<16} {'state':<11} {'read':>4} {'min':>4}{' left' if timed else ''} {'clock':>5}"
        f"{' right' if told else ''} {'quiet':>5}  at"
    )
    for one in seats:
        quiet = max(now - one.touched, 0.0)
        quiet_words = f"{quiet / 60:.0f} m" if one.state == "at work" and quiet >= QUIET else ""
        state = one.state if one.connection != "away" or one.state in ("handed in", "not come") else "gone away"
        remains = None if one.state == "handed in" else _left(one, now)
        left = f" {remains:>4.0f}" if remains is not None else "     " if timed else ""
        right = f" {one.belief * 100:>3.0f} %" if one.belief is not None else "      " if told else ""
        where = one.at.replace(one.check, (titles or {}).get(one.check, one.check)) if one.check else one.at
        line = (
            f"{one.seat:<4} {_printable(one.trainee)[:16]:<16} {state:<11} {one.readings:>4} {one.minutes:>4.0f}{left}"
            f" {one.real_minutes:>5.0f}{right} {quiet_words:>5}  {where}"
        )
        yield line[:79].rstrip()
    done = sum(one.state == "handed in" for one in seats)
    yield f"{len(seats)} {'seat' if len(seats) == 1 else 'seats'}, {done} handed in."


def _left(one: SeatRow, now: float) -> float | None:
    """Return the minutes left of a seat, those by the clock where they are limited; none is less than none."""
    if one.ends is not None:
        return max((one.ends - now) / 60.0, 0.0)
    return one.left


def _printable(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)
