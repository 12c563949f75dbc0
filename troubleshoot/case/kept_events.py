"""Events as they are kept: to bytes and back, and those of earlier releases read as what they say today.

Until release 0.2 a reading kept its answer in four fields, and what happens at a drill was kept in notes with fixed
beginnings. A person's own note that began so was kept behind `note: `; at a car such a note is a note.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any

import msgspec

from troubleshoot.case.events import Event, HandedIn, HintGiven, Judged, Note, Opened, RankingAsked, Seated

_DECODER = msgspec.json.Decoder(Event)
_OWN = "note: "
_TRAINEE, _JUDGED, _HANDED_IN, _HINT = "trainee: ", "judged ", "handed in, trail ", "hint: "
_ASKED = "asked to see the ranking"


def encode(event: Event) -> bytes:
    """Return an event as it is kept."""
    return msgspec.json.encode(event)


def decode(payload: bytes) -> Event:
    """Return one kept event; ValueError (msgspec.ValidationError) when it is none."""
    try:
        event: Event = _DECODER.decode(payload)
    except msgspec.ValidationError:
        event = msgspec.convert(_with_answer(msgspec.json.decode(payload)), Event)
    return event


def decode_all(payloads: Sequence[bytes]) -> list[Event]:
    """Return the kept events of a case from its first on; ValueError for the first that is none."""
    events: list[Event] = []
    for payload in payloads:
        event = decode(payload)
        at_a_drill = bool(events) and isinstance(events[0], Opened) and bool(events[0].drill)
        events.append(_said_by(event) if at_a_drill and isinstance(event, Note) else event)
    return events


def trail_hash(events: Sequence[Event]) -> str:
    """Return a hash over a trail, so that a change to any part of it shows."""
    return _hash([encode(decode(encode(event))) for event in events])


def trail_hash_then(payloads: Sequence[bytes]) -> str:
    """Return the hash that release 0.2 took over a trail as it was kept."""
    return _hash([msgspec.json.encode(msgspec.json.decode(payload)) for payload in payloads])


def _hash(payloads: Sequence[bytes]) -> str:
    digest = hashlib.sha256()
    for payload in payloads:
        digest.update(payload + b"\n")
    return digest.hexdigest()


def _with_answer(kept: Any) -> Any:
    """Return a reading of release 0.2, or a change to one, with its answer as one part."""
    if not isinstance(kept, dict):
        return kept
    if kept.get("what") == "corrected":
        return {**kept, "reading": _with_answer(kept.get("reading"))}
    if kept.get("what") != "reading" or "answer" in kept:
        return kept
    value, outcome = kept.get("value"), kept.get("outcome") or ""
    if value is None:
        return {**kept, "answer": {"by": "outcome", "outcome": outcome}}
    measured = {"value": value, "uncertainty": kept.get("uncertainty"), "unit": kept.get("unit", "")}
    return {**kept, "answer": {"by": "number", "outcome": outcome, **measured}}


def _said_by(note: Note) -> Event:
    """Return what a note of release 0.2 says that was written at a drill."""
    text = note.text
    if text == _ASKED:
        return RankingAsked(at=note.at)
    if text.startswith(_TRAINEE):
        return Seated(at=note.at, trainee=text.removeprefix(_TRAINEE))
    if text.startswith(_JUDGED):
        check, _, outcome = text.removeprefix(_JUDGED).partition(": ")
        return Judged(at=note.at, check=check, outcome=outcome)
    if text.startswith(_HINT):
        return HintGiven(at=note.at, hint=text.removeprefix(_HINT))
    if text.startswith(_HANDED_IN):
        return HandedIn(at=note.at, trail=text.removeprefix(_HANDED_IN), form=1)
    return Note(at=note.at, text=text.removeprefix(_OWN))
