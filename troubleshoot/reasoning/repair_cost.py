"""The expected cost of mending the car by repairs alone, in the order of probability over cost.

With repairs done in an order pi, c_k the cost of one and T the cost of all with the referral, a
state S costs everything up to the last repair it needs when all of those take, and T when one does
not:  C(S) = T - (prod r_i) * min over i in S of tail_i,  where tail_i is what remains after the
repair of cause i and r_i the probability that it takes. Summed over the belief this is
sum over k of c_k * P(not all faults are among the first k - 1), exactly.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.problem import Cause, Problem, Repair
from troubleshoot.reasoning.tables import Floats, Indices

SMALL_BATCH = 16
"""Up to this many entries a batch of orders is sorted with ties in the problem's order."""

LEAST_COST = 1e-9
"""Stands in for a cost of zero, so that a free repair comes first and nothing divides by zero."""


@dataclass(frozen=True)
class RepairPlan:
    """Which entry of the list of repairs mends each cause, and what each entry costs.

    The last entry is always the referral. `cost` is paid when an entry's turn comes; `found` is
    paid besides when it is looked at first and found bad. `takes[i]` is the probability that the
    entry of cause i mends it.
    """

    repairs: tuple[str | None, ...]
    cost: Floats
    found: Floats
    entry: Indices
    takes: Floats

    @property
    def total(self) -> float:
        """The cost of everything, the referral with it."""
        return float(self.cost.sum())

    @cached_property
    def only_cause(self) -> Indices | None:
        """The one cause of each entry before the referral; None when some entry mends several."""
        mended = np.flatnonzero(self.entry < len(self.cost) - 1)
        if len(mended) != len(self.cost) - 1:
            return None
        by_entry: Indices = mended[np.argsort(self.entry[mended])]
        return by_entry

    def by_entry(self, per_cause: Floats) -> Floats:
        """Sums of a number per cause over the causes of each entry before the referral; works on leading axes."""
        if self.only_cause is not None:
            return per_cause[..., self.only_cause]
        size = len(self.cost)
        if per_cause.ndim == 1:
            return np.bincount(self.entry, per_cause, size)[:-1].astype(np.float64)
        matrix = np.zeros((len(self.entry), size))
        matrix[np.arange(len(self.entry)), self.entry] = 1.0
        sums: Floats = (per_cause @ matrix)[..., :-1]
        return sums


def repair_plan(problem: Problem, repaired: Collection[str] = ()) -> RepairPlan:
    """The repairs still to be had, one for each cause; a cause that has none left is referred."""
    left = [repair for repair in problem.repairs if repair.id not in repaired]
    by_id = {repair.id: repair for repair in left}
    chosen = [_repair_for(problem, cause, by_id) for cause in problem.causes]
    needed = {choice.id for choice in chosen if choice is not None}
    used = [repair for repair in left if repair.id in needed]
    number = {repair.id: at for at, repair in enumerate(used)}
    last = len(used)
    entry = [last if choice is None else number[choice.id] for choice in chosen]
    takes = [
        1.0 if choice is None else choice.cures[cause.id] for cause, choice in zip(problem.causes, chosen, strict=True)
    ]
    return RepairPlan(
        (*(repair.id for repair in used), None),
        np.array([*(turn_cost(problem, repair) for repair in used), problem.referral_minutes]),
        np.array([*(found_cost(problem, repair) for repair in used), 0.0]),
        np.array(entry, dtype=np.intp),
        np.array(takes),
    )


def turn_cost(problem: Problem, repair: Repair) -> float:
    """What it costs when a repair's turn comes, whatever is found."""
    return repair.look_minutes if repair.looks_first else problem.cost(repair.minutes, repair.parts)


def found_cost(problem: Problem, repair: Repair) -> float:
    """What a repair that looks first costs besides when it finds one of its causes."""
    return problem.cost(repair.minutes, repair.parts) if repair.looks_first else 0.0


def _repair_for(problem: Problem, cause: Cause, left: Mapping[str, Repair]) -> Repair | None:
    """The cause's own repair, or the one that mends it for the least cost over probability, or none."""
    if cause.id == problem.something_else:
        return None
    if cause.repair is not None and cause.repair in left:
        return left[cause.repair]
    able = [repair for repair in left.values() if repair.cures.get(cause.id, 0.0) > 0.0]
    return min(
        able,
        key=lambda repair: problem.cost(repair.minutes, repair.parts) / repair.cures[cause.id],
        default=None,
    )


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
    by_entry = plan.by_entry(weights)
    cost = plan.cost[:-1]
    order = np.argsort(by_entry / -np.maximum(cost, LEAST_COST), axis=-1)
    after = plan.total - np.cumsum(cost[order], axis=-1)
    # One flat index is several times faster than np.take_along_axis.
    order += (np.arange(len(order)) * len(cost))[:, None]
    most: Floats = np.einsum("re,re->r", by_entry.ravel().take(order), after)
    return most


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
