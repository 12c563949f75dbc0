"""A case as plain text, for a terminal or a text file."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from troubleshoot.case.shares import asked, percent
from troubleshoot.reports.case_report import CaseReport, wanted

WIDTH = 78
NARROWEST = 30


def as_text(report: CaseReport, width: int = WIDTH) -> str:
    """Return a report as plain text of at most so many columns."""
    return "\n".join(_lines(report, max(width, NARROWEST)))


def _lines(report: CaseReport, width: int) -> Iterator[str]:
    yield from _wrap(width, f"Case {report.case}, opened {report.opened} UTC")
    facts = "; ".join(f"{name}: {value}" for name, value in report.car_facts)
    yield from _wrap(width, f"Car: {report.car}" + (f" ({facts})" if facts else ""))
    yield ""
    yield from _wrap(width, "; ".join(report.concern) or "none chosen", "CONCERN     ")
    if report.customer:
        yield from _wrap(width, report.customer, "            said: ")
    for number, cause in enumerate(report.cause):
        yield from _wrap(width, cause, "CAUSE       " if not number else " " * 12)
    yield from _correction(report, width)
    yield from _wrap(width, report.state, "STATE       ")
    yield from _wrap(width, f"{report.time}; parts {report.parts}", "TIME        ")
    if report.doubt:
        yield from _wrap(width, report.doubt, "DOUBT       ")
    yield from _section(width, "To put right", (f"- {one}" for one in report.to_put_right))
    yield from _section(width, "Readings", _readings(report))
    yield from _section(width, f"Likely {report.likely_when}", _causes(report))
    yield from _section(width, "Trail", (_trail_line(report, place) for place in range(len(report.trail))))
    yield from _section(width, "Cautions given", (f"- {one}" for one in report.cautions))
    yield from _section(width, "Before against after", (f"- {one}" for one in report.compared))
    yield from _section(width, "Notes", (f"- {one}" for one in report.notes))
    yield from _section(width, "Files", (f"- {one}" for one in report.files))
    yield from _section(width, "Worth knowing", (f"- {one}" for one in report.notices))
    yield ""
    yield from _wrap(width, f"Trees {report.trees}")


def _wrap(width: int, text: str, first: str = "") -> list[str]:
    flat = " ".join(text.split())
    return textwrap.wrap(flat, width, initial_indent=first, subsequent_indent=" " * len(first)) or [first.rstrip()]


def _section(width: int, title: str, lines: Iterator[str]) -> Iterator[str]:
    found = list(lines)
    if found:
        yield ""
        yield from _wrap(width, title)
        for line in found:
            flat, lead = " ".join(line.split()), len(line) - len(line.lstrip())
            yield from textwrap.wrap(flat, width, initial_indent="  " + " " * lead, subsequent_indent=" " * 6) or [""]


def _correction(report: CaseReport, width: int) -> Iterator[str]:
    if not report.correction:
        yield "CORRECTION  none yet"
    for number, one in enumerate(report.correction):
        words = f"{one.title}: {one.done} ({one.cost})"
        yield from _wrap(width, words, "CORRECTION  " if not number else " " * 12)
        yield from _wrap(width, f"Retest: {one.retest}. {wanted(one.proof)}", " " * 12)


def _readings(report: CaseReport) -> Iterator[str]:
    for one in report.readings:
        mark = {True: "good", False: "not good", None: ""}[one.normal]
        verdict = ", ".join(part for part in (one.verdict, mark) if part)
        limits = f"; limits {one.limits}" if one.limits and not one.chosen else ""
        if one.chosen and not one.normal:
            limits = f"; a sound car: {one.limits}"
        basis = f" [{one.basis}]" if one.basis else ""
        source = f"; from {one.source}" if one.source else ""
        worked = "".join(f"; worked out: {line}" for line in one.worked_out)
        yield f"- {asked(one.ask)} {one.read}{f' ({verdict})' if verdict else ''}{limits}{basis}{worked}{source}"


def _causes(report: CaseReport) -> Iterator[str]:
    for one in report.causes:
        yield f"{percent(one.probability):>5}  {one.title} ({one.words})"
    if report.causes:
        yield f"{percent(report.something_else):>5}  something not listed here"


def _trail_line(report: CaseReport, place: int) -> str:
    line = report.trail[place]
    verdict = f", {line.verdict}" if line.verdict else ""
    minutes = f" ({line.minutes:.0f} min)" if line.minutes else ""
    number = f"{line.number}." if line.number else "  "
    return f"{number} {line.time}  {asked(line.title)} {line.answer}{verdict}{minutes}"
