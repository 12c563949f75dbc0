"""The optimum of a small problem, by dynamic programming over everything that can be known.

At each position the least expected cost is the least, over all actions, of the action's cost and
the expected least cost after it. Positions that come to the same (what has been done and what is
believed, in whatever order) are worked out once. A position is only worked out as far as it can
still beat what has been found above it (branch and bound); the bound on the rest is what it would
cost if the fault were known after one more action.
"""

from __future__ import annotations

from collections.abc import Callable
from hashlib import blake2b

import numpy as np

from troubleshoot.reasoning.policies import Policy, entropy, likeliest_repair, look_ahead, one_step
from troubleshoot.reasoning.position import (
    REFER,
    Action,
    Branch,
    Position,
    branches,
    cost_now,
    endings,
    helpful_repairs,
    holds_any,
)
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.refusing import ProblemRefused
from troubleshoot.reasoning.repair_cost import planned_cost
from troubleshoot.reasoning.repair_plan import LEAST_COST, RepairPlan, added, found_cost, repair_plan, turn_cost
from troubleshoot.reasoning.tables import Floats, Scope, tables_of

MOST_POSITIONS = 200_000
"""Positions kept unless the caller says otherwise; about 80 MB."""

REPORT_EVERY = 200
"""Positions between two reports of progress."""

SAME = 11
"""Beliefs that agree to this many decimals count as the same."""

LEAST_BITS = 1e-10
"""A check that is expected to tell less than this is not worth trying."""

MANY_CHECKS = 25
"""With more checks than this looking ahead takes seconds a step."""

SLACK = 1e-7
"""How far above a cost that can be had the search still looks, so that rounding hides nothing."""

Key = tuple[frozenset[str], frozenset[str], frozenset[str], bytes]
Found = tuple[float, bool, Action]
"""A cost, whether it is exact (else only a lower bound), and the action that begins it."""


class TooManyPositions(ProblemRefused):
    """The exact optimum was not reached within the positions or the time allowed."""


class ExactPlan:
    """The least expected cost and the best action at every position that matters.

    `progress` is called with the number of positions worked out so far; `late` says that the time allowed is over.
    Once it or `most_positions` has ended the search, `gave_up` is true and only what was found by then is known.
    """

    def __init__(
        self,
        problem: Problem,
        most_positions: int = MOST_POSITIONS,
        progress: Callable[[int], None] | None = None,
        late: Callable[[], bool] = lambda: False,
    ) -> None:
        self.gave_up = False
        self.late = late
        self.problem = problem
        self.most_positions = most_positions
        self.progress = progress
        self.found: dict[Key, Found] = {}
        self._plans: dict[frozenset[str], RepairPlan] = {}
        self._known: dict[frozenset[str], Floats] = {}
        whole = tables_of(problem).whole
        self._touched = {repair.id: holds_any(problem, whole, repair) for repair in problem.repairs}

    def cost(self, position: Position) -> float:
        """The least expected minutes from a position on; TooManyPositions where that cannot be found."""
        return self._solve(position, np.inf)[0]

    def action(self, position: Position) -> Action | None:
        """The action that begins the optimum, or None where it was not found within what is allowed."""
        if not self.gave_up:
            try:
                return self._solve(position, np.inf)[2]
            except TooManyPositions:
                self.gave_up = True
        known = self.found.get(_key(position))
        return known[2] if known is not None and known[1] else None

    def _solve(self, position: Position, budget: float) -> Found:
        """The least cost if it is below `budget`, else a lower bound that is not."""
        key = _key(position)
        known = self.found.get(key)
        if known is not None and (known[1] or known[0] >= budget):
            return known
        if self.late():
            raise TooManyPositions("The time for the exact optimum is over.", "Allow more seconds.")
        found = self._search(position, budget)
        if known is None:
            self._make_room()
        self.found[key] = found
        return found

    def _make_room(self) -> None:
        if len(self.found) >= self.most_positions:
            raise TooManyPositions(
                f"The exact optimum needs more than {len(self.found):,} positions.",
                "Allow more, use the look-ahead policy, or leave out causes and checks that hardly matter.",
            )
        if self.progress is not None and (len(self.found) + 1) % REPORT_EVERY == 0:
            self.progress(len(self.found) + 1)

    def _search(self, position: Position, budget: float) -> Found:
        best, chosen, exact = budget, REFER, False
        if self.problem.endings:
            # Repairs alone and then an ending is a plan that can be had, so nothing dearer is of interest.
            best = min(best, self._repairs_only(position) * (1.0 + SLACK) + SLACK)
        ceiling = best
        least = np.inf
        for lower, action, ways in self._candidates(position):
            if lower >= best - LEAST_COST:
                least = min(least, lower)
                continue
            cost = self._follow(position, action, ways, best)
            if cost < best - LEAST_COST:
                best, chosen, exact = cost, action, True
            least = min(least, cost)
        return (float(best if exact else max(least, ceiling)), exact, chosen)

    def _follow(self, position: Position, action: Action, ways: tuple[Branch, ...], best: float) -> float:
        """The cost of an action and the best after it, or a lower bound as soon as it cannot beat `best`."""
        rests = [self._bound(way.position) for way in ways]
        paid = cost_now(position, action) + sum(way.probability * way.extra for way in ways)
        total = paid + sum(way.probability * rest for way, rest in zip(ways, rests, strict=True))
        for way, rest in zip(ways, rests, strict=True):
            if total >= best - LEAST_COST:
                break
            if way.position is not None:
                others = total - way.probability * rest
                total = others + way.probability * self._solve(way.position, (best - others) / way.probability)[0]
        return total

    def _candidates(self, position: Position) -> list[tuple[float, Action, tuple[Branch, ...]]]:
        """Every action that could help with a bound on its cost, the most promising first."""
        known = float(position.weights @ self._known_costs(position.repaired))
        found: list[tuple[float, float, Action, tuple[Branch, ...]]] = []
        likeliest, repairs_only = likeliest_repair(position), self._repairs_only(position)
        for repair in helpful_repairs(position):
            action = Action("repair", repair.id)
            lower = known + self._wasted(position, repair.id)
            found.append((repairs_only if repair is likeliest else np.inf, lower, action, branches(position, action)))
        for action in endings(position):
            found.append((np.inf, cost_now(position, action), action, branches(position, action)))
        now = entropy(position.weights)
        for check in self.problem.checks if now > LEAST_BITS else ():
            if check.id in position.taken:
                continue
            action = Action("check", check.id)
            ways = branches(position, action)
            left = sum(way.probability * entropy(way.position.weights) for way in ways if way.position is not None)
            if now - left > LEAST_BITS:
                cost = cost_now(position, action)
                found.append((cost + self._without_checks(ways), known + cost, action, ways))
        found.sort(key=lambda candidate: candidate[0])
        return [(lower, action, ways) for _, lower, action, ways in found]

    def _repairs_only(self, position: Position) -> float:
        """The cost of going on by repairs alone."""
        if position.repaired not in self._plans:
            self._plans[position.repaired] = repair_plan(self.problem, position.repaired)
        return planned_cost(self._plans[position.repaired], position.scope, position.weights)

    def _without_checks(self, ways: tuple[Branch, ...]) -> float:
        """The expected cost of going on by repairs alone after each way; a good guess for what to try first."""
        return sum(way.probability * self._repairs_only(way.position) for way in ways if way.position is not None)

    def _wasted(self, position: Position, repair: str) -> float:
        """What a repair costs in the states it does nothing for; the rest of it is in the known cost."""
        idle = 1.0 - float(position.weights @ self._touched[repair])
        return idle * turn_cost(self.problem, self.problem.repair_named[repair])

    def _bound(self, position: Position | None) -> float:
        """What it would cost at least if the fault were known, after the first action."""
        if position is None:
            return 0.0
        known = self.found.get(_key(position))
        if known is not None:
            return known[0]
        problem = self.problem
        first = [self._wasted(position, repair.id) for repair in problem.repairs if repair.id not in position.repaired]
        first += [
            cost_now(position, Action("check", check.id)) for check in problem.checks if check.id not in position.taken
        ]
        cost = float(position.weights @ self._known_costs(position.repaired))
        bound = cost + max(0.0, min(first, default=0.0))
        return min([bound, *(cost_now(position, action) for action in endings(position))]) if problem.endings else bound

    def _known_costs(self, repaired: frozenset[str]) -> Floats:
        if repaired not in self._known:
            self._known[repaired] = known_costs(self.problem, repaired)
        return self._known[repaired]


def known_costs(problem: Problem, repaired: frozenset[str] = frozenset(), scope: Scope | None = None) -> Floats:
    """For every state what ending the concern costs at least if it is known: the dearest repair that it needs.

    Or an ending, where that costs less, also one after the repair of one of two causes.
    """
    tables = tables_of(problem)
    within = scope or tables.whole
    space, n = within.space, len(problem.causes)
    ends = np.full((n, n), np.inf)
    for one in problem.endings:
        adds = added(problem, one.adds)
        ends = np.minimum(ends, one.minutes + adds[:, None] + adds)
        np.fill_diagonal(ends, np.minimum(np.diagonal(ends), one.minutes + adds))
    alone = np.diagonal(ends).copy()
    cheapest = np.full(n, np.inf)
    for repair in problem.repairs:
        if repair.id in repaired:
            continue
        cost = turn_cost(problem, repair) + found_cost(problem, repair)
        for cause, takes in repair.cures.items():
            at = tables.index[cause]
            if takes > 0.0:
                cheapest[at] = min(cheapest[at], cost + repair.adds.get(cause, 0.0))
    first, second = space.cause_of[space.pair_first], space.cause_of[space.pair_second]
    after_one = np.minimum(cheapest[first] + alone[second], cheapest[second] + alone[first])
    ended = np.minimum(ends[first, second], after_one)
    each = np.minimum(cheapest, alone)
    each[np.isinf(each)] = 0.0
    costs: Floats = -space.fold_minimum(-each[space.cause_of], 0.0)
    only_first, only_second = within.only_first, within.only_second
    unknown = np.isinf(cheapest) & np.isinf(alone)
    dear = np.where(unknown, 0.0, cheapest)
    costs[space.pairs] = (
        _part(1.0 - only_first - only_second, np.minimum(np.maximum(dear[first], dear[second]), ended))
        + _part(only_first, np.minimum(dear[first], ended))
        + _part(only_second, np.minimum(dear[second], ended))
    )
    if problem.costs_by_state:
        costs[space.triples] = 0.0
    return costs


def _part(share: Floats, cost: Floats) -> Floats:
    return np.where(share > 0.0, share, 0.0) * np.where(share > 0.0, cost, 0.0)


def exact(plan: ExactPlan) -> Policy:
    """The optimum as a policy; it works positions out as they are asked for.

    Where it gave up it looks ahead, and among many checks, as a tree has, goes by worth alone.
    """
    otherwise = look_ahead() if len(plan.problem.checks) <= MANY_CHECKS else one_step
    return lambda position: plan.action(position) or otherwise(position)


def _key(position: Position) -> Key:
    # Adding zero turns -0.0 into 0.0, which would otherwise differ in its bytes.
    seen = blake2b((np.round(position.weights, SAME) + 0.0).tobytes(), digest_size=16).digest()
    return position.taken, position.repaired, position.in_place, seen
