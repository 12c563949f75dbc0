"""Why a cause stands where it does, what else could be looked at, what would change the order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.available import available_checks, missing_for
from troubleshoot.case.errors import UnknownCause, UnknownCheck
from troubleshoot.case.proposing import TINY, propose, worths
from troubleshoot.case.view import OtherCheck, WeightShown
from troubleshoot.knowledge.against import against_checks
from troubleshoot.knowledge.answers import id_words
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.model import Check
from troubleshoot.reasoning import explaining
from troubleshoot.reasoning.worth import check_cost

SEEN = 0.5
"""Minutes; less is not shown as saved, so it is not worked out."""


def why(seen: Assessment, catalogue: Catalogue, cause: str) -> tuple[WeightShown, ...]:
    """Return how each reading speaks for or against a cause, the strongest first."""
    if seen.problem is None or cause not in {one.id for one in seen.problem.causes}:
        known = [one.id for one in seen.problem.causes] if seen.problem else []
        raise UnknownCause(f"There is no cause {cause[:60]} in this case{nearest(cause, known)}.", "Choose one listed.")
    checks = {**catalogue.checks, **against_checks(catalogue.checks)}
    found = [
        WeightShown(
            one.check,
            checks[one.check].ask,
            outcome_words(checks[one.check], one.read_outcome),
            outcome_words(checks[one.check], one.expected_outcome),
            one.log_odds,
            one.words,
            str(checks[one.check].moved_by.get(cause, {}).get("why", "")),
        )
        for one in explaining.weights(seen.problem, seen.happened, cause)
        if one.check in checks
    ]
    return tuple(sorted(found, key=lambda one: -abs(one.log_odds)))


def outcome_words(check: Check, outcome: str) -> str:
    """Return an outcome in the words of its check."""
    return dict(check.named_outcomes).get(outcome) or id_words(outcome)


def other_checks(seen: Assessment, catalogue: Catalogue, appraised: bool = True) -> tuple[OtherCheck, ...]:
    """Return the checks not yet done, those of greatest worth first, those that cannot be done last.

    Without being appraised, which takes a moment, they come in the order of their words and with nothing saved.
    """
    if seen.problem is None:
        return ()
    can = available_checks(seen, catalogue)
    wanted = frozenset(seen.problem.check_named) - seen.taken
    found = []
    for one in worths(seen, wanted, SEEN if appraised else math.inf):
        check = catalogue.checks[one.check]
        missing = missing_for(seen, catalogue, one.check)
        if one.check in seen.skipped:
            missing = (*missing, f"skipped: {seen.skipped[one.check]}" if seen.skipped[one.check] else "skipped")
        found.append(
            OtherCheck(
                one.check,
                check.ask,
                check.state,
                one.costs,
                one.saves,
                one.worth,
                one.check in can,
                missing,
                tuple(check.cautions),
            )
        )
    if not appraised:
        bare = [replace(one, worth=0.0) for one in found]
        return tuple(sorted(bare, key=lambda one: (not one.available, one.ask.casefold())))
    return _with_proposal(seen, catalogue, sorted(found, key=lambda other: (not other.available, -other.worth)))


def _with_proposal(seen: Assessment, catalogue: Catalogue, found: Sequence[OtherCheck]) -> tuple[OtherCheck, ...]:
    """Return other checks, the best first, with words at the proposed one: why, and what it costs against the best."""
    step = propose(seen, catalogue)
    mine = next((one for one in found if step.kind == "check" and one.id == step.id), None)
    if mine is None:
        return tuple(found)
    behind = found[0].worth - mine.worth
    words = {"tree": "proposed, as the tree looks here next", "person": "chosen by you"}.get(step.by, "proposed")
    if behind > TINY:
        words += f"; line 1 of this list would save {behind:.0f} min more"
    return tuple(replace(one, proposed=words) if one is mine else one for one in found)


def would_change(seen: Assessment, catalogue: Catalogue, check: str) -> tuple[tuple[str, str, float], ...]:
    """Return the outcomes of a check that would put another cause first: words, that cause, the probability."""
    if seen.problem is None or seen.belief is None or check not in seen.problem.check_named:
        known = list(seen.problem.check_named) if seen.problem else []
        raise UnknownCheck(f"There is no check {check[:60]} in this case{nearest(check, known)}.", "Choose one listed.")
    known_check = catalogue.checks[check]
    return tuple(
        (
            outcome_words(known_check, outcome),
            catalogue.causes[leader].title if leader in catalogue.causes else id_words(leader),
            probability,
        )
        for outcome, leader, probability in explaining.would_change(seen.problem, seen.belief, check)
    )


def minutes_now(seen: Assessment, check: str, own: Check) -> float:
    """Return the minutes a check takes now, with its set-up unless that is in place."""
    if seen.problem is None or check not in seen.problem.check_named:
        return own.minutes
    return check_cost(seen.problem, seen.problem.check_named[check], seen.in_place) - (
        seen.problem.cost(0.0, own.parts)
    )
