"""The state of a case as a fold over its events: nothing else decides what stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec

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
    Opened,
    ReadingCorrected,
    ReadingTaken,
    RecordingKept,
    ToolsSet,
    Undone,
)

LEAK_FOUND = "fuel-leak-found"
"""The outcome that stops everything, whatever check it belongs to."""

_BEFORE_WORK = (Opened, CarSet, ConcernsSet, ToolsSet)


@dataclass(frozen=True)
class Done:
    """An event that stands, with its place in the event list; a correction is already in it."""

    index: int
    event: Event


@dataclass(frozen=True)
class CaseState:
    """What stands in a case after all its events."""

    opened: Opened | None
    car: Mapping[str, Any] | None
    concerns: tuple[str, ...]
    customer: str
    tools: tuple[str, ...] | None
    done: tuple[Done, ...]
    acknowledged: Mapping[str, tuple[CautionAcknowledged, ...]]
    """By caution id what was acknowledged since the last leak: after one everything is read anew."""
    chosen: str | None
    smelt: bool
    closed: Closed | None


_DECODER = msgspec.json.Decoder(Event)


def encode(event: Event) -> bytes:
    """Return an event as it is kept."""
    return msgspec.json.encode(event)


def decode(payload: bytes) -> Event:
    """Return a kept event; ValueError (msgspec.ValidationError) when it is none."""
    event: Event = _DECODER.decode(payload)
    return event


def standing(events: Sequence[Event]) -> tuple[Done, ...]:
    """Return the events that were not taken back, each as last corrected."""
    stack: list[Done] = []
    for index, event in enumerate(events):
        if isinstance(event, Undone):
            if stack and not isinstance(stack[-1].event, Opened):
                stack.pop()
        else:
            stack.append(Done(index, event))
    corrected = {one.event.index: one.event.reading for one in stack if isinstance(one.event, ReadingCorrected)}
    return tuple(
        Done(one.index, corrected.get(one.index, one.event))
        for one in stack
        if not isinstance(one.event, ReadingCorrected)
    )


def last_to_undo(events: Sequence[Event]) -> Event | None:
    """Return the event that one step back would take away; None when only the start of the case is left."""
    stack: list[Event] = []
    for event in events:
        if isinstance(event, Undone):
            if stack and not isinstance(stack[-1], Opened):
                stack.pop()
        else:
            stack.append(event)
    if not stack or isinstance(stack[-1], Opened):
        return None
    last = stack[-1]
    if isinstance(last, _BEFORE_WORK) and not any(isinstance(one, type(last)) for one in stack[:-1]):
        return None
    return last


def fold(events: Sequence[Event]) -> CaseState:
    """Return what stands after these events; the same events always give the same state."""
    done = standing(events)
    opened: Opened | None = None
    car: Mapping[str, Any] | None = None
    concerns: tuple[str, ...] = ()
    customer, chosen, smelt = "", None, False
    tools: tuple[str, ...] | None = None
    closed: Closed | None = None
    acknowledged: dict[str, tuple[CautionAcknowledged, ...]] = {}
    for one in done:
        match one.event:
            case Opened() as event:
                opened = event
            case CarSet(car=values):
                car = values
            case ConcernsSet(concerns=ids, customer=words):
                concerns, customer = ids, words
            case ToolsSet(tools=ids_or_none):
                tools = ids_or_none
            case CautionAcknowledged(caution=caution) as event:
                acknowledged[caution] = (*acknowledged.get(caution, ()), event)
            case CheckChosen(check=check):
                chosen = check
            case ReadingTaken(check=check, outcome=outcome):
                chosen = None
                if outcome == LEAK_FOUND:
                    smelt, acknowledged = True, {}
            case CheckSkipped():
                chosen = None
            case FuelSmelt():
                smelt, acknowledged = True, {}
            case LeakRepaired():
                smelt = False
            case RecordingKept():
                pass
            case Closed() as event:
                closed = event
            case _:
                chosen = None
    return CaseState(opened, car, concerns, customer, tools, done, acknowledged, chosen, smelt, closed)
