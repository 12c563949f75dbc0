"""Which reading to take again: how likely each is to be grossly wrong, and what taking it again is worth.

Each reading is held against all the others (leave one out). With w_m(S) the weight of a state by everything but reading
m, L_m(S) what the reading says when it was taken rightly and q how likely its number is when it was not,

    P(m wrong) = g q W / (g q W + (1 - g) sum_S w_m(S) L_m(S)),   W = sum_S w_m(S).

Taking it again is a check whose outcome o depends on whether the first was right: if it was, the same outcome comes
again; if not, o comes as it would of a fresh reading, P(o | S). So what it saves is the cost now, begun with the repair
that the belief leads to, less

    sum_o cost of { w_m(S) [(1 - g) L_m(S) s_o + g q P(o | S)] },

and it is worth that less its minutes: it is priced against the repair it may spare.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from troubleshoot.reasoning.appraising import check_cost
from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.events import Evidence
from troubleshoot.reasoning.repair_cost import cost_beginning_with, first_repair, planned_cost
from troubleshoot.reasoning.repair_plan import repair_plan
from troubleshoot.reasoning.states import Floats
from troubleshoot.reasoning.weighing import SAFE, given_wrongly, likelihood_of, mistake_share, terms_of

LEAST_WRONG = 1 / 3
"""A reading less likely than this to be wrong is left alone."""

PROBABLY = 0.5
"""One more likely wrong than right is named whether taking it again pays or not."""

CANDIDATES = 2
"""So many of the likeliest to be wrong are priced."""


@dataclass(frozen=True)
class Doubted:
    """A reading that may be wrong: how likely, and the minutes that taking it again saves and takes."""

    check: str
    wrong: float
    saves: float
    costs: float

    @property
    def worth(self) -> float:
        """Minutes saved less minutes taken."""
        return self.saves - self.costs


def chances_wrong(belief: Belief, readings: Sequence[Evidence]) -> tuple[float, ...]:
    """Return for each reading of the epoch the probability that it is grossly wrong, given all the others.

    `belief` is that after all of them, each of another check. All are 0 in a problem without mistakes.
    """
    space = belief.scope.space
    square = space.square(belief.weights)
    beside = square.sum(axis=1)
    held_against = {reading.compared.beside for reading in readings if reading.compared is not None}
    return tuple(
        _Held(belief, reading, readings).chance_wrong
        if len(space.triple_first) or reading.check in held_against
        else _chance_wrong(belief, reading, square, beside)
        for reading in readings
    )


def _chance_wrong(belief: Belief, reading: Evidence, square: Floats, beside: Floats) -> float:
    """Return the same as `_Held.chance_wrong` from sums: only what moves the check is gone through one by one.

    `square` are the weights of pairs, `beside` its sums over rows. A pair of which one is moved has its likelihood.
    """
    space, terms = belief.scope.space, terms_of(belief.tables, [reading])
    paired = np.flatnonzero(np.isin(terms.moved, space.paired))
    inside = np.searchsorted(space.paired, terms.moved[paired])
    both = square[inside[:, None], inside]
    one_of_them = beside[inside] - both.sum(axis=1)
    single = belief.weights[space.singles]
    moved = single[terms.moved]
    moved[paired] += one_of_them
    neither = single.sum() + 0.5 * beside.sum() - moved.sum() - 0.5 * both.sum()
    weights = np.concatenate([[belief.none + neither], moved, 0.5 * both.ravel()])
    said = np.concatenate([[terms.usual], terms.alone, terms.together(paired).ravel()])
    wrongly = given_wrongly(belief.tables, reading)
    without = np.divide(weights, said, out=np.zeros_like(said), where=said > 0.0)
    wrong = _slip(belief, reading) * float(without.sum())
    right = float(without @ np.maximum(said - wrongly, 0.0))
    return wrong / (wrong + right) if wrong + right > 0.0 else 0.0


def doubted(
    belief: Belief, readings: Sequence[Evidence], in_place: Collection[str] = (), repaired: Collection[str] = ()
) -> Doubted | None:
    """Return the reading to doubt, or None: the one that is best taken again, else the one that is probably wrong.

    `readings` are those since the last repair, one of each check, `belief` that after them. `in_place` are set-ups,
    `repaired` repairs that are not to be made again.
    """
    chances = chances_wrong(belief, readings)
    likely = sorted((at for at, chance in enumerate(chances) if chance >= LEAST_WRONG), key=lambda at: -chances[at])
    priced = [_Held(belief, readings[at], readings).priced(in_place, repaired) for at in likely[:CANDIDATES]]
    best = max(priced, key=lambda one: one.worth, default=None)
    if best is None or best.worth > 0.0:
        return best
    return priced[0] if priced[0].wrong >= PROBABLY else None


def _slip(belief: Belief, reading: Evidence) -> float:
    """Return how often a gross mistake gives this reading, g q.

    What shows a cause itself decides in belief; here a slip in the list of choices is as likely as in any other, so
    that it is looked at once more where all else speaks against it.
    """
    share = mistake_share(belief.problem, reading)
    if reading.wrong is not None:
        return share * reading.wrong
    return max(given_wrongly(belief.tables, reading), share / len(reading.shares))


class _Held:
    """One reading held against all the others."""

    def __init__(self, belief: Belief, reading: Evidence, readings: Sequence[Evidence]) -> None:
        self._belief, self._reading = belief, reading
        problem = belief.problem
        self._table = belief.tables.checks[reading.check]
        wrongly = given_wrongly(belief.tables, reading)
        said = likelihood_of(problem, belief.scope, [reading])
        right = np.maximum(said - wrongly, 0.0)
        for other in readings:
            if other.compared is not None and other.compared.beside == reading.check:
                # Without this one the other is held against nothing, and counts by itself.
                alone = likelihood_of(problem, belief.scope, [replace(other, compared=None)])
                by_it = likelihood_of(problem, belief.scope, [other]) / np.maximum(alone, SAFE)
                said, right = said * by_it, right * by_it
        self._without = np.divide(1.0, said, out=np.zeros_like(said), where=said > 0.0)
        self._right = right
        self._wrong = _slip(belief, reading)
        weights = belief.weights * self._without
        wrong, taken_right = self._wrong * float(weights.sum()), float(weights @ self._right)
        self.chance_wrong = wrong / (wrong + taken_right) if wrong + taken_right > 0.0 else 0.0

    def priced(self, in_place: Collection[str], repaired: Collection[str]) -> Doubted:
        """Return what taking the reading again saves, against what it takes."""
        problem, scope = self._belief.problem, self._belief.scope
        plan, before = repair_plan(problem, repaired), self._belief.showing * self._without
        total = float((self._belief.weights * self._without) @ (self._right + self._wrong))
        # What comes next is what is believed, which is bolder about some readings than these weights are.
        begins = first_repair(plan, scope, self._belief.showing)
        now = cost_beginning_with(plan, scope, before * (self._right + self._wrong), begins)
        after = 0.0
        for share, outcome in zip(self._reading.shares, np.eye(len(self._table.u)), strict=True):
            fresh = self._wrong * self._table.likelihood(scope.space, outcome)
            after += planned_cost(plan, scope, before * (share * self._right + fresh))
        costs = check_cost(problem, problem.check_named[self._reading.check], in_place)
        return Doubted(self._reading.check, self.chance_wrong, max(now - after, 0.0) / total, costs)
