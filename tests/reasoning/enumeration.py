"""Belief and repair cost by brute force, written apart from the engine: sets, loops and fractions of plain Python."""

from __future__ import annotations

from itertools import combinations, product
from math import prod


def all_states(problem):
    ids = [cause.id for cause in problem.causes]
    for size in range(problem.most_at_once + 1):
        yield from (frozenset(group) for group in combinations(ids, size))


def prior_of(problem, state):
    weight = prod(c.prior if c.id in state else 1 - c.prior for c in problem.causes)
    for k, leak in enumerate(problem.leak):
        weight *= 1 - (1 - leak) * prod(1 - c.shows[k] for c in problem.causes if c.id in state)
    return weight


def outcome_chance(check, outcome, state):
    """Let every cause in the state that moves the check draw its own outcome; of those that pushed, one wins evenly."""
    movers = sorted(cause for cause in state if cause in check.moved_by)
    if not movers:
        return check.usual[check.outcomes.index(outcome)]
    total = 0.0
    for draws in product(range(len(check.outcomes)), repeat=len(movers)):
        chance = prod(check.moved_by[m][d] for m, d in zip(movers, draws, strict=True))
        pushed = [check.outcomes[d] for d in draws if check.outcomes[d] != check.normal]
        if not pushed:
            total += chance * (outcome == check.normal)
        else:
            total += chance * pushed.count(outcome) / len(pushed)
    return total


def reading_chance(problem, evidence, state):
    check = next(c for c in problem.checks if c.id == evidence.check)
    return sum(s * outcome_chance(check, o, state) for s, o in zip(evidence.shares, check.outcomes, strict=True))


def posterior(problem, readings):
    """State -> probability; every reading of its own group, so that nothing is discounted."""
    weights = {s: prior_of(problem, s) for s in all_states(problem)}
    for reading in readings:
        weights = {s: w * reading_chance(problem, reading, s) for s, w in weights.items()}
    total = sum(weights.values())
    return {s: w / total for s, w in weights.items()}


def marginal(weights, cause):
    return sum(w for s, w in weights.items() if cause in s)


def repair_cost(problem, weights):
    """Walk the repairs in the order of probability over cost, for one repair a cause, by the definition."""
    repairs = {cause.id: next((r for r in problem.repairs if r.id == cause.repair), None) for cause in problem.causes}
    listed = [c.id for c in problem.causes if repairs[c.id] is not None and c.id != problem.something_else]
    takes = {c: repairs[c].cures[c] for c in listed}
    price = {c: problem.cost(repairs[c].minutes, repairs[c].parts) for c in listed}
    order = sorted(listed, key=lambda c: -marginal(weights, c) * takes[c] / price[c])
    total = 0.0
    for state, weight in weights.items():
        if not state:
            continue
        not_mended_yet = 1.0
        for at, cause in enumerate(order):
            total += weight * price[cause] * not_mended_yet
            done = set(order[: at + 1])
            not_mended_yet = 1 - prod(takes[c] for c in state if c in listed) if state <= done else 1.0
        total += weight * problem.referral_minutes * not_mended_yet
    return total
