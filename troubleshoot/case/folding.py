"""The state of a case as a fold over its events: nothing else decides what stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, assert_never

from troubleshoot.case.events import (
    Aside,
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
    Setting,
    ToolsSet,
    Undone,
    Work,
)

LEAK_FOUND = "fuel-leak-found"
"""The outcome that stops everything, whatever check it belongs to."""


@dataclass(frozen=True)
class Done:
    """An event that stands, with its place in the event list; a correction is already in it.

    `before` are the answers that stood in its place earlier, as they were typed.
    """

    index: int
    event: Event
    before: tuple[str, ...] = ()


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


def standing(events: Sequence[Event]) -> tuple[Done, ...]:
    """Return the events that were not taken back, each as last corrected."""
    stack: list[Done] = []
    for index, event in enumerate(events):
        if isinstance(event, Undone):
            if stack and not isinstance(stack[-1].event, Opened):
                stack.pop()
        else:
            stack.append(Done(index, event))
    changes: dict[int, list[ReadingTaken | CheckSkipped]] = {}
    for one in stack:
        if isinstance(one.event, ReadingCorrected):
            changes.setdefault(one.event.index, []).append(one.event.reading)
    return tuple(
        _as_changed(one, changes.get(one.index)) for one in stack if not isinstance(one.event, ReadingCorrected)
    )


def _as_changed(one: Done, changes: Sequence[ReadingTaken | CheckSkipped] | None) -> Done:
    """Return an event as it was last changed, with what was typed before."""
    if not changes:
        return one
    before = [event for event in (one.event, *changes[:-1]) if isinstance(event, ReadingTaken | CheckSkipped)]
    words = tuple(event.typed if isinstance(event, ReadingTaken) else "skipped" for event in before)
    return Done(one.index, changes[-1], words)


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
    if isinstance(last, Setting) and not any(isinstance(one, type(last)) for one in stack[:-1]):
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
            case ReadingTaken(answer=answer):
                chosen = None
                if answer.outcome == LEAK_FOUND:
                    smelt, acknowledged = True, {}
            case FuelSmelt():
                smelt, acknowledged = True, {}
            case LeakRepaired():
                smelt = False
            case Work():
                chosen = None
            case Closed() as event:
                closed = event
            case Aside():
                pass
            case ReadingCorrected() | Undone():
                raise AssertionError("these never stand")
            case never:
                assert_never(never)
    return CaseState(opened, car, concerns, customer, tools, done, acknowledged, chosen, smelt, closed)
