"""The expected cost of mending the car by repairs alone, in the order of probability over cost.

With repairs done in an order pi, c_k the cost of one and T the cost of all with the referral, a
state S costs everything up to the last repair it needs when all of those take, and T when one does
not:  C(S) = T - (prod r_i) * min over i in S of tail_i,  where tail_i is what remains after the
repair of cause i and r_i the probability that it takes. Summed over the belief this is
sum over k of c_k * P(not all faults are among the first k - 1), exactly.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.repair_plan import LEAST_COST, RepairPlan, repair_plan
from troubleshoot.reasoning.tables import Floats, Indices

SMALL_BATCH = 16
"""Up to this many entries a batch of orders is sorted with ties in the problem's order."""


def best_order(plan: RepairPlan, marginals: Floats) -> Indices:
    """Entries in descending probability over cost, the referral last; works on leading axes.

    Equal entries keep the problem's order, except in large batches, where only the cost matters and a
    faster sort is used.
    """
    chances = plan.by_entry(marginals * plan.takes)
    behind = np.ones((*chances.shape[:-1], len(plan.cost)))
    np.divide(chances, -np.maximum(plan.cost[:-1], LEAST_COST), out=behind[..., :-1])
    large = behind.ndim > 1 and behind.shape[-1] > SMALL_BATCH
    order: Indices = np.argsort(behind, axis=-1, kind="quicksort" if large else "stable")
    return order


def tails(plan: RepairPlan, order: Indices) -> Floats:
    """For every cause what is left to pay after the entry that mends it; works on leading axes."""
    costs = plan.cost[order]
    after = plan.total - np.cumsum(costs, axis=-1)
    after[..., -1] = 0.0
    by_entry = np.empty(costs.shape)
    np.put_along_axis(by_entry, order, after, axis=-1)
    by_cause: Floats = by_entry[..., plan.entry]
    return by_cause


def most_retained(plan: RepairPlan, weights: Floats) -> Floats:
    """For each row of weights the greatest sum of weight times tail over all orders of the repairs.

    With one fault at a time probability over cost is the best order (W. E. Smith, Naval Research Logistics
    Quarterly 3, 1956, from memory), so one sort of a row answers for every order there is.
    """
    by_entry = np.ascontiguousarray(plan.by_entry(weights))
    cost = plan.cost[:-1]
    order = _least_first(by_entry / np.maximum(cost, LEAST_COST))
    # A triangle of ones sums up what is paid after each entry, quicker than a running sum.
    later = cost.take(order) @ np.triu(np.ones((len(cost), len(cost))), 1) + plan.cost[-1]
    order += (np.arange(len(order)) * len(cost))[:, None]
    most: Floats = np.einsum("re,re->r", by_entry.ravel().take(order), later)
    return most


def _least_first(ratio: Floats) -> Indices:
    """The columns of each row in ascending order of their number, none negative.

    The column is put in the last bits of the number, where it decides only between equals, for numpy sorts numbers
    several times faster than it finds their order.
    """
    columns = ratio.shape[1]
    mask = (1 << columns.bit_length()) - 1
    keys = np.maximum(ratio, 0.0).view(np.int64)
    keys &= ~mask
    keys |= np.arange(columns)
    keys.sort(axis=1)
    keys &= mask
    order: Indices = keys
    return order


def expected_repair_cost(problem: Problem, belief: Belief, repaired: Collection[str] = ()) -> float:
    """Minutes to mend the car by repairs alone in the order of probability over cost.

    A state with nothing wrong costs nothing. `repaired` are repairs that are not to be made again.
    """
    return planned_cost(problem, repair_plan(problem, repaired), belief.weights)


def planned_cost(problem: Problem, plan: RepairPlan, weights: Floats) -> float:
    """The same for weights over the states and a plan made before."""
    space = problem.tables.space
    tail = tails(plan, best_order(plan, space.marginals(weights)))
    spent = plan.total - space.fold_product(plan.takes) * space.fold_minimum(tail, plan.total)
    found = weights @ found_by_state(problem, plan) if plan.found.any() else 0.0
    return float(weights @ spent + found)


def found_by_state(problem: Problem, plan: RepairPlan) -> Floats:
    """What the repairs that look first cost in every state: each is paid when its cause is there."""
    space = problem.tables.space
    paid = np.zeros(space.size)
    for at in np.flatnonzero(plan.found):
        paid += plan.found[at] * (1.0 - space.fold_product((plan.entry != at).astype(np.float64)))
    return paid
