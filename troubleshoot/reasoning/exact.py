"""The optimum of a small problem, by dynamic programming over everything that can be known.

At each position the least expected cost is the least, over all actions, of the action's cost and
the expected least cost after it. Positions that come to the same (what has been done and what is
believed, in whatever order) are worked out once. An action is given up as soon as its cost so far
and a bound on the rest, what it would cost if the fault were known, reach the best found.
"""

from __future__ import annotations

from collections.abc import Callable
from hashlib import blake2b

import numpy as np

from troubleshoot.reasoning.policies import Policy, entropy, likeliest_repair
from troubleshoot.reasoning.position import (
    REFER,
    Action,
    Branch,
    Position,
    branches,
    cost_now,
    helpful_repairs,
    may_refer,
)
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.refusing import ProblemRefused
from troubleshoot.reasoning.repair_cost import LEAST_COST, found_cost, turn_cost
from troubleshoot.reasoning.tables import Floats

MOST_POSITIONS = 200_000
"""Positions kept unless the caller says otherwise; about 60 MB."""

REPORT_EVERY = 1000
"""Positions between two reports of progress."""

SAME = 11
"""Beliefs that agree to this many decimals count as the same."""

LEAST_BITS = 1e-10
"""A check that is expected to tell less than this is not worth trying."""


class TooManyPositions(ProblemRefused):
    """The problem is too large for the exact optimum within the memory allowed."""


class ExactPlan:
    """The least expected cost and the best action at every position that matters.

    `progress` is called with the number of positions worked out so far.
    """

    def __init__(
        self,
        problem: Problem,
        most_positions: int = MOST_POSITIONS,
        progress: Callable[[int], None] | None = None,
    ) -> None:
        self.problem = problem
        self.most_positions = most_positions
        self.progress = progress
        self.solved: dict[tuple[frozenset[str], frozenset[str], frozenset[str], bytes], tuple[float, Action]] = {}
        self._bounds: dict[frozenset[str], Floats] = {}

    def cost(self, position: Position) -> float:
        """The least expected minutes from a position on."""
        return self._solve(position)[0]

    def action(self, position: Position) -> Action:
        """The action that begins the optimum."""
        return self._solve(position)[1]

    def _solve(self, position: Position) -> tuple[float, Action]:
        key = _key(position)
        known = self.solved.get(key)
        if known is None:
            known = self._search(position)
            self._remember(key, known)
        return known

    def _remember(
        self, key: tuple[frozenset[str], frozenset[str], frozenset[str], bytes], found: tuple[float, Action]
    ) -> None:
        if len(self.solved) >= self.most_positions:
            raise TooManyPositions(
                f"The exact optimum needs more than {self.most_positions:,} positions.",
                "Use the look-ahead policy, or leave out causes and checks that hardly matter.",
            )
        self.solved[key] = found
        if self.progress is not None and len(self.solved) % REPORT_EVERY == 0:
            self.progress(len(self.solved))

    def _search(self, position: Position) -> tuple[float, Action]:
        best, chosen = np.inf, REFER
        bound = self._bound(position)
        for action, ways in self._candidates(position):
            cost = cost_now(position, action) + sum(way.probability * way.extra for way in ways)
            rest = sum(way.probability * self._bound(way.position) for way in ways)
            for way in ways:
                if cost + rest >= best - LEAST_COST:
                    break
                if way.position is not None:
                    rest -= way.probability * self._bound(way.position)
                    cost += way.probability * self._solve(way.position)[0]
            else:
                if cost < best - LEAST_COST:
                    best, chosen = cost, action
            if best <= bound + LEAST_COST:
                break
        return float(best), chosen

    def _candidates(self, position: Position) -> list[tuple[Action, tuple[Branch, ...]]]:
        """Every action that could help, the most promising first, with the ways it can turn out."""
        found = []
        likeliest = likeliest_repair(position)
        for repair in helpful_repairs(position):
            action = Action("repair", repair.id)
            found.append((-1.0 if repair is likeliest else 1.0, action, branches(position, action)))
        if may_refer(position):
            found.append((2.0, REFER, branches(position, REFER)))
        now = entropy(position.weights)
        for check in self.problem.checks if now > LEAST_BITS else ():
            if check.id in position.taken:
                continue
            action = Action("check", check.id)
            ways = branches(position, action)
            left = sum(way.probability * entropy(way.position.weights) for way in ways if way.position is not None)
            if now - left > LEAST_BITS:
                found.append((-(now - left) / max(cost_now(position, action), LEAST_COST), action, ways))
        found.sort(key=lambda candidate: candidate[0])
        return [(action, ways) for _, action, ways in found]

    def _bound(self, position: Position | None) -> float:
        """What it would cost at least if the fault were known."""
        if position is None:
            return 0.0
        if position.repaired not in self._bounds:
            self._bounds[position.repaired] = self._known_cost(position.repaired)
        return float(position.weights @ self._bounds[position.repaired])

    def _known_cost(self, repaired: frozenset[str]) -> Floats:
        """For every state the cost of the dearest of the cheapest repairs of its causes."""
        problem = self.problem
        last = problem.referral_minutes
        cheapest = np.full(len(problem.causes), last if last > 0.0 else np.inf)
        for repair in problem.repairs:
            if repair.id in repaired:
                continue
            cost = turn_cost(problem, repair) + found_cost(problem, repair)
            for cause, takes in repair.cures.items():
                at = problem.tables.index[cause]
                if takes > 0.0:
                    cheapest[at] = min(cheapest[at], cost)
        cheapest[np.isinf(cheapest)] = 0.0
        return -problem.tables.space.fold_minimum(-cheapest, 0.0)


def exact(plan: ExactPlan) -> Policy:
    """The optimum as a policy; it works positions out as they are asked for."""
    return plan.action


def _key(position: Position) -> tuple[frozenset[str], frozenset[str], frozenset[str], bytes]:
    # Adding zero turns -0.0 into 0.0, which would otherwise differ in its bytes.
    seen = blake2b((np.round(position.weights, SAME) + 0.0).tobytes(), digest_size=16).digest()
    return position.taken, position.repaired, position.in_place, seen
