"""What a report says of a case: concern, cause, correction, and the readings and the trail behind them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from troubleshoot.calculations.chart import Chart
from troubleshoot.calculations.units import System, show_quantity
from troubleshoot.case.case import Case
from troubleshoot.case.cautioning import caution_shown
from troubleshoot.case.events import (
    Attached,
    CautionAcknowledged,
    Fitted,
    Note,
    ReadingTaken,
    RepairMade,
    Retested,
)
from troubleshoot.case.folding import Done
from troubleshoot.case.history import history
from troubleshoot.case.shares import minutes_words, percent
from troubleshoot.case.trail import RETEST_WORDS
from troubleshoot.case.view import CaseView, MomentShown
from troubleshoot.knowledge.car import CAR_FIELDS, WHOSE, Car, car_unit, car_value
from troubleshoot.reports.case_readings import ReadingLine, charts_of_case, compared_pulls, reading_line

WORTH_A_LINE = 0.02
"""Causes less likely than this are left out of a report."""
MOST_CAUSES = 10


@dataclass(frozen=True)
class TimedLine:
    """One line of the trail with its time."""

    number: int
    time: str
    title: str
    answer: str
    verdict: str
    minutes: float


@dataclass(frozen=True)
class CauseLine:
    """One ranked cause."""

    title: str
    probability: float
    words: str


@dataclass(frozen=True)
class CorrectionLine:
    """One repair: what was done, what it took, and the retest."""

    title: str
    do: tuple[str, ...]
    minutes: float
    parts: float
    proof: str
    retest: str
    fitted: Fitted

    @property
    def done(self) -> str:
        """What was fitted or done, as it was said; where nothing was, what there is to do."""
        part = f"part {self.fitted.part}" if self.fitted.part else ""
        return ", ".join(one for one in (self.fitted.words, part) if one) or " ".join(self.do)

    @property
    def cost(self) -> str:
        """Its minutes, the money for parts, and who did it."""
        by = f", by {self.fitted.by}" if self.fitted.by else ""
        return f"{minutes_words(self.minutes)}, parts {money(self.parts, self.fitted.currency)}{by}"


@dataclass(frozen=True)
class CaseReport:
    """Everything a printed case says, in words; typed words are as typed and must be escaped by whoever prints."""

    case: str
    opened: str
    car: str
    car_facts: tuple[tuple[str, str], ...]
    concern: tuple[str, ...]
    customer: str
    cause: tuple[str, ...]
    happens: tuple[str, ...]
    """What happens with each cause that was proved or named, in plain words."""
    likely_when: str
    causes: tuple[CauseLine, ...]
    something_else: float
    correction: tuple[CorrectionLine, ...]
    state: str
    readings: tuple[ReadingLine, ...]
    trail: tuple[TimedLine, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    files: tuple[str, ...]
    """Where photographs and other files of the case lie, with the beginning of their hashes."""
    to_put_right: tuple[str, ...]
    notices: tuple[str, ...]
    doubt: str
    minutes: float
    parts: str
    trees: str
    charts: tuple[Chart, ...] = ()
    """Pictures of the recordings that readings were taken from."""
    compared: tuple[str, ...] = ()
    """What pulls before against pulls after have shown."""
    course: tuple[MomentShown, ...] = ()
    """How the probability of the cause found, or of the first one, went."""
    course_of: str = ""

    @property
    def time(self) -> str:
        """The minutes it took, in words."""
        return minutes_words(self.minutes)

    @property
    def whose(self) -> tuple[tuple[str, str], ...]:
        """Owner, plate and mileage, where they were entered."""
        return tuple(fact for fact in self.car_facts if fact[0] in WHOSE)


def report_of(case: Case) -> CaseReport:
    """Return the report of a case as it stands."""
    view, seen = case.view(), case.assessment
    opened = seen.state.opened
    done = seen.state.done
    when_likely, likely = _before_repairs(case, done)
    found = seen.state.closed.causes if seen.state.closed else ()
    acknowledged = [one.event for one in done if isinstance(one.event, CautionAcknowledged)]
    return CaseReport(
        case=view.case,
        opened=when(opened.at) if opened else "",
        car=view.car,
        car_facts=_car_facts(seen.car, case.settings.units),
        concern=view.concern_titles,
        customer=seen.state.customer,
        cause=_cause(case, view),
        happens=tuple(case.catalogue.causes[one].happens for one in found if one in case.catalogue.causes),
        likely_when=f"{when_likely} (two can be present at once)",
        causes=tuple(
            CauseLine(one.title, one.probability, one.words)
            for one in likely.ranked[:MOST_CAUSES]
            if one.probability >= WORTH_A_LINE
        ),
        something_else=likely.something_else,
        correction=_correction(case, done),
        state=view.step.words if view.step.kind in ("closed", "refer", "healthy", "stop") else "Still open.",
        readings=tuple(reading_line(case, one) for one in done if isinstance(one.event, ReadingTaken)),
        trail=tuple(
            TimedLine(line.number, when(line.at), line.title, line.answer, line.verdict, line.minutes)
            for line in view.trail
        ),
        cautions=tuple(dict.fromkeys(_caution(case, one) for one in acknowledged)),
        notes=tuple(one.event.text for one in done if isinstance(one.event, Note)),
        files=tuple(one.event.line[1] for one in done if isinstance(one.event, Attached)),
        to_put_right=view.to_put_right,
        notices=view.notices,
        doubt=view.doubt,
        minutes=view.minutes,
        parts=_all_parts([one.event for one in done if isinstance(one.event, RepairMade)]),
        trees=case.catalogue.version,
        charts=charts_of_case(case, done),
        compared=compared_pulls(done),
        course=history(seen, case.catalogue, _leading(view)),
        course_of=_title(case, _leading(view)) if _leading(view) else "",
    )


def money(amount: float, currency: str) -> str:
    """Return money with its name, where it was said.

    >>> money(40.0, "EUR"), money(12.5, "")
    ('40 EUR', '12.5')
    """
    return f"{amount:.4g} {currency}".strip()


def _all_parts(repairs: Sequence[RepairMade]) -> str:
    """Return the money for all parts, each currency by itself."""
    spent: dict[str, float] = {}
    for one in repairs:
        spent[one.said.currency] = spent.get(one.said.currency, 0.0) + one.parts
    return " and ".join(money(amount, name) for name, amount in spent.items()) or "0"


def _leading(view: CaseView) -> str:
    """Return the cause that was proved, or else the one that leads; empty where none is ranked."""
    if view.proof is not None:
        return view.proof.cause
    return view.ranked[0].id if view.ranked else ""


def _before_repairs(case: Case, done: tuple[Done, ...]) -> tuple[str, CaseView]:
    """Return when the ranking of a report was, and the case at that moment: before any repair changed the car."""
    first = next((one.index for one in done if isinstance(one.event, RepairMade)), None)
    if first is None:
        return "now", case.view()
    return "before the first repair", case.view_after(first)


def when(at: float) -> str:
    """Return a time as written in a report, in UTC.

    >>> when(0)
    '1970-01-01 00:00'
    """
    return datetime.fromtimestamp(at, UTC).strftime("%Y-%m-%d %H:%M")


def _car_facts(car: Car, system: System) -> tuple[tuple[str, str], ...]:
    """Return what is entered of a car that differs from a usual one, and its title."""
    usual = Car()
    found = []
    for name in CAR_FIELDS:
        value = car_value(car, name)
        if name not in ("title", "about") and value != car_value(usual, name):
            shown = {True: "yes", False: "no"}[value] if isinstance(value, bool) else value
            unit = car_unit(name)
            words = show_quantity(value, unit, system, 3) if unit else str(shown)
            found.append((name.replace("-", " "), words))
    return tuple(found)


def _cause(case: Case, view: CaseView) -> tuple[str, ...]:
    """Return the proved causes, else what leads."""
    closed = case.assessment.state.closed
    if closed is not None and closed.causes:
        words = "proved" if closed.result == "proved" else "named"
        return tuple(f"{_title(case, cause)} ({words})" for cause in closed.causes)
    if closed is not None and closed.result == "referred":
        return ("Not found here.",)
    if not view.ranked:
        return ("Nothing is ranked yet.",)
    first = view.ranked[0]
    if view.step.kind == "healthy":
        return ("Nothing wrong was found.",)
    return (f"not proved yet; {first.title} is {first.words} ({percent(first.probability)})",)


def _title(case: Case, cause: str) -> str:
    known = case.catalogue.causes.get(cause)
    return known.title if known else cause.replace("-", " ")


def _correction(case: Case, done: tuple[Done, ...]) -> tuple[CorrectionLine, ...]:
    lines: list[CorrectionLine] = []
    for place, one in enumerate(done):
        if not isinstance(one.event, RepairMade):
            continue
        retest = "not retested"
        for later in done[place + 1 :]:
            if isinstance(later.event, RepairMade):
                break
            if isinstance(later.event, Retested):
                retest = RETEST_WORDS[later.event.result]
        known = case.catalogue.causes.get(one.event.cause)
        lines.append(
            CorrectionLine(
                _title(case, one.event.cause),
                tuple(known.repair.do) if known else (),
                one.event.minutes,
                one.event.parts,
                known.proof.words if known else "",
                retest,
                one.event.said,
            )
        )
    return tuple(lines)


def _caution(case: Case, event: CautionAcknowledged) -> str:
    known = caution_shown(case.catalogue, event.caution)
    return f"{known.signal}: {known.title}" if known else str(event.caution).replace("-", " ")


def wanted(proof: str) -> str:
    """Return what a retest has to show, told apart from what it showed."""
    return f"What proves it: {proof}" if proof else ""
