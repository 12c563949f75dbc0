"""What was measured in a case, for its report: readings among their limits, pictures of recordings, pulls compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from troubleshoot.calculations.chart import Chart
from troubleshoot.calculations.units import with_unit
from troubleshoot.case.cache import reading_context
from troubleshoot.case.case import Case
from troubleshoot.case.events import ReadingTaken, RecordingKept
from troubleshoot.case.folding import Done
from troubleshoot.case.recorded import COMPARED, shown_in_picture
from troubleshoot.knowledge.answers import limit_number, limits_in_words, shown_unit_of
from troubleshoot.knowledge.bands import BandLimit
from troubleshoot.knowledge.model import Check
from troubleshoot.reports.case_pictures import Ruler, ruler_of

MOST_CHARTS = 3
"""Pictures of one recording."""


@dataclass(frozen=True)
class ReadingLine:
    """One reading with its limits and their basis; `worked_out` says how a calculated limit was come by."""

    ask: str
    read: str
    verdict: str
    normal: bool | None
    limits: str
    basis: str
    worked_out: tuple[str, ...]
    chosen: bool = False
    """Whether it was seen and not measured: `limits` is then what a sound car shows."""
    source: str = ""
    """The recording it was read from: file, stretch, method and hash; empty where a person read it."""
    ruler: Ruler | None = None
    """The reading among its limits, for a drawing; None for what was seen and not measured."""


def reading_line(case: Case, one: Done) -> ReadingLine:
    """Return a reading taken, as it stands in a report; one that the trees know no more is told as it was typed."""
    event = one.event
    assert isinstance(event, ReadingTaken)
    check = case.catalogue.checks.get(event.check)
    read = case.assessment.understood.get(one.index)
    if check is None or read is None:
        return ReadingLine(event.check.replace("-", " "), event.typed, "not counted", None, "", "", ())
    context = reading_context(case.assessment, case.catalogue, case.settings.units)
    bands = context.bands(check)
    limits = _normal_words(check, bands, case, read.value)
    verdict = read.words if read.value is not None else ""
    worked_out = tuple(_worked_out(check, band, case) for band in bands if band.why)
    chosen = not check.kind.measured
    ruler = None
    if read.value is not None and len(bands) > 1:
        ruler = ruler_of(check, read, context)
    source = event.source
    origin = ""
    if source is not None:
        stretch = f"{source.from_s:.4g} to {source.to_s:.4g} s"
        origin = f"{source.kind} {source.file}, {stretch}: {source.method} (SHA-256 {source.sha256[:12]})"
    return ReadingLine(
        check.ask, read.shown, verdict, read.normal, limits, check.basis, worked_out, chosen, origin, ruler
    )


def _normal_words(check: Check, bands: Sequence[BandLimit], case: Case, value: float | None) -> str:
    """Return what is normal: the limits of a number, the words of what is seen."""
    if check.kind.measured:
        return limits_in_words(bands, check, case.settings.units, value)
    return dict(check.named_outcomes).get(check.normal or "", "")


def _worked_out(check: Check, band: BandLimit, case: Case) -> str:
    limit = limit_number(check, band.high, case.settings.units)
    return f"{with_unit(limit, shown_unit_of(check, case.settings.units))}: {band.why}"


def charts_of_case(case: Case, done: tuple[Done, ...]) -> tuple[Chart, ...]:
    """Return the pictures of the recordings kept, with the readings taken from them."""
    kept = {one.event.sha256: one.event for one in done if isinstance(one.event, RecordingKept)}
    if not kept:
        return ()
    from troubleshoot.recordings.comparing import charts_over_speed
    from troubleshoot.recordings.recorded import charts_of

    found: list[Chart] = []
    for mark, recording in kept.items():
        shown = [
            shown_in_picture(case, one.event.check, one.event.source, _number_read(case, one))
            for one in done
            if isinstance(one.event, ReadingTaken)
            and one.event.source
            and one.event.source.sha256 == mark
            and one.event.check in case.catalogue.checks
        ]
        if recording.kind == COMPARED:
            found += charts_over_speed(recording.points, next(iter(recording.units.values()), ""))
            continue
        title = f"{recording.kind}: {recording.file}"
        charts = charts_of(title, recording.points, recording.units, shown, recording.marks)[:MOST_CHARTS]
        found += [one.in_system(case.settings.units) for one in charts]
    return tuple(found)


def _number_read(case: Case, one: Done) -> float | None:
    read = case.assessment.understood.get(one.index)
    return read.value if read is not None else None


def compared_pulls(done: tuple[Done, ...]) -> tuple[str, ...]:
    """Return in words what the pulls kept with a case have shown."""
    kept = (one.event for one in done if isinstance(one.event, RecordingKept) and one.event.kind == COMPARED)
    return tuple(f"{' '.join(one.words)} From {one.file} (SHA-256 {one.sha256[:12]})." for one in kept)
