"""Worked cases and healthy cars: enough of them, and every one comes out as it should."""

from __future__ import annotations

from collections.abc import Iterator

from troubleshoot.knowledge.compiling import SOMETHING_ELSE, how_often
from troubleshoot.knowledge.findings import Finding
from troubleshoot.knowledge.healthy_cars import accusations
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.worked_cases import WorkedCases
from troubleshoot.problems import TroubleshootError

FEWEST_CASES = 3
"""Worked cases a tree needs."""
MORE_THAN_RARE = 0.3
"""A cause that shows a concern at least this often needs a case in which it leads."""
LIKELIEST = 3
"""So many of the likeliest causes each need a case in which they must not lead."""


def cases(trees: SourcedTrees) -> Iterator[Finding]:
    """Find trees with too few cases, cases that end otherwise than expected, and healthy cars that are accused.

    With an own folder only its own trees are tried: on its own cases, and on every healthy car.
    """
    led: set[str] = set()
    bench = WorkedCases(trees.catalogue)
    for identifier in trees.catalogue.concerns:
        yield from _enough(trees, identifier)
    for concern, worked in trees.catalogue.cases.items():
        if concern in trees.catalogue.concerns and trees.in_question(("cases", concern)):
            for number in range(len(worked)):
                yield from _run(trees, concern, number, led, bench)
    for identifier in trees.catalogue.healthy:
        yield from _healthy(trees, identifier, bench)
    for cause in trees.catalogue.causes:
        if cause != SOMETHING_ELSE and cause not in led and trees.in_question(("causes", cause)):
            advice = "write a case it should lead, or sharpen what tells it from others"
            yield trees.at(("causes", cause), (), f"{cause} leads in no worked case", advice, "never-leads", "notice")


def _enough(trees: SourcedTrees, identifier: str) -> Iterator[Finding]:
    concern = trees.catalogue.concerns[identifier]
    worked = trees.catalogue.cases.get(identifier, ())
    record = ("concerns", identifier)
    if concern.kind == "tree" and len(worked) < FEWEST_CASES:
        what = f"the tree has {len(worked)} worked cases, fewer than {FEWEST_CASES}"
        yield trees.at(record, (), what, f"write them in {identifier}.cases.yaml beside it", "few-cases")
    if concern.kind != "tree":
        return
    leads = {cause for case in worked for cause in (*case.leads, *case.both)}
    spared = {cause for case in worked for cause in case.must_not_lead}
    likely: dict[str, float] = {}
    for cause in concern.shows:
        known = trees.catalogue.causes.get(cause)
        often = how_often(concern.shows, cause, known)
        likely[cause] = often * known.rate if known is not None else 0.0
        if often >= MORE_THAN_RARE and cause not in leads and known is not None:
            advice = "write a case with the readings it gives, or make it rarer"
            yield trees.at(record, ("shows", cause), f"no case shows {cause} in the lead", advice, "no-case", "notice")
    for cause in sorted(likely, key=likely.__getitem__, reverse=True)[:LIKELIEST]:
        if cause not in spared:
            advice = "add must-not-lead: to a case with another cause"
            what = f"no case says when {cause} must not lead"
            yield trees.at(record, ("shows", cause), what, advice, "no-counter-case", "notice")


def _run(trees: SourcedTrees, concern: str, number: int, led: set[str], bench: WorkedCases) -> Iterator[Finding]:
    case = trees.catalogue.cases[concern][number]
    record = ("cases", f"{concern}#{number}")
    if not (case.leads or case.both or case.must_not_lead):
        advice = "add leads:, both: or must-not-lead:"
        yield trees.at(record, (), "the case expects nothing", advice, "case-expects-nothing")
    if not all(check in trees.catalogue.checks for check in case.readings):
        return
    try:
        result = bench.run(case, concern)
    except TroubleshootError as problem:
        advice = problem.advice.rstrip(".") or "correct the case"
        yield trees.at(record, ("readings",), problem.sentence.rstrip("."), advice, "case-cannot-run")
        return
    led.update(one.cause for one in result.belief.ranked(max(1, len(case.both))))
    for complaint in result.complaints:
        advice = "correct the case, or the numbers of the checks it reads"
        yield trees.at(record, (), f"{case.name}: {complaint}", advice, "case-fails")


def _healthy(trees: SourcedTrees, identifier: str, bench: WorkedCases) -> Iterator[Finding]:
    healthy = trees.catalogue.healthy[identifier]
    record = ("healthy", identifier)
    if not all(check in trees.catalogue.checks for check in healthy.readings):
        return
    mine = trees.in_question(record)
    concerns = trees.catalogue.concerns.items()
    under = [one for one, tree in concerns if tree.kind == "tree" and (mine or trees.in_question(("concerns", one)))]
    try:
        accused = accusations(trees.catalogue, healthy, under, bench)
    except TroubleshootError as problem:
        advice = problem.advice.rstrip(".") or "correct the readings"
        yield trees.at(record, ("readings",), problem.sentence.rstrip("."), advice, "case-cannot-run")
        return
    for concern, words in accused.items():
        what = f"{identifier}, under {concern}: {words}"
        advice = "add the reading that clears it, or correct the numbers"
        yield trees.at(record if mine else ("concerns", concern), (), what, advice, "healthy-car-accused")
