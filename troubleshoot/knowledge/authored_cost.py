"""What a tree's written steps cost on average, against the best order of the same checks."""

from __future__ import annotations

from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import compile_problem, fits
from troubleshoot.knowledge.lint_steps import first_step
from troubleshoot.knowledge.model import Concern
from troubleshoot.reasoning.policies import AuthoredStep, Policy, authored, likeliest_repair, one_step
from troubleshoot.reasoning.position import Position, branches, cost_now, expected_repaired, start
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.repair_cost import expected_repair_cost

LEAST_REACH = 0.01
"""Branches reached less often are not followed."""
MOST_CHECKS = 10
"""So many checks are followed on one branch."""


def steps_of(concern: Concern) -> dict[str, AuthoredStep]:
    """Return a tree's steps in the form the policies walk, the first one first."""
    start = first_step(concern)
    order = sorted(concern.steps, key=lambda name: name != start)
    return {
        name: AuthoredStep(step.check, dict(step.next), step.repair)
        for name, step in ((one, concern.steps[one]) for one in order)
    }


def authored_cost(catalogue: Catalogue, concern: str, car: Car | None = None) -> float:
    """Return the minutes the written steps cost on average, the tree's own checks by worth past their end."""
    return _cost(problem_of(catalogue, concern, car), authored(steps_of(catalogue.concerns[concern])))


def best_cost(catalogue: Catalogue, concern: str, car: Car | None = None) -> float:
    """Return the minutes it costs when each step is the one of greatest worth among the tree's own checks."""
    return _cost(problem_of(catalogue, concern, car), one_step)


def problem_of(catalogue: Catalogue, concern: str, car: Car | None) -> Problem:
    """Return the problem of a concern with only the checks its steps make, on a car they suit."""
    tree = catalogue.concerns[concern]
    checks = {step.check for step in tree.steps.values() if step.check is not None}
    if car is None:
        suited = [(sum(fits(one, catalogue.checks[c].for_) for c in checks if c in catalogue.checks), name, one)
                  for name, one in catalogue.cars.items()]  # fmt: skip
        car = max(suited, key=lambda each: each[0])[2] if suited else Car()
    return compile_problem(catalogue, car, [concern], only=checks, listed_only=True)


def _cost(problem: Problem, policy: Policy) -> float:
    position = start(problem)
    return 0.0 if position is None else _expected(problem, policy, position, 1.0, MOST_CHECKS)


def _expected(problem: Problem, policy: Policy, position: Position, reach: float, left: int) -> float:
    action = policy(position)
    known = action.kind != "check" or action.id in problem.check_named
    if action.kind != "check" or not known or left == 0 or reach < LEAST_REACH:
        return _end(problem, position)
    cost = cost_now(position, action)
    for branch in branches(position, action):
        cost += branch.probability * branch.extra
        if branch.position is not None:
            further = _expected(problem, policy, branch.position, reach * branch.probability, left - 1)
            cost += branch.probability * further
    return cost


def _end(problem: Problem, position: Position) -> float:
    """Return what it costs without another check: all repairs in turn, the likeliest and then a referral, or that."""
    ways = [expected_repair_cost(problem, position.belief(), position.repaired), problem.referral_cost]
    repair = likeliest_repair(position)
    if repair is not None:
        repaired = expected_repaired(problem, repair, position.scope.space.marginals(position.weights))
        ways.append(problem.cost(repair.minutes, repair.parts) + (1.0 - repaired) * problem.referral_cost)
    return min(ways)
