"""Belief and repair cost by brute force, written apart from the engine: sets, loops and fractions of plain Python.

A state is a frozenset of (cause, number of its variant); at most one variant of a cause.
"""

from __future__ import annotations

from itertools import combinations, product
from math import prod


def all_states(problem):
    forms = {cause.id: range(len(cause.variants)) for cause in problem.causes}
    for size in range(problem.most_at_once + 1):
        for group in combinations(forms, size):
            for chosen in product(*(forms[cause] for cause in group)):
                yield frozenset(zip(group, chosen, strict=True))


def shows_of(problem, cause, variant):
    known = problem.cause_named[cause]
    said = known.variants[variant].shows
    return known.shows if said is None else said


def prior_of(problem, state):
    weight = 1.0
    present = dict(state)
    for cause in problem.causes:
        share = cause.variants[present[cause.id]].weight if cause.id in present else 1.0
        weight *= cause.prior * share if cause.id in present else 1 - cause.prior
    for k, leak in enumerate(problem.leak):
        weight *= 1 - (1 - leak) * prod(1 - shows_of(problem, c, v)[k] for c, v in state)
    return weight


def signature(problem, check, cause, variant):
    """The distribution of a check in one variant of a cause, None where it leaves the check alone."""
    if cause not in check.moved_by:
        return None
    moved = check.moved_by[cause]
    return moved[variant] if isinstance(moved[0], tuple) or moved[0] is None else moved


def outcome_chance(problem, check, outcome, state):
    """Let every cause in the state that moves the check draw its own outcome; of those that pushed, one wins evenly."""
    said = [signature(problem, check, c, v) for c, v in sorted(state)]
    movers = [one for one in said if one is not None]
    if not movers:
        return check.usual[check.outcomes.index(outcome)]
    total = 0.0
    for draws in product(range(len(check.outcomes)), repeat=len(movers)):
        chance = prod(one[d] for one, d in zip(movers, draws, strict=True))
        pushed = [check.outcomes[d] for d in draws if check.outcomes[d] != check.normal]
        if not pushed:
            total += chance * (outcome == check.normal)
        else:
            total += chance * pushed.count(outcome) / len(pushed)
    return total


def read_chance(problem, check, outcome, state):
    """The chance of reading an outcome, the mistakes of a reader counted."""
    right = outcome_chance(problem, check, outcome, state)
    return (1 - problem.mistakes) * right + problem.mistakes / len(check.outcomes)


def reading_chance(problem, evidence, state):
    check = next(c for c in problem.checks if c.id == evidence.check)
    return sum(s * read_chance(problem, check, o, state) for s, o in zip(evidence.shares, check.outcomes, strict=True))


def posterior(problem, readings):
    """State -> probability."""
    weights = {s: prior_of(problem, s) for s in all_states(problem)}
    for reading in readings:
        weights = {s: w * reading_chance(problem, reading, s) for s, w in weights.items()}
    total = sum(weights.values())
    return {s: w / total for s, w in weights.items()}


def by_causes(weights):
    """Set of causes -> probability, their variants together."""
    found = {}
    for state, weight in weights.items():
        causes = frozenset(cause for cause, _ in state)
        found[causes] = found.get(causes, 0.0) + weight
    return found


def marginal(weights, cause):
    return sum(w for s, w in weights.items() if cause in {c for c, _ in s})


def complaints(problem, state):
    """Set of causes in the state -> chance that all of the complaint comes from just these.

    Every cause draws for each concern whether it shows it; every concern must be shown. Of three causes, and where no
    concern was heard, all count.
    """
    causes = [c for c, _ in state]
    if len(state) != 2 or not problem.concerns or problem.most_at_once > 2:
        return {frozenset(causes): 1.0}
    found = {}
    members = sorted(state)
    for draws in product(*(product((0, 1), repeat=len(problem.concerns)) for _ in members)):
        if any(not any(drawn[k] for drawn in draws) for k in range(len(problem.concerns))):
            continue
        chance = 1.0
        for (c, v), drawn in zip(members, draws, strict=True):
            chance *= prod(p if d else 1 - p for p, d in zip(shows_of(problem, c, v), drawn, strict=True))
        heard = frozenset(c for (c, _), drawn in zip(members, draws, strict=True) if any(drawn))
        found[heard] = found.get(heard, 0.0) + chance
    total = sum(found.values())
    return {heard: chance / total for heard, chance in found.items()} if total else {frozenset(causes): 1.0}


def repair_cost(problem, weights):
    """Walk the repairs in the order of probability over cost, for one repair a cause, by the definition."""
    repairs = {cause.id: next((r for r in problem.repairs if r.id == cause.repair), None) for cause in problem.causes}
    listed = [c.id for c in problem.causes if repairs[c.id] is not None and c.id != problem.something_else]
    takes = {c: repairs[c].cures[c] if c in listed else 1.0 for c in repairs}
    price = {c: problem.cost(repairs[c].minutes, repairs[c].parts) for c in listed}
    needs = {}
    for state, weight in weights.items():
        for heard, chance in complaints(problem, state).items() if state else ():
            needs[heard] = needs.get(heard, 0.0) + weight * chance
    helps = {c: sum(w * prod(takes[o] for o in heard) for heard, w in needs.items() if c in heard) for c in listed}
    order = sorted(listed, key=lambda c: -helps[c] / price[c])
    referral = problem.referral_minutes / problem.referral_cures
    lengths = range(len(order) + 1) if referral > 0.0 else [len(order)]
    return min(cost_of_order(order[:k], needs, price, takes, referral) for k in lengths)


def cost_of_order(order, needs, price, takes, referral):
    """Make these repairs one after the other until the concern ends, and then refer."""
    total = 0.0
    for heard, weight in needs.items():
        not_done_yet = 1.0
        for at, cause in enumerate(order):
            total += weight * price[cause] * not_done_yet
            done = set(order[: at + 1])
            not_done_yet = 1 - prod(takes[c] for c in heard) if heard <= done else 1.0
        total += weight * referral * not_done_yet
    return total
