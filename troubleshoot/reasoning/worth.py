"""What each check is worth in minutes, and what to do next.

The worth of a check is the fall of the expected repair cost over its outcomes, less what the check
takes: its minutes and parts, and the minutes of its set-up unless that is in place. The next step
is the check of greatest worth, else a repair, else a referral.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from troubleshoot.reasoning.belief import Belief, mend, take_in
from troubleshoot.reasoning.events import Retested
from troubleshoot.reasoning.problem import Check, Problem
from troubleshoot.reasoning.repair_cost import RepairPlan, best_order, expected_repair_cost, repair_plan
from troubleshoot.reasoning.retained import Retained
from troubleshoot.reasoning.tables import Floats, Indices

__all__ = [
    "CheckWorth",
    "NextStep",
    "check_cost",
    "expected_repair_cost",
    "next_repair",
    "next_step",
    "outcomes_of",
    "set_ups_after",
    "two_steps",
    "worth_later",
    "worth_of_checks",
]

LIKELY_ENOUGH = 0.7
"""A repair is made before a check that would pay only for a cause at least this probable (times how often it cures)."""

SEES_ENOUGH = 0.6
"""Two steps are looked at only while no cause is more probable than this."""

STANDS_CLEAR = 0.98
"""A cause at least this probable is repaired without more checks."""

NOTHING_WRONG = 0.95
"""At this probability that nothing is wrong (any more) the case is done."""

LOOKED_AT = 2
"""How many checks the second step is worked out for where one step sees nothing."""

LEAST_OUTCOME = 0.01
"""Outcomes less probable than this are not followed in the second step."""

Kind = Literal["check", "repair", "refer", "done"]


@dataclass(frozen=True)
class CheckWorth:
    """A check: minutes it is expected to save, minutes it takes, and the difference."""

    check: str
    saves: float
    costs: float
    worth: float


def check_cost(problem: Problem, check: Check, in_place: Collection[str]) -> float:
    """Minutes a check takes now: its own, its parts, and its set-up unless that is in place."""
    cost = problem.cost(check.minutes, check.parts)
    if check.setup is not None and check.setup not in in_place:
        cost += problem.setup_named[check.setup].minutes
    return cost


def set_ups_after(problem: Problem, check: Check, in_place: Collection[str]) -> frozenset[str]:
    """The set-ups in place once a check has been made: its own is there, those it undoes are gone."""
    new = check.setup
    if new is None or new in in_place:
        return frozenset(in_place)
    return frozenset(old for old in in_place if new not in problem.setup_named[old].undone_by) | {new}


def shares_left(problem: Problem, belief: Belief, checks: Collection[Check]) -> Floats:
    """How much of each check's evidence is new: less than 1 when it or its group has been read already."""
    groups = {problem.check_named[read].group for read in belief.read} - {None}
    left = 1.0 - problem.group_share
    return np.array([left if check.group in groups or check.id in belief.read else 1.0 for check in checks])


def worth_of_checks(
    problem: Problem,
    belief: Belief,
    available: Collection[str],
    in_place: Collection[str] = (),
    taken: Collection[str] = (),
    repaired: Collection[str] = (),
) -> tuple[CheckWorth, ...]:
    """Worth of every available check that has not been taken, the best first.

    `in_place` are set-ups that need not be paid again, `repaired` repairs not to be made again.
    """
    left = frozenset(available) - frozenset(taken)
    wanted = [at for at, check in enumerate(problem.checks) if check.id in left]
    saves = _saves(problem, belief, np.array(wanted, dtype=np.intp), repair_plan(problem, repaired))
    worths = []
    for at, saved in zip(wanted, saves, strict=True):
        check = problem.checks[at]
        cost = check_cost(problem, check, in_place)
        worths.append(CheckWorth(check.id, float(saved), cost, float(saved) - cost))
    return tuple(sorted(worths, key=lambda worth: -worth.worth))


def _saves(problem: Problem, belief: Belief, checks: Indices, plan: RepairPlan) -> Floats:
    """The expected fall of the repair cost for each check, never negative."""
    if not len(checks):
        return np.zeros(0)
    keep = shares_left(problem, belief, [problem.checks[at] for at in checks])
    retained = Retained(problem, belief, plan)
    now = retained.now()
    rows, starts = problem.check_rows.of_checks(checks)
    lengths = np.diff(np.append(starts, len(rows)))
    values = retained.after(rows, np.repeat(keep, lengths))
    return np.maximum(np.add.reduceat(values, starts) - now, 0.0)


@dataclass(frozen=True)
class NextStep:
    """One step: its kind, the id of the check or repair (empty for the others), minutes saved, and why."""

    kind: Kind
    id: str
    saves: float
    why: str


def next_step(
    problem: Problem,
    belief: Belief,
    available: Collection[str],
    in_place: Collection[str] = (),
    taken: Collection[str] = (),
    repaired: Collection[str] = (),
) -> NextStep:
    """The step that is expected to cost the fewest minutes in the end."""
    if belief.none >= NOTHING_WRONG:
        return NextStep("done", "", 0.0, "Nothing listed is likely to be wrong any more.")
    repair = next_repair(problem, belief, repaired)
    leader = belief.ranked()[0]
    if repair.kind == "repair" and leader.probability >= STANDS_CLEAR and _mends(problem, repair.id, leader.cause):
        return replace(repair, why="One cause stands clear of all others.")
    worths = worth_of_checks(problem, belief, available, in_place, taken, repaired)
    if worths and worths[0].worth > 0.0:
        if repair.kind == "repair" and _can_wait(
            problem, belief, repair.id, worths[0].worth, (available, in_place, taken, repaired)
        ):
            return replace(repair, why="It is likely enough; checks cost less if they are made only should it fail.")
        return _as_step(worths[0])
    if leader.probability < SEES_ENOUGH:
        ahead = two_steps(problem, belief, worths, in_place, taken, repaired)
        if ahead is not None:
            return ahead
    if belief.none > 0.5:
        return NextStep("done", "", 0.0, "It is more likely than not that nothing listed is wrong.")
    return repair


def _can_wait(
    problem: Problem,
    belief: Belief,
    repair: str,
    worth: float,
    rest: tuple[Collection[str], Collection[str], Collection[str], Collection[str]],
) -> bool:
    """Whether the best check is worth no more now than when it is made only should this repair fail."""
    chance = max(belief.probability(cause) * cures for cause, cures in problem.repair_named[repair].cures.items())
    if chance < LIKELY_ENOUGH:
        return False
    available, in_place, taken, repaired = rest
    after = take_in(mend(belief, repair), [Retested(1.0)])
    kept = set(in_place) - problem.repair_named[repair].undoes
    later = worth_of_checks(problem, after, available, kept, taken, {*repaired, repair})
    return bool(later) and worth <= (1.0 - chance) * later[0].worth


def _as_step(worth: CheckWorth) -> NextStep:
    return NextStep(
        "check",
        worth.check,
        worth.saves,
        f"It is expected to save {worth.saves:.0f} minutes and takes {worth.costs:.0f}.",
    )


def _mends(problem: Problem, repair: str, cause: str) -> bool:
    return problem.repair_named[repair].cures.get(cause, 0.0) > 0.0


def next_repair(problem: Problem, belief: Belief, repaired: Collection[str] = ()) -> NextStep:
    """The repair of greatest probability over cost, or the referral when none is left that could help."""
    plan = repair_plan(problem, repaired)
    first = int(best_order(plan, belief.marginals)[0])
    name = plan.repairs[first]
    chance = float(belief.marginals[plan.entry == first] @ plan.takes[plan.entry == first])
    if name is None or chance == 0.0:
        return NextStep("refer", "", 0.0, "No listed repair is left that could help.")
    other = belief.probability(problem.something_else) if problem.something_else else 0.0
    if other > chance and chance * problem.referral_minutes < plan.cost[first]:
        return NextStep("refer", "", 0.0, "Something not listed is likelier than any repair that pays.")
    return NextStep(
        "repair", name, 0.0, "No check saves more than it takes; this repair is the likeliest for its cost."
    )


def two_steps(
    problem: Problem,
    belief: Belief,
    worths: tuple[CheckWorth, ...],
    in_place: Collection[str],
    taken: Collection[str],
    repaired: Collection[str] = (),
) -> NextStep | None:
    """A check that pays only with the check after it, or None; looks at the best few first checks."""
    best: NextStep | None = None
    least = 0.0
    rest = [worth.check for worth in worths]
    for worth in worths[:LOOKED_AT]:
        later = worth_later(problem, belief, worth.check, rest, in_place, taken, repaired)
        if worth.worth + later > least:
            least = worth.worth + later
            why = (
                f"With the check after it, it is expected to save {least + worth.costs:.0f} minutes; "
                f"it takes {worth.costs:.0f} itself."
            )
            best = NextStep("check", worth.check, least + worth.costs, why)
    return best


def worth_later(
    problem: Problem,
    belief: Belief,
    check: str,
    available: Collection[str],
    in_place: Collection[str],
    taken: Collection[str],
    repaired: Collection[str],
) -> float:
    """Expected worth of the best check after `check`, over its outcomes; never negative."""
    then_in_place = set_ups_after(problem, problem.check_named[check], in_place)
    then_taken = {*taken, check}
    later = 0.0
    for probability, after in outcomes_of(belief, check):
        if probability >= LEAST_OUTCOME:
            next_worths = worth_of_checks(problem, after, available, then_in_place, then_taken, repaired)
            later += probability * max(0.0, next_worths[0].worth if next_worths else 0.0)
    return later


def outcomes_of(belief: Belief, check: str) -> list[tuple[float, Belief]]:
    """For each outcome of a check its probability and the belief after it, taken as a fresh reading."""
    table = belief.problem.tables.checks[check]
    space = belief.problem.tables.space
    answers = []
    for shares in np.eye(len(table.u)):
        likelihood = table.likelihood(space, shares)
        probability = float(belief.weights @ likelihood)
        scale = 1.0 / probability if probability > 0.0 else 0.0
        after = replace(
            belief,
            showing=belief.showing * likelihood * scale,
            hidden=belief.hidden * likelihood * scale,
            read=(*belief.read, check),
        )
        answers.append((probability, after))
    return answers
