"""The numbers of checks and trees: frequencies that add up, outcomes that exist, causes that move something."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping

from troubleshoot.knowledge.against import against_checks
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.compiling import SOMETHING_ELSE, fits
from troubleshoot.knowledge.degrees import WHY, leaves, ways_named
from troubleshoot.knowledge.findings import Finding, nearest
from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.limits import expected_number, limits_rest_on
from troubleshoot.knowledge.lint_references import Record
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.loading import YamlPath
from troubleshoot.knowledge.model import Cause, Check, Expects, Frequency, Signature
from troubleshoot.knowledge.signatures import signature_shares, usual_shares
from troubleshoot.problems import TroubleshootError

ADDS_UP = 1e-9
"""Frequencies may miss 1 by this much."""


SURE, UNLIKELY = 0.8, 0.03
"""A figure above the one or below the other says more than most faults do; it gives its reason."""


def signatures(trees: SourcedTrees) -> Iterator[Finding]:
    """Find outcomes, frequencies and signatures that cannot be, and causes that nothing shows or moves."""
    checks = trees.catalogue.checks
    for identifier, check in {**checks, **against_checks(checks)}.items():
        record = ("checks", identifier)
        yield from _outcomes(trees, record, check)
        yield from _usual(trees, record, check)
        yield from _moved_by(trees, record, check)
    for identifier, cause in trees.catalogue.causes.items():
        for part, shares in (("degrees", cause.degrees), ("ways", cause.ways)):
            total = math.fsum(shares.values())
            if shares and abs(total - 1.0) > ADDS_UP:
                what, advice = f"the {part} of this cause come to {total:.4g}", "make them come to 1"
                yield trees.at(("causes", identifier), (part,), what, advice, f"{part}-add-up")
    yield from _shown_ways(trees)
    yield from _idle_causes(trees)


def _outcomes(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    if bool(check.bands) == bool(check.choices):
        advice = "give it reading: and bands:, or choices: alone"
        yield trees.at(record, (), "a check has either bands or choices", advice, "bands-or-choices")
    if bool(check.bands) != (check.reading is not None):
        advice = "give both, or use choices:"
        yield trees.at(record, (), "bands and reading belong together", advice, "bands-or-choices")
    part = check.kind.written
    for position, outcome in enumerate(check.outcomes):
        if outcome in check.outcomes[:position]:
            what, advice = f"outcome {outcome} is there twice", "give each its own name"
            yield trees.at(record, (part, position, "outcome"), what, advice, "outcome-twice")
    if len(check.outcomes) == 1:
        yield trees.at(record, (part,), "one outcome tells nothing", "add the other outcomes", "one-outcome")
    if check.normal is not None and check.normal not in check.outcomes:
        what = f"normal is {check.normal}, which is no outcome of this check{nearest(check.normal, check.outcomes)}"
        yield trees.at(record, ("normal",), what, f"use one of: {', '.join(check.outcomes)}", "unknown-outcome")
    if check.normal is None and not check.usual:
        advice = "name the sound outcome under normal:, or give usual: in full"
        yield trees.at(record, (), "nothing says what a healthy car reads", advice, "no-normal")


def _usual(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    if not check.usual:
        return
    yield from _known_outcomes(trees, record, ("usual",), check, check.usual)
    yield from _sum(trees, record, ("usual",), check, check.usual)


def _moved_by(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    for cause, signature in check.moved_by.items():
        yaml_path = ("moved-by", cause)
        known = trees.catalogue.causes.get(cause)
        wrong = [] if known is None else list(_known_ways(trees, record, yaml_path, known, ways_named(signature)))
        for inner, leaf in leaves(signature):
            where = (*yaml_path, *inner)
            if isinstance(leaf, Expects):
                wrong.extend(_expects(trees, record, where, check, known, leaf))
                continue
            wrong.extend(_known_outcomes(trees, record, where, check, leaf))
            wrong.extend(_sum(trees, record, where, check, leaf))
            if not leaf:
                what = f"{cause} moves no outcome"
                wrong.append(trees.at(record, where, what, "name one, or remove the line", "moves-nothing"))
        yield from wrong
        if not wrong:
            yield from _unreasoned(trees, record, yaml_path, signature, check.normal)
        alone = record[1] in trees.catalogue.checks  # held against another, to read as usual says that it moves both
        if alone and not wrong and _same(signature_shares(check, cause, known), usual_shares(check)):
            what = f"{cause} leaves this check as it usually is"
            yield trees.at(record, yaml_path, what, "say how it moves, or remove the line", "moves-nothing")
    yield from _seen_itself(trees, record, check)
    if not check.moved_by and record[1] not in _rested_on(trees):
        advice = "name the causes it tells of, or remove the check"
        yield trees.at(record, (), "no cause moves this check", advice, "moves-nothing")


def _rested_on(trees: SourcedTrees) -> frozenset[str]:
    """Return the checks from whose readings a limit of another check is worked out: they need tell of no cause."""
    return frozenset[str]().union(*(limits_rest_on(check) for check in trees.catalogue.checks.values()))


def _seen_itself(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    """Find an answer that is said to be a cause itself, and that the cause does not move or another one does."""
    for position, choice in enumerate(check.choices):
        if choice.shows is None:
            continue
        for cause, signature in check.moved_by.items():
            named = any(choice.outcome in leaf for _, leaf in leaves(signature) if not isinstance(leaf, Expects))
            if named and cause != choice.shows:
                what = f"{choice.outcome} is {choice.shows} itself, and {cause} is said to give it too"
                advice = "take it out of one of the two"
                yield trees.at(record, ("moved-by", cause, choice.outcome), what, advice, "shown-by-another")
        if choice.outcome == check.normal or choice.shows not in check.moved_by:
            what = f"{choice.outcome} is {choice.shows} itself, which is not said to move this check"
            advice = "add it under moved-by:"
            yield trees.at(record, ("choices", position, "shows"), what, advice, "shows-unmoved")


def _unreasoned(
    trees: SourcedTrees, record: Record, yaml_path: YamlPath, signature: Signature, normal: str | None
) -> Iterator[Finding]:
    """Find a figure that is nearly certain, or nearly impossible, and gives no reason; normal is what is left over."""
    if WHY in signature:
        return
    for inner, leaf in leaves(signature):
        if isinstance(leaf, Expects):
            continue
        for outcome, value in leaf.items():
            share = frequency(value)
            if outcome != normal and not UNLIKELY - ADDS_UP <= share <= SURE + ADDS_UP:
                what = f"{share:g} for {outcome} is more than most faults show, and no why says so"
                advice = "add why:, or stay between 0.03 and 0.8"
                yield trees.at(record, (*yaml_path, *inner, outcome), what, advice, "no-why")


def _shown_ways(trees: SourcedTrees) -> Iterator[Finding]:
    """Find ways that a concern names and its cause has not."""
    for identifier, concern in trees.catalogue.concerns.items():
        for cause, said in concern.shows.items():
            known = trees.catalogue.causes.get(cause)
            if isinstance(said, dict) and known is not None:
                yield from _known_ways(trees, ("concerns", identifier), ("shows", cause), known, said)


def _known_ways(
    trees: SourcedTrees, record: Record, yaml_path: YamlPath, cause: Cause, named: Iterable[str]
) -> Iterator[Finding]:
    for way in named:
        if way not in cause.ways:
            what = f"the cause has no way {way}{nearest(way, cause.ways)}"
            known = f"use one of: {', '.join(cause.ways)}" if cause.ways else "name its ways where the cause stands"
            yield trees.at(record, (*yaml_path, way), what, known, "unknown-way")


def _expects(
    trees: SourcedTrees, record: Record, yaml_path: YamlPath, check: Check, cause: Cause | None, expects: Expects
) -> Iterator[Finding]:
    """Find what is expected as a number and cannot be worked out on some car that the check and the cause fit."""
    given = [one for one in (expects.value, expects.car, expects.calc) if one is not None]
    if len(given) != 1:
        what, advice = "what is expected comes from one place", "give it value:, car: or calc:, and one of them"
        yield trees.at(record, yaml_path, what, advice, "expects-of-no-kind")
        return
    for car in (Car(), *trees.catalogue.cars.values()):
        if fits(car, check.for_) and (cause is None or fits(car, cause.for_)):
            try:
                expected_number(check, expects, car)
            except TroubleshootError as problem:
                yield trees.at(record, yaml_path, problem.sentence, problem.advice, "bad-expects")
                return


def _known_outcomes(
    trees: SourcedTrees, record: Record, yaml_path: YamlPath, check: Check, written: Mapping[str, Frequency]
) -> Iterator[Finding]:
    for outcome in written:
        if outcome not in check.outcomes:
            what = f"there is no outcome {outcome}{nearest(outcome, check.outcomes)}"
            advice = f"use one of: {', '.join(check.outcomes)}"
            yield trees.at(record, (*yaml_path, outcome), what, advice, "unknown-outcome")


def _sum(
    trees: SourcedTrees, record: Record, yaml_path: YamlPath, check: Check, written: Mapping[str, Frequency]
) -> Iterator[Finding]:
    total = math.fsum(frequency(value) for value in written.values())
    taker = (check.normal is not None and check.normal not in written) or set(check.outcomes) - set(written)
    if total > 1.0 + ADDS_UP:
        advice = "lower them; together they may come to 1 at most"
        yield trees.at(record, yaml_path, f"the frequencies come to {total:.4g}", advice, "adds-up")
    elif total < 1.0 - ADDS_UP and not taker and written:
        advice = "raise them to 1, or leave the normal outcome out to take the rest"
        yield trees.at(record, yaml_path, f"the frequencies come to only {total:.4g}", advice, "adds-up")


def _same(first: tuple[float, ...], second: tuple[float, ...]) -> bool:
    return all(abs(one - other) < 1e-6 for one, other in zip(first, second, strict=True))


def _idle_causes(trees: SourcedTrees) -> Iterator[Finding]:
    """Find causes that no check moves and causes that no tree shows."""
    catalogue = trees.catalogue
    moved = {cause for check in catalogue.checks.values() for cause in check.moved_by}
    shown = {cause for concern in catalogue.concerns.values() for cause in concern.shows}
    for cause in catalogue.causes:
        if cause == SOMETHING_ELSE:
            continue
        if cause not in moved and "checks" not in trees.unread:
            advice = "add it under moved-by: of a check that tells of it"
            yield trees.at(("causes", cause), (), f"no check is moved by {cause}", advice, "cause-moves-nothing")
        if cause not in shown and "concerns" not in trees.unread:
            advice = "add it under shows: of a concern, or remove it"
            yield trees.at(("causes", cause), (), f"no tree uses {cause}", advice, "unused-cause")
