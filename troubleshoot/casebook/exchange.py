"""One case as one JSON file, to send to someone else or to keep; and the cases of one casebook taken into another."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Literal

from troubleshoot.casebook.refusing import CasebookRefused
from troubleshoot.casebook.store import LATEST, Casebook, Kept

FORMAT = "troubleshoot-case"
VERSION = 1
LARGEST = 20_000_000
"""Bytes; a case of hundreds of readings is well under one million."""
MOST_EVENTS = 5_000
"""Of one case; hundreds are many."""


class ExchangeRefused(CasebookRefused):
    """The file is not a case that can be taken in."""

    exit_code = 2


@dataclass(frozen=True)
class TakenIn:
    """What became of a case that was taken in.

    `how`: new; known (the same case was here, as far or farther); longer (the one here went on as the other did, and
    now ends where that does); differs (the one here, `other`, went on another way, so both are kept).
    """

    case_id: str
    how: Literal["new", "known", "longer", "differs"]
    other: str = ""


def export_case(casebook: Casebook, case_id: str) -> str:
    """Return a case as JSON text."""
    case = casebook.kept(case_id)
    whole = {
        "format": FORMAT,
        "version": VERSION,
        "case": case_id,
        "opened": case.opened,
        "headline": case.headline,
        "events": [json.loads(payload) for payload, _ in case.events],
    }
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def import_case(casebook: Casebook, text: str, check: Callable[[bytes], object]) -> TakenIn:
    """Take a case in from JSON text; `check` refuses an event that is not one. Nothing is kept unless all are good.

    The same case taken in twice is one case.
    """
    whole = _read(text)
    events = []
    for place, event in enumerate(whole["events"]):
        try:
            payload = json.dumps(event, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
            check(payload)
            events.append((payload, _time(event.get("at"))))
        except ValueError as error:
            raise ExchangeRefused(
                f"Event {place + 1} of the file is not an event of a case: {error}.",
                "Export the case again with this version of the program.",
            ) from error
    return take_in(casebook, Kept("", _opened(whole.get("opened")), _line(whole.get("headline")), "open", events))


def take_in(casebook: Casebook, case: Kept) -> TakenIn:
    """Take a whole case in, unless it is here already; see `TakenIn` for what can become of it."""
    mine = [payload for payload, _ in case.events]
    differs = ""
    with casebook.all_or_nothing():
        for here in casebook.begun_by(mine[0]) if mine else ():
            held = casebook.events(here)
            shared = min(len(held), len(mine))
            if held[:shared] != mine[:shared]:
                differs = here
                continue
            for payload, at in case.events[len(held) :]:
                casebook.append(here, payload, at)
            if len(mine) <= len(held):
                return TakenIn(here, "known")
            casebook.set_headline(here, case.headline, case.state, case.proved)
            return TakenIn(here, "longer")
        entered = casebook.restore(case)
    return TakenIn(entered, "differs" if differs else "new", differs)


def merge(casebook: Casebook, other: Casebook) -> Iterator[TakenIn | CasebookRefused]:
    """Take in every case of another casebook, one after the other; a damaged one is passed and yielded as refused."""
    for row in reversed(other.cases()):
        try:
            yield take_in(casebook, other.kept(row.id))
        except CasebookRefused as refused:
            yield refused


def _line(value: Any) -> str:
    """Return a headline that can be kept: text, not long, without halves of characters."""
    return value[:200].encode("utf-8", "replace").decode("utf-8") if isinstance(value, str) else ""


def _opened(value: Any) -> float:
    """Return when a case was opened; 1970 where that is not said, or is no time."""
    try:
        return _time(value)
    except ValueError:
        return 0.0


def _time(value: Any) -> float:
    """Return the time of an event in seconds since 1970; ValueError for one that no clock shows."""
    if value is None:
        return 0.0
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < LATEST:
        raise ValueError(f"its time, {str(value)[:30]}, is none between 1970 and 2999")
    return float(value)


def _read(text: str) -> dict[str, Any]:
    advice = "Give a file that `troubleshoot cases export` wrote."
    if len(text) > LARGEST:
        raise ExchangeRefused("The file is too long to be one case.", advice)
    try:
        whole = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise ExchangeRefused(f"The file is not JSON: {error}.", advice) from error
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise ExchangeRefused("The file is JSON, but not a case.", advice)
    if whole.get("version") != VERSION:
        raise ExchangeRefused(
            f"The case has form {str(whole.get('version'))[:20]!r}; this program knows form {VERSION}.",
            "Use the program that wrote it.",
        )
    events = whole.get("events")
    if not isinstance(events, list) or not all(isinstance(event, dict) for event in events):
        raise ExchangeRefused("The file holds no list of events.", advice)
    if len(events) > MOST_EVENTS:
        raise ExchangeRefused(f"The file holds {len(events)} events; a case has {MOST_EVENTS} at most.", advice)
    return whole
