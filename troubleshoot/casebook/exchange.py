"""One case as one JSON file, to send to someone else or to keep."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from troubleshoot.casebook.refusing import CasebookRefused
from troubleshoot.casebook.store import Casebook

FORMAT = "troubleshoot-case"
VERSION = 1
LARGEST = 20_000_000
"""Bytes; a case of hundreds of readings is well under one million."""


class ExchangeRefused(CasebookRefused):
    """The file is not a case that can be taken in."""

    exit_code = 2


def export_case(casebook: Casebook, case_id: str) -> str:
    """Return a case as JSON text."""
    events = [json.loads(payload) for payload in casebook.events(case_id)]
    row = next(one for one in casebook.cases() if one.id == case_id)
    whole = {
        "format": FORMAT,
        "version": VERSION,
        "case": case_id,
        "opened": row.opened,
        "headline": row.headline,
        "events": events,
    }
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def import_case(casebook: Casebook, text: str, check: Callable[[bytes], object]) -> str:
    """Take a case in under a new id and return it; `check` refuses an event that is not one.

    Nothing is kept unless every event is good.
    """
    whole = _read(text)
    events = whole["events"]
    payloads = []
    for place, event in enumerate(events):
        try:
            payloads.append(json.dumps(event, ensure_ascii=False, separators=(",", ":")).encode())
            check(payloads[-1])
        except ValueError as error:
            raise ExchangeRefused(
                f"Event {place + 1} of the file is not an event of a case: {error}.",
                "Export the case again with this version of the program.",
            ) from error
    with casebook.all_or_nothing():
        case_id = casebook.new_case(_time(whole.get("opened")))
        for event, payload in zip(events, payloads, strict=True):
            casebook.append(case_id, payload, _time(event.get("at")))
        casebook.set_headline(case_id, _line(whole.get("headline")), "open")
    return case_id


def _line(value: Any) -> str:
    """Return a headline that can be kept: text, not long, without halves of characters."""
    return value[:200].encode("utf-8", "replace").decode("utf-8") if isinstance(value, str) else ""


def _time(value: Any) -> float:
    """Return a usable time in seconds since 1970; 0 for anything else."""
    return float(value) if isinstance(value, int | float) and 0 <= value < 32_503_680_000 else 0.0


def _read(text: str) -> dict[str, Any]:
    remedy = "Give a file that `troubleshoot cases export` wrote."
    if len(text) > LARGEST:
        raise ExchangeRefused("The file is too long to be one case.", remedy)
    try:
        whole = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise ExchangeRefused(f"The file is not JSON: {error}.", remedy) from error
    if not isinstance(whole, dict) or whole.get("format") != FORMAT:
        raise ExchangeRefused("The file is JSON, but not a case.", remedy)
    if whole.get("version") != VERSION:
        raise ExchangeRefused(
            f"The case has form {str(whole.get('version'))[:20]!r}; this program knows form {VERSION}.",
            "Use the program that wrote it.",
        )
    events = whole.get("events")
    if not isinstance(events, list) or not all(isinstance(event, dict) for event in events):
        raise ExchangeRefused("The file holds no list of events.", remedy)
    return whole
