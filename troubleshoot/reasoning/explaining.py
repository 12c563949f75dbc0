"""Why the belief is what it is: the weight of each reading, and what would change it.

Weights are natural logarithms of Bayes factors ("weight of evidence", I. J. Good). The words for
their size follow the scale of R. E. Kass and A. E. Raftery, Bayes Factors, Journal of the American
Statistical Association 90 (1995) 773-795: 3, 20 and 150 to 1 (from memory). The conflict measure
is that of F. V. Jensen: ln of the product of P(reading) over P(all readings) (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from troubleshoot.reasoning.belief import Belief, epochs, first_belief, take_in, with_repair
from troubleshoot.reasoning.events import Evidence, Happening
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.tables import Floats
from troubleshoot.reasoning.weighing import likelihood_of
from troubleshoot.reasoning.worth import outcomes_of

FURTHEST = 12.0
"""Log-odds are shown no larger than this, about 160,000 to 1; a reading that rules a cause out is infinite."""

RAREST = 1e-130
"""Stands in for a probability of 0 where its logarithm is needed."""

SCALE = ((math.log(150.0), "very strongly"), (math.log(20.0), "strongly"), (math.log(3.0), "clearly"))
SLIGHT = math.log(1.1)

EXPLAINED = 0.2
"""A reading is explained by what gives one like it at least this often, whatever its degree, ..."""

SURELY = 0.5
"""... or at least this often in one degree."""


@dataclass(frozen=True)
class Weight:
    """What one reading says about one cause: log-odds (nats) for it, in words, and what was expected."""

    check: str
    log_odds: float
    words: str
    expected_outcome: str
    read_outcome: str


@dataclass(frozen=True)
class OutcomeLeader:
    """What would lead after one outcome of a check, and how likely that outcome is."""

    outcome: str
    leader: str
    probability: float


def weights(problem: Problem, happened: Sequence[Happening], cause: str) -> tuple[Weight, ...]:
    """What each reading says about a cause, in the order they were taken.

    Each is judged by itself, against what was believed when its epoch began. Positive speaks for the cause.
    """
    said: list[Weight] = []
    for belief, readings in _epoch_readings(problem, happened):
        has = belief.scope.space.holds([belief.tables.index[cause]])
        for reading in readings:
            said.append(_weight(belief, reading, cause, _log_bayes_factor(belief, reading, has)))
    return tuple(said)


def _epoch_readings(problem: Problem, happened: Sequence[Happening]) -> list[tuple[Belief, list[Evidence]]]:
    """The readings of each epoch with the belief at its beginning."""
    belief, found = first_belief(problem, [event for event in happened if isinstance(event, Evidence)]), []
    for epoch, repair in epochs(happened):
        found.append((belief, [event for event in epoch if isinstance(event, Evidence)]))
        if repair is not None:
            belief = with_repair(take_in(belief, epoch), repair.repair)
    return found


def _chances(belief: Belief, reading: Evidence) -> Floats:
    return likelihood_of(belief.problem, belief.scope, [reading])


def _log_bayes_factor(belief: Belief, reading: Evidence, has: Floats) -> float:
    chances = _chances(belief, reading)
    with_it, without = belief.weights * has, belief.weights * (1.0 - has)
    if not (with_it.sum() > 0.0 and without.sum() > 0.0):
        return 0.0
    for_it = float(chances @ with_it / with_it.sum())
    against = float(chances @ without / without.sum())
    if for_it <= 0.0 and against <= 0.0:
        return 0.0
    log_odds = math.log(max(for_it, RAREST)) - math.log(max(against, RAREST))
    return min(max(log_odds, -FURTHEST), FURTHEST)


def _weight(belief: Belief, reading: Evidence, cause: str, log_odds: float) -> Weight:
    """Word a weight; what was expected is the likeliest outcome over the forms of the cause.

    A reading that is held against another is worded as what the two say together, where the cause moves that.
    """
    check = belief.problem.check_named[reading.check]
    if reading.compared is not None:
        made = belief.problem.comparison_named[reading.compared.evidence.check]
        if cause in made.moved_by or cause not in check.moved_by:
            check, reading = made, reading.compared.evidence
    signature = np.array(check.usual)
    if cause in check.moved_by:
        forms = belief.problem.cause_named[cause].variants
        each = check.by_variant(cause, len(forms))
        signature = sum(
            (form.weight * np.array(said or check.usual) for form, said in zip(forms, each, strict=True)),
            start=np.zeros(len(check.outcomes)),
        )
    return Weight(
        check.id,
        log_odds,
        in_words(log_odds),
        check.outcomes[int(np.argmax(signature))],
        check.outcomes[int(np.argmax(reading.shares))],
    )


def in_words(log_odds: float) -> str:
    """Say a weight of evidence in words."""
    size = abs(log_odds)
    side = "for it" if log_odds > 0 else "against it"
    if size < SLIGHT:
        return "says nothing either way"
    for least, word in SCALE:
        if size >= least:
            return f"{word} {side}"
    return f"slightly {side}"


@dataclass(frozen=True)
class Unexplained:
    """A reading that nothing listed explains: the cause that gives one like it most often, and how often it does.

    The share is over the degrees of that cause, in the way that fits best; empty where no cause moves the check.
    """

    check: str
    nearest: str
    share: float


def unexplained(belief: Belief, readings: Sequence[Evidence]) -> tuple[Unexplained, ...]:
    """Return the readings that neither a sound car nor any listed cause gives as often as `EXPLAINED`."""
    return tuple(one for one in (_nearest(belief, reading) for reading in readings) if one is not None)


def _nearest(belief: Belief, reading: Evidence) -> Unexplained | None:
    table, shares = belief.tables.checks[reading.check], np.array(reading.shares)
    usual = float(shares @ table.u)
    kept = float(shares[table.normal]) if table.normal >= 0 else 0.0
    said = shares @ table.x + kept * table.y + (usual - kept) * table.z
    if usual >= EXPLAINED:
        return None
    best, most = "", 0.0
    for cause in belief.problem.check_named[reading.check].moved_by:
        if cause == belief.problem.something_else:
            continue
        begin = int(belief.tables.begins[belief.tables.index[cause]])
        forms = belief.problem.cause_named[cause].variants
        each = said[begin : begin + len(forms)]
        ways: dict[str, list[tuple[float, float]]] = {}
        for form, share in zip(forms, each, strict=True):
            ways.setdefault(form.way, []).append((form.weight, float(share)))
        often = max(sum(w * share for w, share in way) / sum(w for w, _ in way) for way in ways.values())
        if often >= EXPLAINED or each.max() >= SURELY:
            return None
        if often > most:
            best, most = cause, often
    return Unexplained(reading.check, best, most)


def outcome_leaders(belief: Belief, check: str) -> tuple[OutcomeLeader, ...]:
    """For each outcome of a check: how likely it is, and which cause would lead after it."""
    outcomes = belief.problem.check_named[check].outcomes
    answers = []
    for outcome, (probability, after) in zip(outcomes, outcomes_of(belief, check), strict=True):
        if probability > 0.0:
            answers.append(OutcomeLeader(outcome, after.ranked()[0].cause, probability))
    return tuple(answers)


def would_change(problem: Problem, belief: Belief, check: str) -> tuple[tuple[str, str, float], ...]:
    """The outcomes of a check that would put another cause first: outcome, that cause, P(outcome)."""
    if belief.problem is not problem:
        raise ValueError("The belief is about another problem.")
    leads = belief.ranked()[0].cause
    return tuple(
        (answer.outcome, answer.leader, answer.probability)
        for answer in outcome_leaders(belief, check)
        if answer.leader != leads
    )
