"""Ways to choose the next action, all through one interface, so that they can be compared.

A policy is a function from a `Position` to an `Action`. `authored` follows steps written by a
practitioner; `probability-over-cost` only repairs; `one-step` makes the check of greatest worth;
`information-gain` makes the check that tells most bits for its cost, whatever the repairs cost;
`look-ahead` searches some checks deep; `exact` is the optimum (see `exact`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from troubleshoot.reasoning.appraising import Appraisal
from troubleshoot.reasoning.position import (
    REFER,
    Action,
    Branch,
    Position,
    best_ending,
    branches,
    cost_now,
    endings,
    expected_repaired,
    helpful_repairs,
)
from troubleshoot.reasoning.problem import Repair
from troubleshoot.reasoning.refusing import ProblemRefused
from troubleshoot.reasoning.repair_cost import expected_repair_cost, first_repair
from troubleshoot.reasoning.repair_plan import LEAST_COST, repair_plan, turn_cost
from troubleshoot.reasoning.tables import Floats

Policy = Callable[[Position], Action]
"""Chooses what to do at a position."""

POLICIES = ("authored", "probability-over-cost", "one-step", "information-gain", "look-ahead", "exact")


@dataclass(frozen=True)
class AuthoredStep:
    """One step a practitioner wrote: a check with the step after each outcome, or the repair it ends in."""

    check: str | None = None
    after: Mapping[str, str] = field(default_factory=dict)
    repair: str | None = None


def probability_over_cost(position: Position) -> Action:
    """The repair that cures most for its cost, brought up to date after each, until it pays to refer; no checks."""
    plan = repair_plan(position.problem, position.repaired)
    first = first_repair(plan, position.scope, position.weights)
    repair = likeliest_repair(position)
    end = best_ending(position)
    if repair is None or (plan.repairs[first] is None and end is not None):
        return end or REFER
    return Action("repair", repair.id)


def likeliest_repair(position: Position) -> Repair | None:
    """The repair of greatest probability over cost that has not been made, or None."""
    marginals = position.scope.space.marginals(position.weights)
    best: Repair | None = None
    most = 0.0
    for repair in helpful_repairs(position):
        ratio = expected_repaired(position.problem, repair, marginals) / max(
            turn_cost(position.problem, repair), LEAST_COST
        )
        if ratio > most * (1.0 + 1e-12):
            best, most = repair, ratio
    return best


def one_step(position: Position) -> Action:
    """The check of greatest worth while one is worth its cost, then the likeliest repair for its cost."""
    now = _appraised(position)
    best = now.best() if now.at_most > 0.0 else ()
    if best and best[0].worth > 0.0:
        return Action("check", best[0].check)
    return probability_over_cost(position)


def _appraised(position: Position) -> Appraisal:
    """The checks that can be made at a position."""
    everything = [check.id for check in position.problem.checks]
    return Appraisal(
        position.problem, position.belief(), everything, position.in_place, position.taken, position.repaired
    )


def information_gain(position: Position) -> Action:
    """The check that tells most bits about the state for its cost, until none tells anything; then repairs."""
    best, most = None, 1e-9
    now = entropy(position.weights)
    for check in position.problem.checks:
        if check.id in position.taken:
            continue
        action = Action("check", check.id)
        left = sum(b.probability * entropy(b.position.weights) for b in branches(position, action) if b.position)
        gain = (now - left) / max(cost_now(position, action), LEAST_COST)
        if gain > most * (1.0 + 1e-12):
            best, most = action, gain
    return best or probability_over_cost(position)


def entropy(weights: Floats) -> float:
    """The entropy of a distribution, in bits."""
    some = weights[weights > 0.0]
    return float(-(some * np.log2(some)).sum())


def authored(steps: Mapping[str, AuthoredStep], otherwise: Policy = one_step) -> Policy:
    """The policy that walks written steps from the first, and does as `otherwise` past a leaf.

    A step whose check or repair this problem does not have is a leaf too.
    """

    def decide(position: Position) -> Action:
        """Walk the steps again along the outcomes read so far."""
        known = dict(position.history)
        name, seen = next(iter(steps), None), set[str]()
        while name is not None and name in steps and name not in seen:
            seen.add(name)
            action = _written(position, steps[name])
            if action is not None and action.id not in known:
                return action
            name = steps[name].after.get(known[action.id]) if action is not None and action.kind == "check" else None
        return otherwise(position)

    return decide


def _written(position: Position, step: AuthoredStep) -> Action | None:
    """What a step says to do, when this problem has it."""
    if step.check is not None and step.check in position.problem.check_named:
        return Action("check", step.check)
    if step.repair is not None and step.repair in position.problem.repair_named:
        return Action("repair", step.repair)
    return None


def look_ahead(depth: int = 2, breadth: int = 5) -> Policy:
    """The policy that searches `depth` actions deep among the best `breadth` checks and the likeliest repair."""
    if depth < 1 or breadth < 1:
        raise ProblemRefused("A look-ahead needs a depth and a breadth of at least 1.", "Use 2 and 5, for example.")

    def decide(position: Position) -> Action:
        """Choose the action of least expected cost to the depth searched."""
        return _searched(position, depth, breadth)[1]

    return decide


def _searched(position: Position, depth: int, breadth: int) -> tuple[float, Action]:
    """The least expected cost found from here, and the action that begins it."""
    now = _appraised(position)
    worths = now.best(1 if depth == 1 else breadth)
    repairs_only = expected_repair_cost(position.problem, now.belief, position.repaired)
    repair = probability_over_cost(position)
    best, chosen = repairs_only, repair
    if depth == 1:
        if worths and worths[0].worth > 0.0:
            return repairs_only - worths[0].worth, Action("check", worths[0].check)
        return best, chosen
    tried = [Action("check", worth.check) for worth in worths]
    tried += [repair, *endings(position)]
    for action in tried:
        cost = cost_now(position, action)
        for branch in branches(position, action):
            cost += branch.probability * (branch.extra + _value(branch, depth - 1, breadth))
            if cost >= best:
                break
        # A repair followed by the best that comes after it is never dearer than repairs alone.
        if cost < best - 1e-12 * best:
            best, chosen = cost, action
    return best, chosen


def _value(branch: Branch, depth: int, breadth: int) -> float:
    return 0.0 if branch.position is None else _searched(branch.position, depth, breadth)[0]
