"""The numbers of checks and trees: frequencies that add up, outcomes that exist, causes that move something."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from troubleshoot.knowledge.compiling import SOMETHING_ELSE
from troubleshoot.knowledge.findings import Finding, nearest
from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.lint_references import Record
from troubleshoot.knowledge.loading import Trail
from troubleshoot.knowledge.model import Check, Frequency
from troubleshoot.knowledge.reading import Reading
from troubleshoot.knowledge.signatures import named_frequencies, signature_shares, usual_shares

ADDS_UP = 1e-9
"""Frequencies may miss 1 by this much."""


def signatures(reading: Reading) -> Iterator[Finding]:
    """Find outcomes, frequencies and signatures that cannot be, and causes that nothing shows or moves."""
    for identifier, check in reading.catalogue.checks.items():
        record = ("checks", identifier)
        yield from _outcomes(reading, record, check)
        yield from _usual(reading, record, check)
        yield from _moved_by(reading, record, check)
    yield from _idle_causes(reading)


def _outcomes(reading: Reading, record: Record, check: Check) -> Iterator[Finding]:
    if bool(check.bands) == bool(check.choices):
        mend = "give it reading: and bands:, or choices: alone"
        yield reading.at(record, (), "a check has either bands or choices", mend, "bands-or-choices")
    if bool(check.bands) != (check.reading is not None):
        mend = "give both, or use choices:"
        yield reading.at(record, (), "bands and reading belong together", mend, "bands-or-choices")
    part = "bands" if check.bands else "choices"
    for position, outcome in enumerate(check.outcomes):
        if outcome in check.outcomes[:position]:
            what, mend = f"outcome {outcome} is there twice", "give each its own name"
            yield reading.at(record, (part, position, "outcome"), what, mend, "outcome-twice")
    if len(check.outcomes) == 1:
        yield reading.at(record, (part,), "one outcome tells nothing", "add the other outcomes", "one-outcome")
    if check.normal is not None and check.normal not in check.outcomes:
        what = f"normal is {check.normal}, which is no outcome of this check{nearest(check.normal, check.outcomes)}"
        yield reading.at(record, ("normal",), what, f"use one of: {', '.join(check.outcomes)}", "unknown-outcome")
    if check.normal is None and not check.usual:
        mend = "name the sound outcome under normal:, or give usual: in full"
        yield reading.at(record, (), "nothing says what a sound car reads", mend, "no-normal")


def _usual(reading: Reading, record: Record, check: Check) -> Iterator[Finding]:
    if not check.usual:
        return
    yield from _known_outcomes(reading, record, ("usual",), check, check.usual)
    yield from _sum(reading, record, ("usual",), check, check.usual)


def _moved_by(reading: Reading, record: Record, check: Check) -> Iterator[Finding]:
    for cause, signature in check.moved_by.items():
        trail = ("moved-by", cause)
        named = named_frequencies(signature)
        wrong = list(_known_outcomes(reading, record, trail, check, named))
        wrong.extend(_sum(reading, record, trail, check, named))
        yield from wrong
        if not isinstance(signature.get("why", ""), str):
            yield reading.at(record, (*trail, "why"), "why: is words", "write the reason", "wrong-type")
        if not wrong and not named:
            yield reading.at(
                record, trail, f"{cause} moves no outcome", "name one, or remove the line", "moves-nothing"
            )
        elif not wrong and _same(signature_shares(check, cause), usual_shares(check)):
            what = f"{cause} leaves this check as it usually is"
            yield reading.at(record, trail, what, "say how it moves, or remove the line", "moves-nothing")
    if not check.moved_by:
        mend = "name the causes it tells of, or remove the check"
        yield reading.at(record, (), "no cause moves this check", mend, "moves-nothing")


def _known_outcomes(
    reading: Reading, record: Record, trail: Trail, check: Check, written: Mapping[str, Frequency]
) -> Iterator[Finding]:
    for outcome in written:
        if outcome not in check.outcomes:
            what = f"there is no outcome {outcome}{nearest(outcome, check.outcomes)}"
            mend = f"use one of: {', '.join(check.outcomes)}"
            yield reading.at(record, (*trail, outcome), what, mend, "unknown-outcome")


def _sum(
    reading: Reading, record: Record, trail: Trail, check: Check, written: Mapping[str, Frequency]
) -> Iterator[Finding]:
    total = math.fsum(frequency(value) for value in written.values())
    taker = (check.normal is not None and check.normal not in written) or set(check.outcomes) - set(written)
    if total > 1.0 + ADDS_UP:
        mend = "lower them; together they may come to 1 at most"
        yield reading.at(record, trail, f"the frequencies come to {total:.4g}", mend, "adds-up")
    elif total < 1.0 - ADDS_UP and not taker and written:
        mend = "raise them to 1, or leave the normal outcome out to take the rest"
        yield reading.at(record, trail, f"the frequencies come to only {total:.4g}", mend, "adds-up")


def _same(first: tuple[float, ...], second: tuple[float, ...]) -> bool:
    return all(abs(one - other) < 1e-6 for one, other in zip(first, second, strict=True))


def _idle_causes(reading: Reading) -> Iterator[Finding]:
    """Find causes that no check moves and causes that no tree shows."""
    catalogue = reading.catalogue
    moved = {cause for check in catalogue.checks.values() for cause in check.moved_by}
    shown = {cause for concern in catalogue.concerns.values() for cause in concern.shows}
    for cause in catalogue.causes:
        if cause == SOMETHING_ELSE:
            continue
        if cause not in moved and "checks" not in reading.unread:
            mend = "add it under moved-by: of a check that tells of it"
            yield reading.at(("causes", cause), (), f"no check is moved by {cause}", mend, "cause-moves-nothing")
        if cause not in shown and "concerns" not in reading.unread:
            mend = "add it under shows: of a concern, or remove it"
            yield reading.at(("causes", cause), (), f"no tree uses {cause}", mend, "unused-cause")
