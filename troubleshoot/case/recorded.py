"""Readings from a recording taken into a case: each keeps the file, its hash, the stretch and the method."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from troubleshoot.case.events import RecordingKept, RecordingSource
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.case.case import Case
    from troubleshoot.recordings.recorded import Recorded
    from troubleshoot.recordings.taken import TakenReading


def offered(case: Case, recorded: Recorded) -> tuple[TakenReading, ...]:
    """Return the readings of a recording that are checks of these trees and plausible for them."""
    found = []
    for one in recorded.readings:
        check = case.catalogue.checks.get(one.check)
        if check is not None and check.reading is not None:
            low, high = check.reading.plausible
            if low <= one.value <= high:
                found.append(one)
    return tuple(found)


def text_of(case: Case, one: TakenReading) -> str:
    """Return what a person would type for a reading, the instrument's uncertainty joined in."""
    check = case.catalogue.checks[one.check]
    return one.text(check.uncertainty)


def take_recorded(case: Case, recorded: Recorded, checks: Collection[str]) -> int:
    """Keep a recording with the case and take the readings named by their checks; return how many were taken."""
    chosen = [one for one in offered(case, recorded) if one.check in checks]
    if not chosen:
        raise TroubleshootError("No reading was chosen, so nothing is kept.", "Choose at least one reading.")
    case.keep_recording(
        RecordingKept(
            kind=recorded.kind,
            file=recorded.file,
            sha256=recorded.sha256,
            words=recorded.words,
            points=dict(recorded.points),
            units=dict(recorded.units),
        )
    )
    for one in chosen:
        source = RecordingSource(
            kind=recorded.kind,
            file=recorded.file,
            sha256=recorded.sha256,
            from_s=one.from_s,
            to_s=one.to_s,
            method=one.method,
        )
        case.take_from(one.check, text_of(case, one), source)
    return len(chosen)
