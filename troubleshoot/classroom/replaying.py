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
    CheckChosen,
    CheckSkipped,
    Closed,
    ConcernsSet,
    Event,
    FuelSmelt,
    LeakRepaired,
    Note,
    Opened,
    ReadingTaken,
    RepairMade,
    ToolsSet,
    Undone,
)
from troubleshoot.case.folding import decode, encode
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.exchange import ExchangeRefused, import_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.classroom.drill_file import Drill
from troubleshoot.classroom.exercise import ASKED, HANDED_IN, HINT, JUDGED, Exercise, take_up, trail_hash
from troubleshoot.classroom.exercise_cases import TRAINEE
from troubleshoot.knowledge.car import car_from
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError

BEGINNING = 5
"""Events that the program itself writes when a sitting begins: opened, car, concerns, tools, trainee."""


class HandInRefused(TroubleshootError):
    """The hand-in does not replay: it was edited, belongs to another drill, or was made with other trees."""


@dataclass(frozen=True)
class Replayed:
    """A hand-in that came out the same: the sitting as it ended, and who sat it."""

    name: str
    exercise: Exercise
    events: tuple[Event, ...]
    finished: bool

    @property
    def trainee(self) -> str:
        """Return who sat it."""
        return self.exercise.trainee


class _Clock:
    """Gives the time of the event that is replayed."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def replay(text: str, name: str, drill: Drill, catalogue: Catalogue) -> Replayed:
    """Replay a hand-in by the name of its file; HandInRefused with the event where it fails."""
    events = _read(text, name)
    _refuse_beginning(events, name, drill, catalogue)
    clock = _Clock()
    book = Casebook(IN_MEMORY)
    case_id = book.new_case(events[0].at)
    for event in events[:BEGINNING]:
        book.append(case_id, encode(event), event.at)
    exercise = take_up(book, catalogue, clock, drill, case_id, CaseSettings(learn=False))
    place = BEGINNING
    while place < len(events):
        clock.now = events[place].at
        try:
            step = _again(exercise, events, place)
        except TroubleshootError as refused:
            raise HandInRefused(
                f"{name}: event {place + 1} of {len(events)} does not replay: {refused.sentence}", _REMEDY
            ) from refused
        made, wanted = exercise.events[place : place + step], events[place : place + step]
        if len(made) != step or not all(_same(one, two) for one, two in zip(made, wanted, strict=True)):
            raise HandInRefused(
                f"{name}: event {place + 1} of {len(events)} is not what this drill gives ({_words(events[place])}).",
                _REMEDY,
            )
        place += step
    return Replayed(name, exercise, tuple(events), isinstance(events[-1], Closed))


_REMEDY = "Ask the trainee for the file as the program wrote it."


def _read(text: str, name: str) -> list[Event]:
    try:
        with Casebook(IN_MEMORY) as book:
            case_id = import_case(book, text, decode).case_id
            return [decode(payload) for payload in book.events(case_id)]
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
            raise HandInRefused(f"{name}: event {place + 1} is not how this drill begins ({_words(two)}).", _REMEDY)
    named = events[BEGINNING - 1] if len(events) >= BEGINNING else None
    if not isinstance(named, Note) or not named.text.startswith(TRAINEE):
        raise HandInRefused(f"{name}: event {BEGINNING} does not name the trainee.", _REMEDY)
    times = [event.at for event in events]
    for place, (earlier, later) in enumerate(pairwise(times), start=2):
        if not (math.isfinite(later) and later >= earlier - 1.0):
            raise HandInRefused(f"{name}: event {place} happened before the one ahead of it.", _REMEDY)


def _again(exercise: Exercise, events: Sequence[Event], place: int) -> int:
    """Do again what an event says was done, and return how many events that makes."""
    match events[place]:
        case ReadingTaken(check=check, typed=typed):
            exercise.take(check, typed)
        case CheckSkipped(check=check, why=why):
            exercise.skip(check, why)
        case CheckChosen(check=check):
            exercise.choose(check)
        case CautionAcknowledged(caution=caution):
            exercise.acknowledge(caution)
        case RepairMade(cause=cause):
            exercise.repair(cause)
        case Undone():
            exercise.undo()
        case FuelSmelt():
            exercise.smell_fuel()
        case LeakRepaired():
            exercise.leak_repaired()
        case Note(text=text):
            return _note(exercise, events, place, text)
        case _:
            raise HandInRefused("That cannot happen in a sitting.", _REMEDY)
    return 1


def _note(exercise: Exercise, events: Sequence[Event], place: int, text: str) -> int:
    if text == ASKED:
        exercise.ask_ranking()
    elif text.startswith(JUDGED):
        check, _, outcome = text.removeprefix(JUDGED).partition(": ")
        exercise.judge(check, outcome)
    elif text.startswith(HANDED_IN):
        if text.removeprefix(HANDED_IN) != trail_hash(events[:place]):
            raise HandInRefused("The trail before it was changed after it was handed in.", _REMEDY)
        closed = events[place + 1] if place + 2 == len(events) else None
        if not isinstance(closed, Closed):
            raise HandInRefused("The sitting does not end where it was handed in.", _REMEDY)
        exercise.close(closed.result)
        return 2
    elif text.startswith(HINT):
        exercise.next_hint()
    elif text.startswith(TRAINEE):
        raise HandInRefused("The trainee is named a second time.", _REMEDY)
    else:
        exercise.note(text)
    return 1


def _same(one: Event, two: Event) -> bool:
    """Return whether two events are the same but for the time, and for the last digits of a number.

    The hash of a trail is held against the trail itself in `_note`, since the last digits of its numbers count there.
    """
    if all(isinstance(event, Note) and event.text.startswith(HANDED_IN) for event in (one, two)):
        return True
    if isinstance(one, CarSet) and isinstance(two, CarSet):
        return _same_car(one.car, two.car)
    first, second = (json.loads(encode(event)) for event in (one, two))
    first.pop("at", None), second.pop("at", None)
    if first.keys() != second.keys():
        return False
    for name, value in first.items():
        other = second[name]
        if isinstance(value, float | int) and isinstance(other, float | int) and not isinstance(value, bool):
            if not math.isclose(value, other, rel_tol=1e-6, abs_tol=1e-9):
                return False
        elif value != other:
            return False
    return True


def _same_car(one: Mapping[str, Any], two: Mapping[str, Any]) -> bool:
    """Return whether two descriptions are of one car; what a field of a later program was not asked is as usual."""
    try:
        return car_from(dict(one)) == car_from(dict(two))
    except (msgspec.ValidationError, TroubleshootError):
        return False


def _words(event: Event) -> str:
    """Return an event in a few words, for a refusal."""
    return encode(event).decode("utf-8", "replace")[:120]
