"""A case in plain lines: what the questions-and-answers and the listings print."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterator, Sequence

from troubleshoot.calculations.units import show_number, with_unit
from troubleshoot.case.shares import asked, minutes_words, percent
from troubleshoot.case.view import (
    CaseView,
    CautionShown,
    CheckShown,
    OtherCheck,
    RepairShown,
    TrailLine,
    WeightShown,
)

WIDTH = 78
NARROWEST = 16
"""Columns that words get behind what a line begins with, in however small a terminal."""
UNTOUCHED = (
    "Nothing read so far speaks for it or against it: it stands where it does by how often it is found, "
    "given the concern, and by what is read of the others."
)


def wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """Return text in lines that fit the terminal, of at most 78 columns, the first begun with `first`."""
    indent = " " * len(first) if rest is None else rest
    wide = min(WIDTH, max(len(first) + NARROWEST, shutil.get_terminal_size((WIDTH + 1, 24)).columns - 1))
    return textwrap.wrap(text, wide, initial_indent=first, subsequent_indent=indent) or [first.rstrip()]


def caution_lines(caution: CautionShown, whole: bool = False) -> Iterator[str]:
    """Yield a caution to be read before going on: its card, or its whole text."""
    happens, *avoid = (caution.happens, *caution.avoid) if whole or not caution.card else caution.card
    yield from wrapped(caution.title, f"{caution.signal}: ")
    yield from wrapped(happens, "  ")
    for line in avoid:
        yield from wrapped(line, "  - ")
    if whole and caution.defer:
        yield from wrapped(caution.defer, "  ")


def check_lines(check: CheckShown, reason: str) -> Iterator[str]:
    """Yield a check: what to do, with what, and what the answer decides."""
    place = f" ({check.place})" if check.proposed_by == "inspection" and check.place else ""
    yield from wrapped(check.ask, f"CHECK{place}: ")
    if check.term:
        yield from wrapped(f"({check.term})", "  ")
    yield from wrapped(check.why, "  Why: ")
    if reason and check.proposed_by != "inspection":
        yield from wrapped(reason, "  Why now: ")
    if check.setup:
        cost = "in place" if check.setup_in_place else f"{minutes_words(check.setup_minutes)} to set up"
        yield from wrapped(f"{check.setup} ({cost})", "  First: ")
    for number, line in enumerate(check.do, start=1):
        yield from wrapped(line, f"  {number}. ")
    if check.drawing.strip():
        yield "  The same is drawn: type drawing to see it."
    tools = ", ".join(check.tools) or "no tools"
    yield from wrapped(f"{check.state}; {tools}; {minutes_words(check.minutes)}", "  ")
    if check.cautions:
        new = f"new here: {check.new_here}" if check.new_here else "nothing new; keep to what you have read"
        yield from wrapped(new, "  Cautions: ")
    yield from answer_lines(check)


def answer_lines(check: CheckShown) -> Iterator[str]:
    """Yield how a check may be answered."""
    for number, choice in enumerate(check.choices, start=1):
        yield from wrapped(choice.words + (" (as it should be)" if choice.normal else ""), f"  {number} ")
    for band in check.bands:
        yield from wrapped(band.limits or "anything", f"  {band.words}: ")
    if check.plausible:
        low, high = (show_number(value) for value in check.plausible)
        about = show_number(check.uncertainty or 0.0, 2)
        yield f"  Can be {low} to {with_unit(high, check.unit)}, read to about {about}."
    if check.basis:
        yield from wrapped(check.basis, "  Basis: ")


def repair_lines(repair: RepairShown, reason: str) -> Iterator[str]:
    """Yield a repair to make."""
    yield from wrapped(repair.title, "REPAIR: ")
    if repair.term:
        yield from wrapped(f"({repair.term})", "  ")
    yield from wrapped(repair.happens, "  ")
    if reason:
        yield from wrapped(reason, "  Why now: ")
    for number, line in enumerate(repair.do, start=1):
        yield from wrapped(line, f"  {number}. ")
    yield f"  About {minutes_words(repair.minutes)}, parts about {show_number(repair.parts)} in your money."
    if repair.cautions:
        yield from wrapped(", ".join(one.title for one in repair.cautions), "  Cautions: ")
    yield from wrapped(repair.proof, "  Proof: ")


def ranking_lines(view: CaseView, most: int = 5) -> Iterator[str]:
    """Yield the ranked causes with figures and words."""
    if not view.ranked:
        return
    yield from wrapped("(two can be present at once, so each has a percentage of its own)", "LIKELY: ")
    for number, cause in enumerate(view.ranked[:most], start=1):
        yield from wrapped(f"{cause.title} ({cause.words})", f"  {number} {percent(cause.probability):>5} ")
    yield f"    {percent(view.something_else):>5} something not listed here"
    if view.none >= 0.005:
        yield f"    {percent(view.none):>5} {view.none_words}"
    for pair in view.pairs:
        yield from wrapped(f"{pair.titles[0]} and {pair.titles[1]} at once", f"    {percent(pair.probability):>5} ")
    if view.doubt:
        yield from wrapped(view.doubt, "  DOUBT: ")


def trail_lines(trail: Sequence[TrailLine]) -> Iterator[str]:
    """Yield what has been done, with the numbers that `change` takes."""
    if not trail:
        yield "Nothing has been done yet."
    for line in trail:
        verdict = f", {line.verdict}" if line.verdict else ""
        yield from wrapped(f"{asked(line.title)} {line.answer}{verdict}", f"  {line.number or '':>2} ")


def weight_lines(title: str, weights: Sequence[WeightShown]) -> Iterator[str]:
    """Yield how each reading speaks for or against a cause."""
    yield from wrapped(title, "WHY: ")
    if not weights:
        yield from wrapped(UNTOUCHED, "  ")
    for weight in weights:
        yield from wrapped(f"{asked(weight.title)} {weight.read}. {weight.words.capitalize()}.", "  - ")
        if weight.read != weight.expected:
            yield from wrapped(f"This cause most often shows: {weight.expected}.", "    ")
        if weight.why:
            yield from wrapped(weight.why, "    ")


def other_lines(others: Sequence[OtherCheck], most: int = 12) -> Iterator[str]:
    """Yield other checks by worth."""
    if not others:
        yield "No check is left to do."
    for number, other in enumerate(others[:most], start=1):
        worth = (
            f"saves {other.saves:.0f}, takes {other.minutes:.0f} minutes, net {round(other.worth)}"
            if other.available
            else "cannot be done"
        )
        missing = f" (lacks {', '.join(other.missing)})" if other.missing else ""
        proposed = f" ({other.proposed})" if other.proposed else ""
        yield from wrapped(f"{asked(other.ask)} {worth}{missing}{proposed} [{other.id}]", f"  {number:>2} ")
