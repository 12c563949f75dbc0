"""The sheets of a tree in brief, for a terminal: its numbered steps, where each finding leads, and the repairs."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from troubleshoot.reports.chart_sheets import ChartSheets, CheckSheet, RepairSheet
from troubleshoot.reports.chart_sheets_pages import STILL_THERE

WIDTH = 78
"""Columns of a line."""
BRIEF = "How each check is made, its drawing, the data of this car and the cautions stand on the sheets: --paper FILE."


def sheet_lines(sheets: ChartSheets) -> Iterator[str]:
    """Yield the steps and repairs of the sheets as lines for people, 78 columns wide."""
    for text in (sheets.title, f"“{sheets.says}” {sheets.meaning}", sheets.stop, f"Car: {sheets.car}. {BRIEF}"):
        yield from textwrap.wrap(text, WIDTH)
    yield from _listed("PRELIMINARY", sheets.preliminary)
    for check in sheets.checks:
        yield from _headed(check, f"CHECK {check.ask}")
        for way in check.ways:
            yield from textwrap.wrap(
                f"{way.found}: {way.goes}", WIDTH, initial_indent="     ", subsequent_indent="       "
            )
    yield from _listed("EVERY STEP NORMAL: what the steps do not look at", sheets.normal)
    yield ""
    yield from textwrap.wrap(STILL_THERE, WIDTH)
    for repair in sheets.repairs:
        yield from _headed(repair, f"REPAIR {repair.title}")
        yield from textwrap.wrap(
            f"Confirm first: {repair.confirm}", WIDTH, initial_indent="     ", subsequent_indent="       "
        )


def _headed(one: CheckSheet | RepairSheet, text: str) -> Iterator[str]:
    yield ""
    told = "; ".join(part for part in (one.term, one.takes, one.cautions.split(" ")[0]) if part)
    yield from textwrap.wrap(f"{text} ({told})", WIDTH, initial_indent=f"{one.number:>3}  ", subsequent_indent="     ")


def _listed(title: str, lines: Iterable[str]) -> Iterator[str]:
    yield ""
    yield title
    for line in lines:
        yield from textwrap.wrap(line, WIDTH, initial_indent="  - ", subsequent_indent="    ")
