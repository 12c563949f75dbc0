"""The tool's own decisions against the exact optimum, on parts of the shipped trees with the shipped prices.

The optimum is searched for here, apart from `reasoning.exact`: weights of all states, one array an outcome, a plain
search of every order of checks, repairs and the referral. What was done in one order or another between two repairs
comes to the same and is worked out once; a branch is left as soon as knowing the fault for nothing could not save it.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random
from typing import NamedTuple

import numpy as np
import pytest
from scipy.sparse import csr_array

from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.compiling import compile_problem
from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.charting import chart
from troubleshoot.reasoning.position import repaired_weights
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.tables import tables_of
from troubleshoot.reasoning.worth import next_step, set_ups_after

PARTS, CAUSES, CHECKS = 30, 5, 4
MOST_OUTCOMES = 3
SLACK = 0.03
"""The optimum is known to within this share: a branch that cannot save more is left."""

MEAN, WORST = 1.05, 1.25
"""How many times the optimum the tool may cost: over all parts, and on one."""


def part_of(problem: Problem, rng: Random) -> Problem | None:
    """Return five causes with their repairs and four checks that tell some of them apart; None where there are none."""
    listed = [one for one in problem.causes if one.repair is not None]
    causes = rng.sample(listed, min(CAUSES, len(listed)))
    names = {one.id for one in causes}
    telling = [
        one
        for one in problem.checks
        if len(names & one.moved_by.keys()) >= 2 and len(one.outcomes) <= MOST_OUTCOMES and one.normal is not None
    ]
    if len(causes) < CAUSES or len(telling) < CHECKS:
        return None
    checks = [
        replace(one, moved_by={cause: said for cause, said in one.moved_by.items() if cause in names})
        for one in rng.sample(telling, CHECKS)
    ]
    cures = [(one, {cause: chance for cause, chance in one.cures.items() if cause in names}) for one in problem.repairs]
    repairs = [replace(one, cures=left) for one, left in cures if left]
    return replace(
        problem, causes=tuple(causes), checks=tuple(checks), repairs=tuple(repairs), something_else=None, comparisons=()
    )


class Left(NamedTuple):
    """The repairs left: names, prices, whom each helps, what is left after it, the least that each state costs then."""

    names: list[str]
    prices: np.ndarray
    held: np.ndarray
    after: csr_array
    known_then: np.ndarray


class Plan:
    """One part, laid out: states by their weights, what each outcome says of them, what each repair makes of them."""

    def __init__(self, problem: Problem) -> None:
        self.problem, tables = problem, tables_of(problem)
        self.scope = tables.whole
        self.space, g = self.scope.space, problem.mistakes
        self.start = self.scope.prior.copy()
        self.start[0] = 0.0
        self.start /= self.start.sum()
        self.outcomes = {}
        for check in problem.checks:
            table = tables.checks[check.id]
            each = (1.0 - g) * np.eye(len(check.outcomes)) + table.wrong[:, None]
            self.outcomes[check.id] = np.array([table.likelihood(self.space, one) for one in each])
        unit = np.eye(self.space.size)
        self.names = [repair.id for repair in problem.repairs]
        self.after = np.array([self.made_of(unit, repair) for repair in problem.repairs])
        """For each repair the weights after it, by the weights before: the cases that it ends are left out."""
        self.prices = np.array([problem.cost(one.minutes, one.parts) for one in problem.repairs])
        held = [self.space.holds([tables.index[cause] for cause in one.cures]) for one in problem.repairs]
        self.held = np.array(held, dtype=float).T
        self.referral = problem.referral_cost
        self.known, self.left, self.price = cache(self._known), cache(self._left), cache(self._price)
        self.cheapest = cache(self._cheapest)
        self.found: dict[object, tuple[float, bool]] = {}

    def made_of(self, unit, repair) -> np.ndarray:
        """Return what a repair makes of each state, one column a state."""
        after = np.array([repaired_weights(self.problem, self.scope, one, repair) for one in unit]).T
        after[0] = 0.0
        return after

    def _left(self, repaired: frozenset[str]) -> Left:
        at = [place for place, name in enumerate(self.names) if name not in repaired]
        names = [self.names[place] for place in at]
        size, known = self.space.size, [self.known(repaired | {name}) for name in names]
        after = self.after[at].reshape(-1, size)
        return Left(
            names, self.prices[at], self.held[:, at].copy(), csr_array(after), np.array(known).reshape(len(at), size)
        )

    def _known(self, repaired: frozenset[str]) -> np.ndarray:
        """Return what each state costs at least: the dearest repair that it needs, or the referral."""
        index, price = tables_of(self.problem).index, np.full(len(self.problem.causes), self.referral)
        for repair in self.problem.repairs:
            for cause in repair.cures if repair.id not in repaired else ():
                price[index[cause]] = min(price[index[cause]], self.prices[self.names.index(repair.id)])
        one, space, scope = price[self.space.cause_of], self.space, self.scope
        first, second = one[space.pair_first], one[space.pair_second]
        both = 1.0 - scope.only_first - scope.only_second
        pairs = scope.only_first * first + scope.only_second * second + both * np.maximum(first, second)
        return np.concatenate([[0.0], one, pairs])

    def _price(self, check: str, in_place: frozenset[str]) -> float:
        """Return the minutes that a check takes now."""
        known = self.problem.check_named[check]
        set_up = known.setup is not None and known.setup not in in_place
        extra = self.problem.setup_named[known.setup].minutes if set_up else 0.0
        return self.problem.cost(known.minutes, known.parts) + extra

    def least(self, weights, taken, repaired, in_place, history, budget) -> float:
        """Return the least cost of these weights, to within the slack, if it is below the budget; else the budget."""
        key = history, in_place
        kept = self.found.get(key)
        if kept is not None and (kept[1] or kept[0] >= budget):
            return kept[0]
        total, left = float(weights.sum()), self.left(repaired)
        after = (left.after @ weights).reshape(len(left.names), -1)
        totals = after.sum(axis=1)
        at_once = min([self.referral * total, *(left.prices * total + self.referral * totals).tolist()])
        best, found = min(budget, at_once), at_once <= budget
        for bound, kind, name, at in self.ways(weights, total, taken, repaired, in_place, after, totals):
            if bound >= best * (1.0 - SLACK):
                break
            if kind == "repair":
                then = (*history, frozenset({name})) if not self.ends_in_repair(history) else (
                    *history[:-1], history[-1] | {name}
                )  # fmt: skip
                paid = float(left.prices[at]) * total
                standing = in_place - self.problem.repair_named[name].undoes
                cost = paid + self.least(after[at], taken, repaired | {name}, standing, then, best - paid)
            else:
                cost = self.after_check(weights, total, name, taken, repaired, in_place, history, best)
            if cost < best - 1e-9:
                best, found = cost, True
        self.found[key] = best, found
        return best

    @staticmethod
    def ends_in_repair(history) -> bool:
        """Return whether the last block of what was done are repairs, named alone; checks stand with their outcomes."""
        return bool(history) and all(isinstance(one, str) for one in history[-1])

    def after_check(self, weights, total, name, taken, repaired, in_place, history, best) -> float:
        """Return the cost of a check and the best after each outcome; infinite as soon as it saves too little."""
        check = self.problem.check_named[name]
        then_in_place = set_ups_after(self.problem, check, in_place)
        joint = weights * self.outcomes[name]
        at_least = self.bounds(joint, taken | {name}, repaired, then_in_place)
        cost = self.price(name, in_place) * total + at_least.sum()
        if cost >= best * (1.0 - SLACK):
            return np.inf
        for at in np.argsort(-at_least):
            mark = (name, int(at))
            then = (
                (*history[:-1], history[-1] | {mark})
                if history and not self.ends_in_repair(history)
                else (*history, frozenset({mark}))
            )
            others = cost - at_least[at]
            cost = others + self.least(joint[at], taken | {name}, repaired, then_in_place, then, best - others)
            if cost >= best * (1.0 - SLACK):
                return np.inf
        return cost

    def bounds(self, rows, taken, repaired, in_place):
        """Return what rows of weights cost at least: the fault is known after one more action, or the referral."""
        left, totals = self.left(repaired), rows.sum(axis=1)
        wasted = (totals[:, None] - rows @ left.held) * left.prices
        return self.at_least(rows @ self.known(repaired), totals, wasted, self.cheapest(taken, in_place))

    def at_least(self, known, totals, wasted, check):
        """Return the least of the cost of what is known after one more repair or check, and of the referral."""
        first = np.minimum(np.minimum.reduce(wasted, axis=1, initial=np.inf), check * totals)
        return np.minimum(known + first, self.referral * totals)

    def _cheapest(self, taken, in_place) -> float:
        """Return the minutes of the cheapest check that is left, infinite where there is none."""
        return min((self.price(name, in_place) for name in self.outcomes if name not in taken), default=np.inf)

    def ways(self, weights, total, taken, repaired, in_place, after, totals):
        """Return every action with the least that it can cost, the cheapest first; `after` each repair that is left."""
        left, known = self.left(repaired), float(weights @ self.known(repaired))
        found = []
        if left.names:
            wasted = (totals[:, None] - after @ left.held) * left.prices
            wasted.flat[:: len(left.names) + 1] = np.inf
            undone = [in_place - self.problem.repair_named[name].undoes for name in left.names]
            checks = np.array([self.cheapest(taken, then) for then in undone])
            known_then = np.einsum("ij,ij->i", after, left.known_then)
            bound = left.prices * total + self.at_least(known_then, totals, wasted, checks)
            found = [(one, "repair", left.names[at], at) for at, one in enumerate(bound.tolist())]
        for name in self.outcomes:
            if name not in taken:
                found.append((known + self.price(name, in_place) * total, "check", name, -1))
        return sorted(found, key=lambda one: one[0])

    def by_the_tool(self, weights, taken, repaired, in_place) -> float:
        """Return what it costs to do as the tool decides, step by step."""
        total = float(weights.sum())
        if total < 1e-12:
            return 0.0
        belief = Belief(self.problem, self.scope, weights / total, np.zeros_like(weights))
        step = next_step(self.problem, belief, list(self.outcomes), in_place, taken, repaired)
        if step.kind == "check":
            then = set_ups_after(self.problem, self.problem.check_named[step.id], in_place)
            each = weights * self.outcomes[step.id]
            rest = sum(self.by_the_tool(one, taken | {step.id}, repaired, then) for one in each)
            return self.price(step.id, in_place) * total + rest
        if step.kind == "repair":
            left = in_place - self.problem.repair_named[step.id].undoes
            at = self.names.index(step.id)
            rest = self.by_the_tool(self.after[at] @ weights, taken, repaired | {step.id}, left)
            return self.prices[at] * total + rest
        return self.referral * total


def parts():
    """Parts of the trees of all concerns in turn, for cars in turn."""
    trees, rng, found = load_catalogue(), Random(11), []
    cars, concerns = (
        list(trees.cars.values()),
        [name for name, one in trees.concerns.items() if one.kind != "inspection"],
    )
    at = 0
    while len(found) < PARTS:
        whole = compile_problem(trees, cars[at % len(cars)], (concerns[at % len(concerns)],), listed_only=True)
        part = part_of(whole, rng)
        found += [part] if part is not None else []
        at += 1
    return found


@pytest.mark.slow
def test_the_tool_costs_hardly_more_than_the_optimum() -> None:
    """On 30 parts of five causes and four checks at most 1.05 times the optimum on average, 1.25 times at worst."""
    nothing: frozenset[str] = frozenset()
    ratios = []
    for part in parts():
        plan = Plan(part)
        tool = plan.by_the_tool(plan.start, nothing, nothing, nothing)
        best = plan.least(plan.start, nothing, nothing, nothing, (), tool + 1e-6)
        ratios.append(tool / (best * (1.0 - SLACK)))
    assert np.mean(ratios) <= MEAN
    assert max(ratios) <= WORST


def test_the_exact_policy_proves_the_optimum_of_a_part_of_a_tree(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four causes and three checks of a tree, all variants and mistakes: proved, and equal to the search above."""
    monkeypatch.setattr(f"{__name__}.CAUSES", 4)
    monkeypatch.setattr(f"{__name__}.CHECKS", 3)
    monkeypatch.setattr(f"{__name__}.SLACK", 0.0)
    trees, nothing = load_catalogue(), frozenset[str]()
    part = part_of(compile_problem(trees, trees.cars["harrow-240"], ("lean-top",), listed_only=True), Random(0))
    assert part is not None
    made = chart(part, "exact")
    plan = Plan(part)
    best = plan.least(plan.start, nothing, nothing, nothing, (), float("inf"))
    assert made.optimal
    assert made.expected_cost == pytest.approx(best / float(plan.start.sum()), rel=1e-9)
    assert not chart(part, "exact", most_positions=3).optimal
    assert not chart(part, "exact", late=lambda: True).optimal
