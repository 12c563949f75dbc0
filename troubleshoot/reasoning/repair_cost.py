"""The expected cost of ending the concern by repairs alone, in the order of probability over cost.

Repairs are made in an order until it pays more to refer the car. A state ends with the last repair that it needs, when
all of those take; else it goes on to the referral. What it needs is what was complained of: of two causes both, or only
the one from which all of the concern comes (`Scope.only_first`, `only_second`); the other may stay. So every state
counts for one entry, the last that it needs, with the probability that all take. With w_1, w_2 ... these weights in the
order, c_1, c_2 ... the costs, W the weight of everything and R the cost of the referral, repairs up to the k-th cost

    sum over l <= k of c_l (W - w_1 - ... - w_(l-1))  +  R (W - w_1 - ... - w_k)

and k is where that is least. For one fault that each repair cures for certain, and no referral, it is the rule of
Heckerman, Breese and Rommelse (CACM 38(3), 1995).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np

from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.repair_plan import LEAST_COST, RepairPlan, repair_plan
from troubleshoot.reasoning.states import Floats, Indices
from troubleshoot.reasoning.tables import Scope

SMALL_BATCH = 16
"""Up to this many entries a batch of orders is sorted with ties in the problem's order."""


@dataclass(frozen=True)
class Order:
    """Orders of the entries before the referral, one a row, and the place of each cause in them.

    The place of a cause that no entry cures is past the last.
    """

    entries: Indices
    place: Indices


def best_order(plan: RepairPlan, chances: Floats, first: int | None = None) -> Order:
    """Return the entries in descending chance over cost, but `first` before all; works on rows.

    `chances` are, for each cause, the weight of what needs its repair and is cured. Equal entries keep the problem's
    order, except in large batches, where only the cost matters.
    """
    by_entry, cost = plan.by_entry(chances), plan.cost[:-1]
    rows, size = by_entry.shape
    ratio = by_entry / np.maximum(cost, LEAST_COST)
    if first is not None:
        ratio[:, first] = np.inf
    entries = _least_first(ratio)[:, ::-1] if rows > SMALL_BATCH else np.argsort(-ratio, axis=1, kind="stable")
    place = np.empty((rows, size + 1), dtype=np.intp)
    np.put_along_axis(place, entries, np.broadcast_to(np.arange(size), (rows, size)), axis=1)
    place[:, -1] = size
    return Order(entries, place[:, plan.entry])


def costs_of_stops(plan: RepairPlan, entries: Indices, weights: Floats, total: Floats) -> Floats:
    """Return for each row what it costs to refer after none, one, two ... of its ordered entries.

    `weights` are, for each cause, the weight that ends with its repair; `total` is that of everything.
    """
    return _costs(plan, entries, np.take_along_axis(plan.by_entry(weights), entries, 1), total)


def _costs(plan: RepairPlan, entries: Indices, by_entry: Floats, total: Floats) -> Floats:
    left = np.empty((by_entry.shape[0], by_entry.shape[1] + 1))
    left[:, 0] = total
    np.subtract(total[:, None], np.cumsum(by_entry, axis=1), out=left[:, 1:])
    costs = plan.referral * left
    costs[:, 1:] += np.cumsum(plan.cost[entries] * left[:, :-1], axis=1)
    return costs


def stops(plan: RepairPlan, costs: Floats) -> Indices:
    """Return for each row how many repairs are made; all where the referral has no price."""
    if not plan.ends:
        return np.full(len(costs), costs.shape[1] - 1, dtype=np.intp)
    found: Indices = np.argmin(costs, axis=1)
    return found


def least_cost(plan: RepairPlan, weights: Floats, total: Floats) -> Floats:
    """Return for each row of weights the least cost over all orders and stops, each weight needing one cause.

    With one fault at a time probability over cost is the best order (W. E. Smith, Naval Research Logistics
    Quarterly 3, 1956, from memory). What is made before the referral is a prefix of it: if an entry pays before the
    referral, so does every one of a better ratio.
    """
    by_entry = plan.by_entry(weights)
    order = _least_first(by_entry / np.maximum(plan.cost[:-1], LEAST_COST))[:, ::-1]
    costs = costs_of_stops(plan, order, weights, total)
    return costs[:, -1] if plan.referral <= 0.0 else costs.min(axis=1)


def _least_first(ratio: Floats) -> Indices:
    """Return the columns of each row in ascending order of their number, none negative.

    The column is put in the last bits of the number, where it decides only between equals, for numpy sorts numbers
    several times faster than it finds their order.
    """
    columns = ratio.shape[1]
    mask = (1 << columns.bit_length()) - 1
    keys = np.maximum(ratio, 0.0).astype(np.float64).view(np.int64)
    keys &= ~mask
    keys |= np.arange(columns)
    keys.sort(axis=1)
    keys &= mask
    order: Indices = keys
    return order


def ordered_costs(
    plan: RepairPlan, alone: Floats, kept: Floats, total: Floats, first: int | None = None
) -> tuple[Order, Floats]:
    """Return the best order of each row, with `first` before all, and the costs of ending after so many of its entries.

    `alone` is the weight that needs the repair of each cause only, `kept` a symmetric matrix of what needs two and is
    cured by both; what needs two ends with the later of them.
    """
    ends = alone * plan.takes
    order = best_order(plan, ends + kept @ np.ones(kept.shape[-1]), first)
    # Small numbers are compared several times faster. Where one repair cures both, half is counted with each.
    place = order.place.astype(np.int16)
    twice_later = (place[:, :, None] > place[:, None, :]).view(np.int8) + (place[:, :, None] >= place[:, None, :]).view(
        np.int8
    )
    ends += 0.5 * np.einsum("rij,rij->ri", kept, twice_later.astype(np.float64))
    return order, costs_of_stops(plan, order.entries, ends, total)


def _planned_for_pairs(
    plan: RepairPlan, scope: Scope, weights: Floats, first: int | None = None
) -> tuple[Order, Floats]:
    space = scope.space
    alone, causes = weights[space.singles].copy(), space.paired_causes
    kept = np.zeros((1, len(plan.entry), len(plan.entry)))
    if len(space.pair_first):
        square = space.square(weights)
        alone[space.paired] += np.einsum("ij,ij->i", square, scope.only)
        square *= scope.both_needed
        member = space.paired_member * plan.takes[causes]
        kept[0, causes[:, None], causes] = member.T @ (square @ member)
    total = np.array([float(weights[1:].sum())])
    return ordered_costs(plan, space.by_cause(alone)[None, :], kept, total, first)


def _needs(plan: RepairPlan, scope: Scope, weights: Floats) -> Iterator[tuple[Floats, slice, tuple[Indices, ...]]]:
    """Return the weights that repairs end, the states they are of, and the variants whose repairs each needs."""
    space = scope.space
    takes = plan.takes[space.cause_of]
    yield weights[space.singles] * takes, space.singles, (np.arange(space.n),)
    first, second = space.pair_first, space.pair_second
    pairs = weights[space.pairs]
    yield pairs * scope.only_first * takes[first], space.pairs, (first,)
    yield pairs * scope.only_second * takes[second], space.pairs, (second,)
    both = 1.0 - scope.only_first - scope.only_second
    yield pairs * both * takes[first] * takes[second], space.pairs, (first, second)
    three = (space.triple_first, space.triple_second, space.triple_third)
    yield weights[space.triples] * takes[three[0]] * takes[three[1]] * takes[three[2]], space.triples, three


def expected_repair_cost(problem: Problem, belief: Belief, repaired: Collection[str] = ()) -> float:
    """Return the minutes to end the concern by repairs alone in the order of probability over cost.

    A state with nothing wrong costs nothing, nor does one in which the concern is gone. `repaired` are repairs that are
    not to be made again.
    """
    return planned_cost(repair_plan(problem, repaired), belief.scope, belief.showing)


def planned_cost(plan: RepairPlan, scope: Scope, weights: Floats) -> float:
    """Return the same for weights over the states of a scope and a plan made before."""
    _, costs = _planned(plan, scope, weights)
    found = float(weights @ found_by_state(plan, scope)) if plan.found.any() else 0.0
    return float(costs[0, stops(plan, costs)[0]]) + found


def cost_beginning_with(plan: RepairPlan, scope: Scope, weights: Floats, first: int) -> float:
    """Return the same where the entry `first` comes before all others, whatever these weights would have first."""
    if first == len(plan.cost) - 1:
        return float(_planned(plan, scope, weights)[1][0, 0])
    _, costs = _planned(plan, scope, weights, first)
    found = float(weights @ found_by_state(plan, scope)) if plan.found.any() else 0.0
    return float(costs[0, 1:].min() if plan.ends else costs[0, -1]) + found


def first_repair(plan: RepairPlan, scope: Scope, weights: Floats) -> int:
    """Return the entry to begin with; that of the referral where nothing else pays."""
    order, costs = _planned(plan, scope, weights)
    return int(order.entries[0, 0]) if stops(plan, costs)[0] > 0 else len(plan.cost) - 1


def _planned(plan: RepairPlan, scope: Scope, weights: Floats, first: int | None = None) -> tuple[Order, Floats]:
    if not len(scope.space.triple_first) and not plan.by_state:
        return _planned_for_pairs(plan, scope, weights, first)
    return _planned_by_state(plan, scope, weights, first)


def _planned_by_state(plan: RepairPlan, scope: Scope, weights: Floats, first: int | None) -> tuple[Order, Floats]:
    """Go through every state: three may be present, or what an ending or a repair costs depends on what is there.

    What a cause adds to an ending counts after its own repair too, where another one is still there: never too little.
    """
    space, needs, needed = scope.space, list(_needs(plan, scope, weights)), np.zeros(scope.space.n)
    for weight, _, members in needs:
        for at in members:
            needed += np.bincount(at, weight, space.n)
    order = best_order(plan, space.by_cause(needed)[None, :], first)
    entries, place, entry = order.entries[0], order.place[0][space.cause_of], plan.entry[space.cause_of]
    last = []
    for weight, states, members in needs:
        ends = members[0]
        for at in members[1:]:
            ends = np.where(place[at] > place[ends], at, ends)
        last.append((weight, states, entry[ends]))

    def left(each: Floats) -> Floats:
        """Return the weight times `each` of the states that go on before each entry in turn, and after the last."""
        over = sum(np.bincount(by, weight * each[states], len(plan.cost)) for weight, states, by in last)
        return float(weights[1:] @ each[1:]) - np.concatenate([[0.0], np.cumsum(np.asarray(over)[entries])])

    goes_on = left(np.ones(space.size))
    paid = plan.cost[entries] * goes_on[:-1]
    for number, adds in plan.adds.items():
        turn = int(np.flatnonzero(entries == number)[0])
        paid[turn] += left(space.fold_sum(adds[space.cause_of]))[turn]
    costs = np.concatenate([[0.0], np.cumsum(paid)])
    if plan.endings:
        costs += np.min(
            [minutes * goes_on + left(space.fold_sum(adds[space.cause_of])) for minutes, adds in plan.endings], axis=0
        )
    else:
        costs += plan.referral * goes_on
    return order, costs[None, :]


def found_by_state(plan: RepairPlan, scope: Scope) -> Floats:
    """Return what the repairs that look first cost in every state: each is paid when its cause is there."""
    paid = np.zeros(scope.space.size)
    for at in np.flatnonzero(plan.found):
        paid += plan.found[at] * scope.space.holds(np.flatnonzero(plan.entry == at).tolist())
    return paid
