"""A problem as numpy arrays: the states, and how each cause pushes each check.

Symbols (the contributor guide uses the same): n causes; a state S is a set of at most
`most_at_once` of them. For a check, cause i pushes towards outcome o with probability x[o, i] and
leaves it alone with probability y[i]; z[i] is 1 where cause i does not move the check at all
(then x = 0 and y = 1). u[o] is the usual distribution, used only where every cause of the state
has z = 1. In a check without a normal outcome a cause that moves it always pushes (y = 0), which
makes two causes mix evenly.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from troubleshoot.reasoning.refusing import ProblemRefused

if TYPE_CHECKING:
    from troubleshoot.reasoning.problem import Problem

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]


@dataclass(frozen=True)
class StateSpace:
    """All sets of up to `most` of n causes: none first, then singles, pairs, triples.

    `first`, `second` (and `third` for triples) are the cause numbers of the pairs and triples.
    """

    n: int
    most: int
    pair_first: Indices
    pair_second: Indices
    triple_first: Indices
    triple_second: Indices
    triple_third: Indices

    @property
    def size(self) -> int:
        """The number of states."""
        return 1 + self.n + len(self.pair_first) + len(self.triple_first)

    @property
    def singles(self) -> slice:
        """Where the states of one cause lie."""
        return slice(1, 1 + self.n)

    @property
    def pairs(self) -> slice:
        """Where the states of two causes lie."""
        return slice(1 + self.n, 1 + self.n + len(self.pair_first))

    @property
    def triples(self) -> slice:
        """Where the states of three causes lie."""
        return slice(1 + self.n + len(self.pair_first), self.size)

    @cached_property
    def pair_in_square(self) -> Indices:
        """Where the pairs lie in an n by n square of all causes, laid flat."""
        place: Indices = self.pair_first * self.n + self.pair_second
        return place

    def pair_state(self, i: Indices, j: Indices) -> Indices:
        """The state numbers of the pairs i < j."""
        number: Indices = 1 + self.n + i * self.n - i * (i + 1) // 2 + (j - i - 1)
        return number

    def without(self, cause: int) -> tuple[Indices, Indices]:
        """The states that hold `cause`, and the states they become when it is mended."""
        if cause not in self._without:
            self._without[cause] = self._find_without(cause)
        return self._without[cause]

    @cached_property
    def _without(self) -> dict[int, tuple[Indices, Indices]]:
        """What `without` has found so far."""
        return {}

    def _find_without(self, cause: int) -> tuple[Indices, Indices]:
        sources = [np.array([1 + cause])]
        targets = [np.array([0])]
        for mine, other in ((self.pair_first, self.pair_second), (self.pair_second, self.pair_first)):
            at = np.flatnonzero(mine == cause)
            sources.append(self.pairs.start + at)
            targets.append(1 + other[at])
        for mine, low, high in (
            (self.triple_first, self.triple_second, self.triple_third),
            (self.triple_second, self.triple_first, self.triple_third),
            (self.triple_third, self.triple_first, self.triple_second),
        ):
            at = np.flatnonzero(mine == cause)
            sources.append(self.triples.start + at)
            targets.append(self.pair_state(low[at], high[at]))
        return np.concatenate(sources), np.concatenate(targets)

    def members(self, state: int) -> tuple[int, ...]:
        """The cause numbers in one state."""
        if state == 0:
            return ()
        if state < self.pairs.start:
            return (state - 1,)
        if state < self.triples.start:
            at = state - self.pairs.start
            return (int(self.pair_first[at]), int(self.pair_second[at]))
        at = state - self.triples.start
        return (int(self.triple_first[at]), int(self.triple_second[at]), int(self.triple_third[at]))

    def fold_product(self, per_cause: Floats) -> Floats:
        """The product over the causes of every state of a number per cause (1 for none)."""
        return np.concatenate(
            [
                np.ones(1),
                per_cause,
                per_cause[self.pair_first] * per_cause[self.pair_second],
                per_cause[self.triple_first] * per_cause[self.triple_second] * per_cause[self.triple_third],
            ]
        )

    def fold_minimum(self, per_cause: Floats, none: float) -> Floats:
        """The least over the causes of every state of a number per cause (`none` for none)."""
        pair = np.minimum(per_cause[self.pair_first], per_cause[self.pair_second])
        triple = np.minimum(per_cause[self.triple_first], per_cause[self.triple_second])
        triple = np.minimum(triple, per_cause[self.triple_third])
        return np.concatenate([np.array([none]), per_cause, pair, triple])

    def marginals(self, weights: Floats) -> Floats:
        """For every cause the weight of the states that hold it."""
        total = weights[self.singles].copy()
        pair = weights[self.pairs]
        for at in (self.pair_first, self.pair_second):
            total += np.bincount(at, pair, self.n)
        if len(self.triple_first):
            triple = weights[self.triples]
            for at in (self.triple_first, self.triple_second, self.triple_third):
                total += np.bincount(at, triple, self.n)
        return total


def state_space(n: int, most: int) -> StateSpace:
    """All states of at most `most` (1 to 3) of n causes."""
    nothing = np.zeros(0, dtype=np.intp)
    first, second = np.triu_indices(n, 1) if most > 1 else (nothing, nothing)
    triples = [nothing] * 3
    if most > 2 and n > 2:
        grid = np.array([(i, j, k) for i in range(n) for j in range(i + 1, n) for k in range(j + 1, n)], dtype=np.intp)
        triples = [grid[:, 0], grid[:, 1], grid[:, 2]]
    return StateSpace(n, most, first, second, *triples)


@dataclass(frozen=True)
class CheckTable:
    """How the causes push one check (see the module's symbols); `normal` is -1 where there is none."""

    normal: int
    u: Floats
    x: Floats
    y: Floats
    z: Floats

    def likelihood(self, space: StateSpace, shares: Floats) -> Floats:
        """P(reading | state) for every state, of a reading with `shares` in the outcomes."""
        usual = float(shares @ self.u)
        kept = float(shares[self.normal]) if self.normal >= 0 else 0.0
        push = shares @ self.x
        y, z = self.y, self.z
        rest = usual - kept
        single = push + kept * y + z * rest
        parts = [np.array([usual]), single]
        if len(space.pair_first):
            # Every cause beside every other, then the pairs out of it: far quicker than gathering term by term.
            square = np.outer(rest * z, z)
            if kept:
                square += np.outer(kept * y, y)
            if push.any():
                one_pushes = np.outer(push, 0.5 * (1.0 + y))
                square += one_pushes
                square += one_pushes.T
            parts.append(square.ravel().take(space.pair_in_square))
        if len(space.triple_first):
            parts.append(self._triples(space, push, kept, rest))
        # Rounding must not leave a tiny negative where the truth is zero.
        chances: Floats = np.maximum(np.concatenate(parts), 0.0)
        return chances

    def _triples(self, space: StateSpace, push: Floats, kept: float, rest: float) -> Floats:
        three = (space.triple_first, space.triple_second, space.triple_third)
        y, z = [self.y[at] for at in three], [self.z[at] for at in three]
        total = np.asarray(kept * (y[0] * y[1] * y[2]) + rest * (z[0] * z[1] * z[2]), dtype=np.float64)
        for a, b, c in ((0, 1, 2), (1, 0, 2), (2, 0, 1)):
            # Of several causes that push, each is equally likely to win.
            wins = (2.0 + y[b] + y[c] + 2.0 * y[b] * y[c]) / 6.0
            total += push[three[a]] * wins
        return total


@dataclass(frozen=True)
class StackedChecks:
    """The arrays of all checks one below the other, in the problem's order; the rows of x and u are outcomes.

    The rows of check m are `first[m]` to `first[m + 1]`; `normal` is the row of its normal outcome, -1 for none.
    y and z have one row a check.
    """

    first: Indices
    normal: Indices
    u: Floats
    x: Floats
    y: Floats
    z: Floats

    def table(self, check: int) -> CheckTable:
        """The arrays of one check."""
        rows = slice(self.first[check], self.first[check + 1])
        normal = int(self.normal[check] - rows.start) if self.normal[check] >= 0 else -1
        return CheckTable(normal, self.u[rows], self.x[rows], self.y[check], self.z[check])


@dataclass(frozen=True)
class Tables:
    """The arrays of one problem.

    `prior` has the weight of every state before any reading, concerns already heard, summing to 1.
    `shows` has P(concern | state), one row a concern.
    """

    space: StateSpace
    index: Mapping[str, int]
    prior: Floats
    shows: Floats
    stacked: StackedChecks
    checks: Mapping[str, CheckTable]


def build_tables(problem: Problem) -> Tables:
    """Turn a problem into arrays."""
    space = state_space(len(problem.causes), 1 if problem.exactly_one else problem.most_at_once)
    index = {cause.id: i for i, cause in enumerate(problem.causes)}
    rates = np.array([cause.prior for cause in problem.causes])
    if problem.exactly_one:
        weights = np.zeros(space.size)
        weights[space.singles] = rates
    else:
        weights = space.fold_product(rates / (1.0 - rates))
    shows = np.empty((len(problem.concerns), space.size))
    for row, leak in enumerate(problem.leak):
        spared = space.fold_product(np.array([1.0 - cause.shows[row] for cause in problem.causes]))
        shows[row] = 1.0 - (1.0 - leak) * spared
    weights = weights * shows.prod(axis=0)
    total = weights.sum()
    if not total > 0.0:
        raise ProblemRefused(
            "No listed cause can show the concerns of this problem.",
            "Give a concern a leak above 0, or a cause that shows it.",
        )
    weights = weights / total
    stacked = _stack(problem, index)
    checks = {check.id: stacked.table(at) for at, check in enumerate(problem.checks)}
    return Tables(space, index, weights, shows, stacked, checks)


def _stack(problem: Problem, index: Mapping[str, int]) -> StackedChecks:
    checks, n = problem.checks, len(index)
    lengths = np.array([len(check.outcomes) for check in checks], dtype=np.intp)
    first = np.concatenate([[0], np.cumsum(lengths)]).astype(np.intp)
    within = np.array([-1 if check.normal is None else check.outcomes.index(check.normal) for check in checks])
    normal = np.where(within >= 0, first[:-1] + within, -1).astype(np.intp)
    has_normal = normal >= 0
    movers = np.array([len(check.moved_by) for check in checks], dtype=np.intp)
    check_at = np.repeat(np.arange(len(checks)), movers)
    cause_at = np.array([index[cause] for check in checks for cause in check.moved_by], dtype=np.intp)
    # One number for each cause that moves a check and each outcome of that check.
    numbers = np.array([share for check in checks for one in check.moved_by.values() for share in one])
    size = lengths[check_at]
    begins = np.cumsum(size) - size
    row = np.arange(len(numbers)) + np.repeat(first[check_at] - begins, size)
    x = np.zeros((int(first[-1]), n))
    y, z = np.ones((len(checks), n)), np.ones((len(checks), n))
    x[row, np.repeat(cause_at, size)] = numbers
    z[check_at, cause_at] = 0.0
    y[check_at, cause_at] = np.where(has_normal[check_at], x[normal[check_at], cause_at], 0.0)
    x[normal[has_normal]] = 0.0
    usual = np.array([share for check in checks for share in check.usual])
    return StackedChecks(first, normal, usual, x, y, z)
