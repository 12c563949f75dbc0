"""Replay a hand-in against the drill, step by step; whatever does not come out the same is refused, and where."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import msgspec

from troubleshoot.case.answering import clean
from troubleshoot.case.events import (
    CarSet,
    CautionAcknowledged,
    Closed,
    ConcernsSet,
    Event,
    HandedIn,
    Opened,
    ReadingTaken,
    Seated,
    ToolsSet,
)  # fmt: skip
from troubleshoot.case.kept_events import decode, decode_all, encode, trail_hash, trail_hash_then
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.exchange import ExchangeRefused, import_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.classroom.drill_file import Drill
from troubleshoot.classroom.sat_cases import BEGINNING
from troubleshoot.classroom.sitting import Sitting, take_up
from troubleshoot.knowledge.car import car_from
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError


class HandInRefused(TroubleshootError):
    """The hand-in does not replay: it was edited, belongs to another drill, or was made with other trees."""


@dataclass(frozen=True)
class Replayed:
    """A hand-in that came out the same: the sitting as it ended, and who sat it."""

    name: str
    sitting: Sitting
    events: tuple[Event, ...]
    finished: bool

    @property
    def trainee(self) -> str:
        """Return who sat it."""
        return self.sitting.trainee

    @property
    def attempt(self) -> int:
        """Return for which time they sat it."""
        return self.sitting.attempt

    @property
    def remarks(self) -> tuple[str, ...]:
        """Return what a trainer may want to look at, and what is no reason to refuse."""
        steps = enumerate(pairwise(one.at for one in self.events), start=2)
        back = [(place, earlier - later) for place, (earlier, later) in steps if later < earlier - 1.0]
        found = [f"attempt {self.attempt}"] if self.attempt > 1 else []
        if back:
            place, most = max(back, key=lambda one: one[1])
            found.append(f"the clock of the computer was set back {most / 60:.0f} minutes at step {place}")
        return tuple(found)


class _Clock:
    """Gives the time of the event that is replayed."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def replay(text: str, name: str, drill: Drill, catalogue: Catalogue) -> Replayed:
    """Replay a hand-in by the name of its file; HandInRefused with the event where it fails."""
    events, kept = _read(text, name)
    _refuse_beginning(events, name, drill, catalogue)
    clock = _Clock()
    book = Casebook(IN_MEMORY)
    case_id = book.new_case(events[0].at)
    for event in events[:BEGINNING]:
        book.append(case_id, encode(event), event.at)
    sitting = take_up(book, catalogue, clock, drill, case_id, CaseSettings(learn=False))
    case = sitting.case
    while len(case.events) < len(events):
        place = len(case.events)
        clock.now = events[place].at
        try:
            _refuse_other_trail(events, kept, place)
            _again(sitting, events, place)
        except TroubleshootError as refused:
            raise HandInRefused(
                f"{name}: event {place + 1} of {len(events)} does not replay: {refused.sentence}", _ASK_AGAIN
            ) from refused
        made = case.events[place:]
        wanted = events[place : place + len(made)]
        if (
            not made
            or len(made) != len(wanted)
            or not all(_same(one, two) for one, two in zip(made, wanted, strict=True))
        ):
            raise HandInRefused(
                f"{name}: event {place + 1} of {len(events)} is not what this drill gives ({_words(events[place])}).",
                _ASK_AGAIN,
            )
    return Replayed(name, sitting, tuple(events), isinstance(events[-1], Closed))


_ASK_AGAIN = "Ask the trainee for the file as the program wrote it."


def _read(text: str, name: str) -> tuple[list[Event], list[bytes]]:
    try:
        with Casebook(IN_MEMORY) as book:
            case_id = import_case(book, text, decode).case_id
            kept = book.events(case_id)
            return decode_all(kept), kept
    except ExchangeRefused as refused:
        raise HandInRefused(f"{name}: {refused.sentence}", "Give a hand-in as `drill sit` wrote it.") from refused


def _refuse_beginning(events: Sequence[Event], name: str, drill: Drill, catalogue: Catalogue) -> None:
    """Refuse a hand-in that does not begin as a sitting of this drill with these trees does."""
    if not events or not isinstance(events[0], Opened) or not events[0].drill:
        raise HandInRefused(f"{name} is a case, but not the hand-in of a drill.", "Give a hand-in.")
    if events[0].drill != drill.seal:
        raise HandInRefused(f"{name} belongs to another drill.", f"This key is that of “{drill.title}”.")
    if events[0].trees != catalogue.version:
        raise HandInRefused(
            f"{name} was made with other trees ({events[0].trees[:8]}) than these ({catalogue.version[:8]}).",
            "Mark it with the program and trees it was made with.",
        )
    wanted: list[Event] = [
        events[0],
        CarSet(car=msgspec.to_builtins(drill.known_car)),
        ConcernsSet(concerns=drill.concerns, customer=clean(drill.story)),
        ToolsSet(tools=drill.tools),
    ]
    for place, (one, two) in enumerate(zip(wanted, events, strict=False)):
        if not _same(one, two):
            raise HandInRefused(f"{name}: event {place + 1} is not how this drill begins ({_words(two)}).", _ASK_AGAIN)
    named = events[BEGINNING - 1] if len(events) >= BEGINNING else None
    if not isinstance(named, Seated) or not named.trainee:
        raise HandInRefused(f"{name}: event {BEGINNING} does not name the trainee.", _ASK_AGAIN)


def _again(sitting: Sitting, events: Sequence[Event], place: int) -> None:
    """Do again what an event says was done; the rules of the drill say what is written for it."""
    event = events[place]
    if isinstance(event, ReadingTaken):
        sitting.case.take(event.check, event.typed, sure=True)
    elif isinstance(event, CautionAcknowledged):
        sitting.case.acknowledge(event.caution)
    elif isinstance(event, Seated):
        raise HandInRefused("The trainee is named a second time.", _ASK_AGAIN)
    elif isinstance(event, HandedIn):
        closed = events[place + 1] if place + 2 == len(events) else None
        if not isinstance(closed, Closed):
            raise HandInRefused("The sitting does not end where it was handed in.", _ASK_AGAIN)
        sitting.case.close(closed.result)
    else:
        sitting.case.again(event)


def _refuse_other_trail(events: Sequence[Event], kept: Sequence[bytes], place: int) -> None:
    """Refuse a trail that is not the one whose hash was taken when it was handed in."""
    event = events[place]
    if isinstance(event, HandedIn):
        now = trail_hash_then(kept[:place]) if event.form == 1 else trail_hash(events[:place])
        if event.trail != now:
            raise HandInRefused("The trail before it was changed after it was handed in.", _ASK_AGAIN)


def _same(one: Event, two: Event) -> bool:
    """Return whether two events are the same but for the time, and for the last digits of a number.

    The hash of a trail is held against the trail itself, since the last digits of its numbers count there.
    """
    if isinstance(one, HandedIn) and isinstance(two, HandedIn):
        return True
    if isinstance(one, CautionAcknowledged) and isinstance(two, CautionAcknowledged) and not two.state:
        return one.caution == two.caution
    if isinstance(one, CarSet) and isinstance(two, CarSet):
        return _same_car(one.car, two.car)
    first, second = (json.loads(encode(event)) for event in (one, two))
    return _alike({**first, "at": 0.0}, {**second, "at": 0.0})


def _alike(one: Any, two: Any) -> bool:
    """Return whether two plain values are the same but for the last digits of numbers."""
    if isinstance(one, dict) and isinstance(two, dict):
        return one.keys() == two.keys() and all(_alike(value, two[name]) for name, value in one.items())
    if isinstance(one, float | int) and isinstance(two, float | int) and not isinstance(one, bool):
        return math.isclose(one, two, rel_tol=1e-6, abs_tol=1e-9)
    return bool(one == two)


def _same_car(one: Mapping[str, Any], two: Mapping[str, Any]) -> bool:
    """Return whether two descriptions are of one car; what a field of a later program was not asked is as usual."""
    try:
        return car_from(dict(one)) == car_from(dict(two))
    except (msgspec.ValidationError, TroubleshootError):
        return False


def _words(event: Event) -> str:
    """Return an event in a few words, for a refusal."""
    return encode(event).decode("utf-8", "replace")[:120]
