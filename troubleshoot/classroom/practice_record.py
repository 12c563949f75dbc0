"""The record of practice over weeks: what each car was, how it was found, and how it went from week to week."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from itertools import groupby
from statistics import fmean

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.case.events import Closed, HintGiven, ReadingTaken, RepairMade
from troubleshoot.case.kept_events import decode_all
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.practising import practice_file
from troubleshoot.classroom.ready_cars import kept_key
from troubleshoot.classroom.sat_cases import sitting_of
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError


@dataclass(frozen=True)
class Practised:
    """One practice that is over: its day, what it was, and how it was found."""

    case: str
    day: date
    what: str
    found: bool
    minutes: float
    good: float
    """Minutes of a good path."""
    wrong: int
    """Repairs of sound parts."""
    readings: int
    hints: int


def practised(casebook: Casebook, catalogue: Catalogue) -> tuple[Practised, ...]:
    """Return every practice in a casebook that is over, the oldest first; one without its key is left out."""
    found = []
    for row in casebook.cases():
        if row.state == "open" or sitting_of(casebook, row.id)[1] != "practice":
            continue
        path = practice_file(casebook.path, row.id)
        if path is None or not path.exists():
            continue
        try:
            key = kept_key(path)
        except TroubleshootError:
            continue
        events = decode_all(casebook.events(row.id))
        if not isinstance(events[-1], Closed):
            continue
        repairs = [one for one in events if isinstance(one, RepairMade)]
        right = [one for one in key.causes if any(same_cause(key.engine, made.cause, one) for made in repairs)]
        wrong = sum(not any(same_cause(key.engine, made.cause, one) for one in key.causes) for made in repairs)
        titles = [catalogue.causes[one].title if one in catalogue.causes else one for one in key.causes]
        found.append(Practised(
            row.id, datetime.fromtimestamp(events[0].at, UTC).date(), "; ".join(titles), len(right) == len(key.causes),
            sum(one.minutes for one in events if isinstance(one, ReadingTaken | RepairMade)), key.best_minutes,
            wrong, sum(isinstance(one, ReadingTaken) for one in events),
            sum(isinstance(one, HintGiven) for one in events),
        ))  # fmt: skip
    return tuple(sorted(found, key=lambda one: (one.day, one.case)))


def record_lines(found: Sequence[Practised]) -> Iterator[str]:
    """Yield each practice, then a line for each week: how many, how many found, wrong repairs, against good paths."""
    if not found:
        yield "No practice is over yet."
        return
    yield f"{'Day':<10} {'found':<5} {'min':>5} {'good':>5} {'wrong':>5} {'read':>4} {'hints':>5}  what it was"
    for one in found:
        yield (
            f"{one.day.isoformat()} {'yes' if one.found else 'no':<5} {one.minutes:>5.0f} {one.good:>5.0f}"
            f" {one.wrong:>5} {one.readings:>4} {one.hints:>5}  {one.what}"
        )[:79]
    yield ""
    yield f"{'Week':<9} {'cars':>4} {'found':>5} {'wrong repairs a car':>20} {'times a good path':>18}"
    for (year, week), group in groupby(found, key=lambda one: tuple(one.day.isocalendar())[:2]):
        cars = list(group)
        ratios = [one.minutes / one.good for one in cars if one.found and one.good > 0]
        times = f"{fmean(ratios):.1f}" if ratios else "-"
        wrong = fmean(one.wrong for one in cars)
        yield f"{year}-W{week:02} {len(cars):>5} {sum(one.found for one in cars):>5} {wrong:>20.1f} {times:>18}"
