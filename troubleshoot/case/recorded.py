"""Readings from a recording taken into a case: each keeps the file, its hash, the stretch and the method."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import TYPE_CHECKING

from troubleshoot.calculations.units import places_for
from troubleshoot.case.cache import reading_context
from troubleshoot.case.events import RecordingKept, RecordingSource
from troubleshoot.knowledge.answers import show_reading
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.calculations.chart import Chart
    from troubleshoot.calculations.units import System
    from troubleshoot.case.case import Case
    from troubleshoot.knowledge.model import Check
    from troubleshoot.recordings.compared_pulls import ComparedPulls
    from troubleshoot.recordings.recorded import Recorded, Shown
    from troubleshoot.recordings.taken import TakenReading

COMPARED = "pulls compared"
"""The kind of a recording that is a comparison of pulls before with pulls after."""


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


def said_of(case: Case, one: TakenReading) -> str:
    """Return a reading in the units of this person, the instrument's uncertainty joined in."""
    return said_in(case.catalogue.checks[one.check], one, case.settings.units)


def said_in(check: Check, one: TakenReading, units: System) -> str:
    """Return a reading in these units, the instrument's uncertainty joined in."""
    spread = float(f"{math.hypot(one.spread, check.uncertainty):.2g}")
    places = places_for(spread) if spread else 6
    return show_reading(check, round(one.value, places), round(spread, places), units)


def shown_in_picture(case: Case, check_id: str, source: TakenReading | RecordingSource, value: float | None) -> Shown:
    """Return how a reading of a recording is shown in its picture: stretch, moment, and what is normal on this car."""
    from troubleshoot.recordings.recorded import Shown

    check = case.catalogue.checks[check_id]
    normal = None
    if source.of:
        bands = reading_context(case.assessment, case.catalogue, case.settings.units).bands(check)
        good = [one for one in bands if one.normal and one.low < one.high]
        if good and not (math.isinf(good[0].low) and math.isinf(good[-1].high)):
            normal = (good[0].low, good[-1].high)
    words = check_id.replace("-", " ")
    return Shown(words, source.from_s, source.to_s, source.of, source.at_s, value, normal)


def pictures(case: Case, recorded: Recorded) -> tuple[Chart, ...]:
    """Return the charts of a recording that is offered, in the units of this person."""
    from troubleshoot.recordings.recorded import charts_of

    shown = [shown_in_picture(case, one.check, one, one.value) for one in offered(case, recorded)]
    charts = charts_of(recorded.file, recorded.points, recorded.units, shown, recorded.marks)
    return tuple(one.in_system(case.settings.units) for one in charts)


def take_recorded(case: Case, recorded: Recorded, checks: Collection[str], kept: bool = True) -> int:
    """Take the readings named by their checks, the recording kept with the case; return how many were taken."""
    chosen = [one for one in offered(case, recorded) if one.check in checks]
    if not chosen:
        raise TroubleshootError("No reading was chosen, so nothing is kept.", "Choose at least one reading.")
    if kept:
        case.keep_recording(
            RecordingKept(
                kind=recorded.kind,
                file=recorded.file,
                sha256=recorded.sha256,
                words=recorded.words,
                points=dict(recorded.points),
                units=dict(recorded.units),
                marks=recorded.marks,
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
            of=one.of,
            at_s=one.at_s,
        )
        case.take_from(one.check, text_of(case, one), source)
    return len(chosen)


def keep_comparison(case: Case, pulls: ComparedPulls) -> None:
    """Keep a comparison of pulls with the case: its sentence, its curves, and the files it came from."""
    from troubleshoot.recordings.comparing import points_of

    found = pulls.found
    case.keep_recording(
        RecordingKept(
            kind=COMPARED,
            file=pulls.files,
            sha256=pulls.sha256,
            words=(found.sentence,),
            points=points_of(found),
            units=dict.fromkeys(points_of(found), found.unit),
        )
    )
