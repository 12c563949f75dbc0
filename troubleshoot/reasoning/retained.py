"""The heart of worth: what is retained of the total cost when repairs stop as soon as the car is mended.

For weights V over the states, retained(V) = sum over S of V(S) * (prod r_i) * min tail_i, in the
repair order that V itself gives. The expected repair cost is a constant less this, so a check saves
sum over outcomes of retained(V * L_o) - retained(V). With all pairs of n causes this is, for each
outcome, a bilinear form in the matrix H * min(tail_i, tail_j) (H the pair weights), which keeps
everything in matrix products.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.check_rows import CheckRows
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.repair_cost import best_order, tails
from troubleshoot.reasoning.repair_plan import RepairPlan
from troubleshoot.reasoning.tables import Floats, Indices

AT_A_TIME = 16
"""Rows worked out side by side, so that their pair matrices stay in the processor's cache."""

MANY_ROWS = 32
"""From so many rows on it is quicker to go cause by cause than row by row."""

NEGLIGIBLE = 1e-9
"""Causes whose marginals together stay below this are left out; the error is below this times the total cost."""


class Retained:
    """One belief, laid out for evaluating many outcomes."""

    def __init__(self, problem: Problem, belief: Belief, plan: RepairPlan) -> None:
        self.problem = problem
        self.belief = belief
        self.plan = plan
        space = problem.tables.space
        self.live = _live(belief.marginals)
        weights = belief.weights
        matrix = np.zeros((space.n, space.n))
        matrix[space.pair_first, space.pair_second] = weights[space.pairs]
        matrix += matrix.T
        self.single = weights[space.singles][self.live]
        self.pair = np.ascontiguousarray(matrix[np.ix_(self.live, self.live)])
        takes = plan.takes[self.live]
        self.pair_kept = 0.5 * self.pair * np.outer(takes, takes)
        self.single_kept = self.single * takes
        self.has_pairs = bool(self.pair.any())

    @cached_property
    def tail_now(self) -> Floats:
        """The tails of the live causes in the order that the belief gives."""
        marginals = np.zeros(len(self.plan.entry))
        marginals[self.live] = self.single + self.pair.sum(axis=1)
        return tails(self.plan, best_order(self.plan, marginals))[self.live]

    def now(self) -> float:
        """What is retained with no further check."""
        if len(self.problem.tables.space.triple_first):
            return self._general(np.ones_like(self.belief.weights))
        tail = self.tail_now
        pairs = self.pair_kept * np.minimum(tail[:, None], tail[None, :])
        return float(self.single_kept @ tail + pairs.sum())

    def after(self, rows: Indices, keep: Floats) -> Floats:
        """What is retained after the outcome of each row; `keep` is the share of its evidence that is new.

        The likelihood used is keep * P(outcome | state) + (1 - keep) * P(outcome): with the rest of
        its weight a second look at the same thing says again what is known.
        """
        if len(self.problem.tables.space.triple_first):
            return np.array([self._general_row(int(row), float(k)) for row, k in zip(rows, keep, strict=True)])
        terms = Terms.cut(self.problem.check_rows, rows, self.live)
        one_cause = self.single * terms.single
        with_another = terms.halves(self.pair)
        mixed = one_cause + with_another
        fresh = bool((keep == 1.0).all())
        outcome = np.zeros(len(rows))
        if not fresh:
            usual = self.belief.none * self.problem.check_rows.usual[rows]
            outcome = one_cause.sum(axis=1) + 0.5 * with_another.sum(axis=1) + usual
            known = self.single + self.pair.sum(axis=1)
            mixed = keep[:, None] * mixed + np.outer((1.0 - keep) * outcome, known)
        tail = self._tails(mixed)
        values, known_values = self._sums(tail, terms, fresh)
        return values if fresh else keep * values + (1.0 - keep) * outcome * known_values

    def _tails(self, live_marginals: Floats) -> Floats:
        """For each row of marginals of the live causes, their tails in the order it gives."""
        if len(self.live) == len(self.plan.entry):
            return tails(self.plan, best_order(self.plan, live_marginals))
        marginals = np.zeros((len(live_marginals), len(self.plan.entry)))
        marginals[:, self.live] = live_marginals
        return tails(self.plan, best_order(self.plan, marginals))[:, self.live]

    def _sums(self, tail: Floats, terms: Terms, fresh: bool) -> tuple[Floats, Floats]:
        """For each row, the weight of its outcome times the least tail, summed over the states.

        The second answer is the same without the outcome; it is only worked out when not `fresh`.
        """
        values: Floats = (tail * terms.single) @ self.single_kept
        known: Floats = tail @ self.single_kept
        if self.has_pairs:
            add = self._add_pairs_by_cause if len(tail) >= MANY_ROWS else self._add_pairs_by_row
            add(tail, terms, values, None if fresh else known)
        return values, known

    def _add_pairs_by_row(self, tail: Floats, terms: Terms, values: Floats, known: Floats | None) -> None:
        """Add what the pairs bring to each row, row by row: quicker for few rows."""
        # pair_kept holds half the weight of a pair, for each is met twice.
        sides = np.stack([terms.beta, terms.z, np.ones_like(tail)][: 2 if known is None else 3], axis=1)
        for begin in range(0, len(tail), AT_A_TIME):
            rows = slice(begin, begin + AT_A_TIME)
            least = np.minimum(tail[rows, :, None], tail[rows, None, :])
            least *= self.pair_kept
            summed = sides[rows] @ least
            values[rows] += np.einsum("rc,rc->r", terms.alpha[rows], summed[:, 0])
            values[rows] += terms.gamma[rows] * np.einsum("rc,rc->r", terms.z[rows], summed[:, 1])
            if known is not None:
                known[rows] += summed[:, 2].sum(axis=1)

    def _add_pairs_by_cause(self, tail: Floats, terms: Terms, values: Floats, known: Floats | None) -> None:
        """Add the same cause by cause: rows run along the last axis, so that each step works on a long stretch."""
        tail_of, alpha, beta, z = (np.ascontiguousarray(part.T) for part in (tail, terms.alpha, terms.beta, terms.z))
        mine = np.stack([alpha, beta, 2.0 * terms.gamma * z], axis=1)
        others = np.stack([beta, alpha, z])
        for i in range(len(tail_of) - 1):
            # Each pair is met once here, and pair_kept holds half its weight.
            least = np.minimum(tail_of[i], tail_of[i + 1 :])
            least *= self.pair_kept[i, i + 1 :, None]
            values += (mine[i] * np.einsum("jk,cjk->ck", least, others[:, i + 1 :])).sum(axis=0)
            if known is not None:
                known += 2.0 * least.sum(axis=0)

    def _general_row(self, row: int, keep: float) -> float:
        """The same for one row by going through every state; used when three causes may be present."""
        at = int(np.searchsorted(self.problem.check_rows.first, row, side="right")) - 1
        table = self.problem.tables.checks[self.problem.checks[at].id]
        shares = np.zeros(len(table.u))
        shares[row - int(self.problem.check_rows.first[at])] = 1.0
        likelihood = table.likelihood(self.problem.tables.space, shares)
        mean = float(likelihood @ self.belief.weights)
        return self._general(keep * likelihood + (1.0 - keep) * mean)

    def _general(self, likelihood: Floats) -> float:
        space, weights = self.problem.tables.space, self.belief.weights * likelihood
        tail = tails(self.plan, best_order(self.plan, space.marginals(weights)))
        return float(weights @ (space.fold_product(self.plan.takes) * space.fold_minimum(tail, 0.0)))


@dataclass(frozen=True)
class Terms:
    """The rows being evaluated, cut down to the causes that still matter."""

    alpha: Floats
    beta: Floats
    z: Floats
    single: Floats
    gamma: Floats

    @classmethod
    def cut(cls, table: CheckRows, rows: Indices, live: Indices) -> Terms:
        """Take some rows of a table and the columns of the live causes."""
        whole = len(live) == table.alpha.shape[1]
        cut = rows if whole else np.ix_(rows, live)
        return cls(table.alpha[cut], table.beta[cut], table.z[cut], table.single[cut], table.gamma[rows])

    def halves(self, pair: Floats) -> Floats:
        """For each row and cause the weight of the outcome with that cause and one other."""
        both: Floats = 0.5 * (self.alpha * (self.beta @ pair) + self.beta * (self.alpha @ pair))
        both += self.gamma[:, None] * self.z * (self.z @ pair)
        return both


def _live(marginals: Floats) -> Indices:
    """The causes that are left when those of negligible weight go, in the problem's order."""
    order = np.argsort(marginals, kind="stable")
    gone = int(np.searchsorted(np.cumsum(marginals[order]), NEGLIGIBLE, side="right"))
    return np.sort(order[gone:])
