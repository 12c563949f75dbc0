"""What to do next: the check of greatest worth, else a repair, else a referral."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from troubleshoot.reasoning.appraising import Appraisal, CheckWorth, check_cost, set_ups_after, worth_of_checks
from troubleshoot.reasoning.belief import Belief, chance_it_ends, take_in, with_repair
from troubleshoot.reasoning.events import Retested
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.repair_cost import expected_repair_cost, first_repair
from troubleshoot.reasoning.repair_plan import ending_cost

__all__ = [
    "Appraisal",
    "CheckWorth",
    "NextStep",
    "check_cost",
    "expected_repair_cost",
    "next_step",
    "outcomes_of",
    "set_ups_after",
    "step_from",
    "two_steps",
    "worth_later",
    "worth_of_checks",
]

LIKELY_ENOUGH = 0.7
"""A repair is made before a check that would pay only if it is at least this probable that it ends the concern."""

SEES_ENOUGH = 0.6
"""Two steps are looked at only while no cause is more probable than this."""

STANDS_CLEAR = 0.98
"""What is at least this probable to be put right by one repair is repaired without more checks, ..."""

ENDS_ALL = 0.5
"""... unless something else is likelier than not to go on after it."""

NOTHING_WRONG = 0.95
"""At this probability that nothing is wrong (any more) the case is done."""

LOOKED_AT = 2
"""How many checks the second step is worked out for where one step sees nothing."""

LEAST_OUTCOME = 0.01
"""Outcomes less probable than this are not followed in the second step."""

Kind = Literal["check", "repair", "refer", "stop", "done"]


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
    return step_from(Appraisal(problem, belief, available, in_place, taken, repaired))


def step_from(now: Appraisal) -> NextStep:
    """The same from an appraisal, which can then be asked what other checks are worth."""
    belief = now.belief
    if belief.none >= NOTHING_WRONG:
        return NextStep("done", "", 0.0, "Nothing listed is likely to be wrong any more.")
    repair = _repair_from(now)
    leader = belief.leader
    clear = repair.kind == "repair" and belief.chance_of(repair.id) >= STANDS_CLEAR
    if clear and chance_it_ends(belief, repair.id) >= ENDS_ALL:
        return replace(repair, why="What it puts right stands clear of all else.")
    best = now.best() if now.at_most > 0.0 else ()
    if best and best[0].worth > 0.0:
        if repair.kind == "repair" and _can_wait(now, repair.id, best[0].worth):
            return replace(repair, why="It is likely enough; checks cost less if they are made only should it fail.")
        return _as_step(best[0])
    if leader.probability < SEES_ENOUGH:
        ahead = two_steps(now)
        if ahead is not None:
            return ahead
    if belief.none > 0.5:
        return NextStep("done", "", 0.0, "It is more likely than not that nothing listed is wrong.")
    return repair


def _can_wait(now: Appraisal, repair: str, worth: float) -> bool:
    """Whether the best check is worth no more now than when it is made only should this repair fail."""
    problem, belief = now.problem, now.belief
    repaired = with_repair(belief, repair)
    chance = float(repaired.hidden.sum())
    if chance < LIKELY_ENOUGH:
        return False
    after = take_in(repaired, [Retested(1.0)])
    kept = now.in_place - problem.repair_named[repair].undoes
    later = Appraisal(problem, after, now.available, kept, now.taken, now.repaired | {repair})
    if worth > (1.0 - chance) * later.at_most:
        return False
    best = later.best()
    return bool(best) and worth <= (1.0 - chance) * best[0].worth


def _as_step(worth: CheckWorth) -> NextStep:
    return NextStep(
        "check",
        worth.check,
        worth.saves,
        f"It is expected to save {worth.saves:.0f} minutes and takes {worth.costs:.0f}.",
    )


def _repair_from(now: Appraisal) -> NextStep:
    """The repair of greatest probability over cost, or the referral where that costs less or nothing is left."""
    belief = now.belief
    name = now.plan.repairs[first_repair(now.plan, belief.scope, belief.showing)]
    if name is None:
        end = min(
            now.problem.endings,
            key=lambda one: ending_cost(now.problem, belief.scope, belief.showing, one),
            default=None,
        )
        if end is not None and end.id:
            return NextStep("stop", end.id, 0.0, "Nothing else costs less than this on average.")
        left = any(one is not None for one in now.plan.repairs)
        why = "No repair is likely enough for what it costs." if left else "No listed repair is left that could help."
        return NextStep("refer", "", 0.0, why)
    return NextStep(
        "repair", name, 0.0, "No check saves more than it takes; this repair is the likeliest for its cost."
    )


def two_steps(now: Appraisal) -> NextStep | None:
    """A check that pays only with the check after it, or None; looks at the best few first checks."""
    best: NextStep | None = None
    least = 0.0
    for worth in now.best(LOOKED_AT):
        later = worth_later(now, worth.check, least - worth.worth)
        if worth.worth + later > least:
            least = worth.worth + later
            why = (
                f"With the check after it, it is expected to save {least + worth.costs:.0f} minutes; "
                f"it takes {worth.costs:.0f} itself."
            )
            best = NextStep("check", worth.check, least + worth.costs, why)
    return best


def worth_later(now: Appraisal, check: str, needed: float = 0.0) -> float:
    """Expected worth of the best check after `check`, over its outcomes; 0 where it cannot be above `needed`."""
    then_in_place = set_ups_after(now.problem, now.problem.check_named[check], now.in_place)
    then_taken = now.taken | {check}
    then = [
        (probability, Appraisal(now.problem, after, now.available, then_in_place, then_taken, now.repaired))
        for probability, after in outcomes_of(now.belief, check)
        if probability >= LEAST_OUTCOME
    ]
    then = [(probability, appraisal) for probability, appraisal in then if appraisal.at_most > 0.0]
    if sum(probability * appraisal.at_most for probability, appraisal in then) <= needed:
        return 0.0
    return sum(probability * max(0.0, appraisal.best()[0].worth) for probability, appraisal in then)


def outcomes_of(belief: Belief, check: str) -> list[tuple[float, Belief]]:
    """For each outcome of a check its probability and the belief after it, taken as a fresh reading."""
    scope, table, g = belief.scope, belief.tables.checks[check], belief.problem.mistakes
    answers = []
    for shares in (1.0 - g) * np.eye(len(table.u)) + table.wrong[:, None]:
        likelihood = table.likelihood(scope.space, shares)
        probability = float(belief.weights @ likelihood)
        scale = 1.0 / probability if probability > 0.0 else 0.0
        after = replace(belief, showing=belief.showing * likelihood * scale, hidden=belief.hidden * likelihood * scale)
        answers.append((probability, after))
    return answers
