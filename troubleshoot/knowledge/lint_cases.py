"""Worked cases and sound cars: enough of them, and every one comes out as it should."""

from __future__ import annotations

from collections.abc import Iterator

from troubleshoot.knowledge.cases import CaseBench
from troubleshoot.knowledge.compiling import SOMETHING_ELSE
from troubleshoot.knowledge.findings import Finding
from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.reading import Reading
from troubleshoot.knowledge.sound_cars import accusations
from troubleshoot.problems import TroubleshootError

FEWEST_CASES = 3
"""Worked cases a tree needs."""
MORE_THAN_RARE = 0.3
"""A cause that shows a concern at least this often needs a case in which it leads."""
LIKELIEST = 3
"""So many of the likeliest causes each need a case in which they must not lead."""


def cases(reading: Reading) -> Iterator[Finding]:
    """Find trees with too few cases, cases that end otherwise than expected, and sound cars that are accused.

    With an own folder only its own trees are tried: on its own cases, and on every sound car.
    """
    led: set[str] = set()
    bench = CaseBench(reading.catalogue)
    for identifier in reading.catalogue.concerns:
        yield from _enough(reading, identifier)
    for concern, worked in reading.catalogue.cases.items():
        if concern in reading.catalogue.concerns and reading.in_question(("cases", concern)):
            for number in range(len(worked)):
                yield from _run(reading, concern, number, led, bench)
    for identifier in reading.catalogue.healthy:
        yield from _healthy(reading, identifier, bench)
    for cause in reading.catalogue.causes:
        if cause != SOMETHING_ELSE and cause not in led and reading.in_question(("causes", cause)):
            mend = "write a case it should lead, or sharpen what tells it from others"
            yield reading.at(("causes", cause), (), f"{cause} leads in no worked case", mend, "never-leads", "notice")


def _enough(reading: Reading, identifier: str) -> Iterator[Finding]:
    concern = reading.catalogue.concerns[identifier]
    worked = reading.catalogue.cases.get(identifier, ())
    record = ("concerns", identifier)
    if concern.kind == "tree" and len(worked) < FEWEST_CASES:
        what = f"the tree has {len(worked)} worked cases, fewer than {FEWEST_CASES}"
        yield reading.at(record, (), what, f"write them in {identifier}.cases.yaml beside it", "few-cases")
    if concern.kind != "tree":
        return
    leads = {cause for case in worked for cause in (*case.leads, *case.both)}
    spared = {cause for case in worked for cause in case.must_not_lead}
    likely: dict[str, float] = {}
    for cause, often in concern.shows.items():
        known = reading.catalogue.causes.get(cause)
        likely[cause] = frequency(often) * known.rate if known is not None else 0.0
        if frequency(often) >= MORE_THAN_RARE and cause not in leads and known is not None:
            mend = "write a case with the readings it gives, or make it rarer"
            yield reading.at(record, ("shows", cause), f"no case shows {cause} in the lead", mend, "no-case", "notice")
    for cause in sorted(likely, key=likely.__getitem__, reverse=True)[:LIKELIEST]:
        if cause not in spared:
            mend = "add must-not-lead: to a case with another cause"
            what = f"no case says when {cause} must not lead"
            yield reading.at(record, ("shows", cause), what, mend, "no-counter-case", "notice")


def _run(reading: Reading, concern: str, number: int, led: set[str], bench: CaseBench) -> Iterator[Finding]:
    case = reading.catalogue.cases[concern][number]
    record = ("cases", f"{concern}#{number}")
    if not (case.leads or case.both or case.must_not_lead):
        mend = "add leads:, both: or must-not-lead:"
        yield reading.at(record, (), "the case expects nothing", mend, "case-expects-nothing")
    if not all(check in reading.catalogue.checks for check in case.readings):
        return
    try:
        result = bench.run(case, concern)
    except TroubleshootError as problem:
        mend = problem.remedy.rstrip(".") or "correct the case"
        yield reading.at(record, ("readings",), problem.sentence.rstrip("."), mend, "case-cannot-run")
        return
    led.update(one.cause for one in result.belief.ranked(max(1, len(case.both))))
    for complaint in result.complaints:
        mend = "correct the case, or the numbers of the checks it reads"
        yield reading.at(record, (), f"{case.name}: {complaint}", mend, "case-fails")


def _healthy(reading: Reading, identifier: str, bench: CaseBench) -> Iterator[Finding]:
    healthy = reading.catalogue.healthy[identifier]
    record = ("healthy", identifier)
    if not all(check in reading.catalogue.checks for check in healthy.readings):
        return
    mine = reading.in_question(record)
    concerns = reading.catalogue.concerns.items()
    trees = [one for one, tree in concerns if tree.kind == "tree" and (mine or reading.in_question(("concerns", one)))]
    try:
        accused = accusations(reading.catalogue, healthy, trees, bench)
    except TroubleshootError as problem:
        mend = problem.remedy.rstrip(".") or "correct the readings"
        yield reading.at(record, ("readings",), problem.sentence.rstrip("."), mend, "case-cannot-run")
        return
    for concern, words in accused.items():
        what, mend = f"{identifier}, under {concern}: {words}", "add the reading that clears it, or correct the numbers"
        yield reading.at(record if mine else ("concerns", concern), (), what, mend, "sound-car-accused")
