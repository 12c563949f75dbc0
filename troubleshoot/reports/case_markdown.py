"""A case as Markdown; whatever was typed shows as typed and is never markup."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from troubleshoot.case.shares import percent
from troubleshoot.reports.case_report import CaseReport, wanted
from troubleshoot.reports.markdown import escaped, start_safe


def as_markdown(report: CaseReport) -> str:
    """Return a report as Markdown."""
    return "\n".join(_lines(report)) + "\n"


def _lines(report: CaseReport) -> Iterator[str]:
    yield f"# Case {escaped(report.case)}"
    yield ""
    yield f"Opened {report.opened} UTC · trees {escaped(report.trees)}"
    yield ""
    yield f"**Car:** {escaped(report.car)}"
    if report.car_facts:
        yield ""
        yield from (f"- {escaped(name)}: {escaped(value)}" for name, value in report.car_facts)
    yield ""
    yield f"**Concern:** {escaped('; '.join(report.concern) or 'none chosen')}"
    if report.customer:
        yield ""
        yield f"> {start_safe(report.customer)}"
    yield ""
    yield f"**Cause:** {escaped('; '.join(report.cause))}"
    yield ""
    yield from _correction(report)
    yield ""
    yield f"**State:** {escaped(report.state)} {report.time}; parts {escaped(report.parts)}."
    if report.doubt:
        yield ""
        yield f"**Doubt:** {escaped(report.doubt)}"
    yield from _list("To put right", report.to_put_right)
    yield from _readings(report)
    yield from _ranking(report)
    yield from _trail(report)
    yield from _list("Cautions given", report.cautions)
    yield from _list("Before against after", report.compared)
    yield from _list("Notes", report.notes)
    yield from _list("Files", report.files)
    yield from _list("Worth knowing", report.notices)


def _correction(report: CaseReport) -> Iterator[str]:
    if not report.correction:
        yield "**Correction:** none yet"
    for one in report.correction:
        yield f"**Correction:** {escaped(f'{one.title}: {one.done} ({one.cost})')}"
        yield ""
        yield f"- Retest: {escaped(one.retest)}. {escaped(wanted(one.proof))}"
        yield ""


def _list(title: str, found: tuple[str, ...]) -> Iterator[str]:
    if found:
        yield ""
        yield f"## {title}"
        yield ""
        yield from (f"- {start_safe(one)}" for one in found)


def _table(title: str, heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    if rows:
        yield ""
        yield f"## {title}"
        yield ""
        yield f"| {' | '.join(heads)} |"
        yield f"|{' --- |' * len(heads)}"
        yield from (f"| {' | '.join(escaped(cell) for cell in row)} |" for row in rows)


def _readings(report: CaseReport) -> Iterator[str]:
    marks = {True: "good", False: "not good", None: ""}
    rows = [
        (one.ask, one.read, one.verdict or marks[one.normal], marks[one.normal], one.limits, one.basis)
        for one in report.readings
    ]
    yield from _table("Readings", ("Check", "Read", "Meaning", "Good?", "Limits", "Basis"), rows)
    worked = tuple(f"{one.ask}: {line}" for one in report.readings for line in one.worked_out)
    yield from _list("Limits worked out", worked)
    yield from _list("Read from recordings", tuple(f"{one.ask}: {one.source}" for one in report.readings if one.source))


def _ranking(report: CaseReport) -> Iterator[str]:
    rows = [(percent(one.probability), one.title, one.words) for one in report.causes]
    if rows:
        rows.append((percent(report.something_else), "something not listed here", ""))
    yield from _table(f"Likely {report.likely_when}", ("Probability", "Cause", "In words"), rows)


def _trail(report: CaseReport) -> Iterator[str]:
    rows = [
        (
            str(one.number or ""),
            one.time,
            one.title,
            one.answer,
            one.verdict,
            f"{one.minutes:.0f}" if one.minutes else "",
        )
        for one in report.trail
    ]
    yield from _table("Trail", ("No", "Time (UTC)", "What", "Answer", "Meaning", "Minutes"), rows)
