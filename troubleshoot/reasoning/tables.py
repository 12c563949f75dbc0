"""A problem as numpy arrays: its variants, how they push each check, and the scopes of states that beliefs are over.

For a check, variant v pushes towards outcome o with probability x[o, v] and leaves it alone with probability y[v]; z[v]
is 1 where v does not move the check at all (then x = 0 and y = 1). u[o] is the usual distribution, used only where
every variant of the state has z = 1. In a check without a normal outcome what moves it always pushes (y = 0), which
makes two mix evenly. The contributor guide of this package derives it all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain
from typing import Any

import numpy as np
import numpy.typing as npt

from troubleshoot.reasoning.problem import DEGREES, Check, Outcomes, Problem
from troubleshoot.reasoning.refusing import ProblemRefused
from troubleshoot.reasoning.states import Floats, Indices, StateSpace, state_space

SEEN_WRONGLY = 1e-5
"""How often somebody says they saw the cause itself when it is not there; so seldom that what is seen decides."""

Single = npt.NDArray[np.float32]

__all__ = ["CheckTable", "Floats", "Indices", "Scope", "Single", "Tables", "mistaken", "tables_of"]


@dataclass(frozen=True, eq=False)
class CheckTable:
    """How the variants push one check (see the module's symbols); `normal` is -1 where there is none.

    `moved` are the variants with z = 0. `wrong` is how often a gross mistake gives each outcome, made in a share of the
    readings: evenly, but nobody sees by mistake what shows a cause itself.
    """

    normal: int
    u: Floats
    x: Floats
    y: Floats
    z: Floats
    moved: Indices
    wrong: Floats

    def likelihood(self, space: StateSpace, shares: Floats) -> Floats:
        """Return P(reading | state) for every state, of a reading with `shares` in the outcomes."""
        kept = float(shares[self.normal]) if self.normal >= 0 else 0.0
        return likelihood(space, float(shares @ self.u), shares @ self.x, kept, kept * self.y, self.y, self.z)


def mistaken(mistakes: float, check: Check) -> Floats:
    """Return how often a gross mistake gives each outcome of a check; the sum is `mistakes`."""
    shown = np.array([one in check.shown for one in check.outcomes])
    if not shown.any() or shown.all():
        return np.full(len(shown), mistakes / len(shown))
    seen = min(SEEN_WRONGLY, mistakes) / len(shown)
    return np.where(shown, seen, (mistakes - seen * shown.sum()) / (~shown).sum())


def likelihood(
    space: StateSpace, usual: float, push: Floats, kept: float, normal: Floats, y: Floats, z: Floats
) -> Floats:
    """Return P(reading | state) for every state.

    `usual` is P(reading) where nothing moves the check, `push` what each variant's push brings, `normal` what it brings
    by leaving the check alone; `kept` is the share of the reading in the normal outcome.
    """
    rest = usual - kept
    parts = [np.array([usual]), push + normal + rest * z]
    if len(space.pair_first):
        at = space.paired
        push_, half, normal_, z_ = push[at], 0.5 * (1.0 + y[at]), normal[at], z[at]
        square = np.outer(push_, half)
        square += square.T.copy()
        if kept > 0.0:
            square += np.outer(normal_ / kept, normal_)
        square += np.outer(rest * z_, z_)
        parts.append(space.from_square(square))
    if len(space.triple_first):
        parts.append(_triples(space, push, kept, normal, rest, y, z))
    # Rounding must not leave a tiny negative where the truth is zero.
    chances: Floats = np.maximum(np.concatenate(parts), 0.0)
    return chances


def _triples(space: StateSpace, push: Floats, kept: float, normal: Floats, rest: float, y: Floats, z: Floats) -> Floats:
    three = (space.triple_first, space.triple_second, space.triple_third)
    ys, zs, normals = ([part[at] for at in three] for part in (y, z, normal))
    total = np.asarray(rest * (zs[0] * zs[1] * zs[2]), dtype=np.float64)
    if kept > 0.0:
        total += normals[0] * normals[1] * normals[2] / kept**2
    for a, b, c in ((0, 1, 2), (1, 0, 2), (2, 0, 1)):
        # Of several that push, each is equally likely to win.
        wins = (2.0 + ys[b] + ys[c] + 2.0 * ys[b] * ys[c]) / 6.0
        total += push[three[a]] * wins
    return total


KEPT_SCOPES = 4
"""A case goes from one set of causes to a wider one as readings speak for more; a scope of some 14 MB for each."""


@dataclass(frozen=True, eq=False)
class Scope:
    """The states a belief is over, and what holds of them before any reading.

    `prior` sums to 1 with the concerns heard; `shows` has P(concern | state), one row a concern. For every pair,
    `only_first` and `only_second` are the probabilities that all that is complained of comes from that one alone.
    """

    space: StateSpace
    prior: Floats
    shows: Floats
    only_first: Floats
    only_second: Floats
    _goes_on: dict[int, Floats] = field(default_factory=dict)

    @cached_property
    def only(self) -> Floats:
        """The same as a matrix over the paired variants: row v, column w has the chance that it all comes from v."""
        side = len(self.space.paired)
        matrix = np.zeros((side, side))
        matrix.ravel()[self.space.pair_in_square] = self.only_first
        across = np.zeros((side, side))
        across.ravel()[self.space.pair_in_square] = self.only_second
        return matrix + across.T

    @cached_property
    def both_needed(self) -> Floats:
        """The chance that the complaint needs both, as a matrix over the paired variants."""
        needed: Floats = 1.0 - self.only - self.only.T
        return needed

    def goes_on(self, cause: int) -> Floats:
        """Return for the states of `StateSpace.without(cause)` the probability that the rest keeps the concern up."""
        if cause not in self._goes_on:
            space = self.space
            source, _ = space.without(cause)
            alone = int(np.sum(space.cause_of == cause))
            # The states come in the order of `StateSpace.without`: alone, as the first of a pair, as the second.
            keeps, begin = np.ones(len(source)), alone
            keeps[:alone] = 0.0
            for one, only in ((space.pair_first, self.only_first), (space.pair_second, self.only_second)):
                at = np.flatnonzero(space.cause_of[one] == cause)
                keeps[begin : begin + len(at)] = 1.0 - only[at]
                begin += len(at)
            self._goes_on[cause] = keeps
        return self._goes_on[cause]


@dataclass(frozen=True, eq=False)
class Tables:
    """The arrays of one problem, all variants side by side.

    `odds` are prior odds times the share of the variant; `spared[k]` P(concern k not shown). The rows of check m are
    `first[m]` to `first[m + 1]`; `normal` is the row of its normal outcome, -1 for none; y and z have a row a check.
    What two checks make together comes after the checks that can be made.
    """

    problem: Problem
    index: Mapping[str, int]
    counts: tuple[int, ...]
    odds: Floats
    spared: Floats
    first: Indices
    normal: Indices
    u: Floats
    x: Floats
    y: Floats
    z: Floats
    wrong: Floats
    checks: Mapping[str, CheckTable]
    said: dict[object, Any] = field(default_factory=dict)
    """What readings say of each variant (`weighing`), worked out once."""
    _scopes: dict[frozenset[int], Scope] = field(default_factory=dict)
    _single: dict[Scope, tuple[Single, Single, Single]] = field(default_factory=dict)

    @cached_property
    def cause_of(self) -> Indices:
        """The cause of each variant."""
        return np.repeat(np.arange(len(self.counts)), self.counts)

    @cached_property
    def begins(self) -> Indices:
        """The first variant of each cause."""
        return np.concatenate([[0], np.cumsum(self.counts)[:-1]]).astype(np.intp)

    @cached_property
    def degree_of(self) -> Indices:
        """The degree of each variant as its place in `DEGREES`; one past the last where it has none."""
        degrees = [variant.degree for cause in self.problem.causes for variant in cause.variants]
        return np.array([DEGREES.index(one) if one in DEGREES else len(DEGREES) for one in degrees], dtype=np.intp)

    @cached_property
    def incidental(self) -> npt.NDArray[np.bool_]:
        """Which causes show none of the concerns."""
        return np.array([cause.incidental for cause in self.problem.causes])

    @cached_property
    def whole(self) -> Scope:
        """The scope in which every cause may stand beside every other."""
        return self.scope(frozenset(range(len(self.counts))))

    def scope(self, besides: frozenset[int] = frozenset()) -> Scope:
        """Return the states with pairs of all causes that show a concern and of those `besides`; a few are kept."""
        at = frozenset(np.flatnonzero(~self.incidental).tolist()) | besides
        if at not in self._scopes:
            if len(self._scopes) >= KEPT_SCOPES:
                self._single.pop(self._scopes.pop(next(iter(self._scopes))), None)
            self._scopes[at] = _scope(self, np.array(sorted(at), dtype=np.intp))
        return self._scopes[at]

    def in_single(self, scope: Scope) -> tuple[Single, Single, Single]:
        """Return x, y and z of the paired variants of a scope in single precision; kept."""
        if scope not in self._single:
            x, y, z = (part[:, scope.space.paired].astype(np.float32) for part in (self.x, self.y, self.z))
            self._single[scope] = x, y, z
        return self._single[scope]

    def rows_of(self, checks: Indices) -> tuple[Indices, Indices]:
        """Return the row numbers of some checks, and the place among them where each check begins."""
        lengths = self.first[checks + 1] - self.first[checks]
        starts = np.cumsum(lengths) - lengths
        rows = np.repeat(self.first[checks] - starts, lengths) + np.arange(int(lengths.sum()))
        return rows, starts.astype(np.intp)


def tables_of(problem: Problem) -> Tables:
    """Return the arrays of a problem, made once and kept with it."""
    return problem.once(_build)


def _build(problem: Problem) -> Tables:
    counts = tuple(len(cause.variants) for cause in problem.causes)
    index = {cause.id: at for at, cause in enumerate(problem.causes)}
    variants = [(cause, variant) for cause in problem.causes for variant in cause.variants]
    rates = np.array([cause.prior for cause, _ in variants])
    shares = np.array([variant.weight for _, variant in variants])
    odds = shares * (rates if problem.exactly_one else rates / (1.0 - rates))
    shows = [cause.shows if variant.shows is None else variant.shows for cause, variant in variants]
    spared = 1.0 - np.array(shows, dtype=np.float64).reshape(len(variants), len(problem.concerns)).T
    begins = np.concatenate([[0], np.cumsum(counts)]).tolist()
    lengths = np.array([len(check.outcomes) for check in problem.every_check], dtype=np.intp)
    first = np.concatenate([[0], np.cumsum(lengths)]).astype(np.intp)
    u = np.array([share for check in problem.every_check for share in check.usual])
    x, y, z = _pushes(problem, index, begins, first)
    wrong = np.concatenate([np.zeros(0), *(mistaken(problem.mistakes, check) for check in problem.every_check)])
    within = [-1 if one.normal is None else one.outcomes.index(one.normal) for one in problem.every_check]
    normal = np.array([-1 if at < 0 else int(first[m]) + at for m, at in enumerate(within)], dtype=np.intp)
    checks = {
        check.id: CheckTable(within[m], u[first[m] : first[m + 1]], x[first[m] : first[m + 1]], y[m], z[m],
                             np.flatnonzero(z[m] == 0.0), wrong[first[m] : first[m + 1]])
        for m, check in enumerate(problem.every_check)
    }  # fmt: skip
    return Tables(problem, index, counts, odds, spared, first, normal, u, x, y, z, wrong, checks)


def _pushes(
    problem: Problem, index: Mapping[str, int], begins: list[int], first: Indices
) -> tuple[Floats, Floats, Floats]:
    """Return x, y and z of all checks."""
    variants = begins[-1]
    x = np.zeros((int(first[-1]), variants))
    y, z = np.ones((len(problem.every_check), variants)), np.ones((len(problem.every_check), variants))
    check_at: list[int] = []
    variant_at: list[int] = []
    numbers: list[Outcomes] = []
    for number, check in enumerate(problem.every_check):
        for cause in check.moved_by:
            begin, end = begins[index[cause]], begins[index[cause] + 1]
            for at, outcomes in enumerate(check.by_variant(cause, end - begin), begin):
                if outcomes is not None:
                    check_at.append(number)
                    variant_at.append(at)
                    numbers.append(outcomes)
    if not numbers:
        return x, y, z
    size = np.array([len(one) for one in numbers], dtype=np.intp)
    m, v = np.array(check_at, dtype=np.intp), np.array(variant_at, dtype=np.intp)
    row = np.arange(int(size.sum())) + np.repeat(first[m] - (np.cumsum(size) - size), size)
    x[row, np.repeat(v, size)] = np.fromiter(chain.from_iterable(numbers), np.float64, int(size.sum()))
    z[m, v] = 0.0
    normal = np.array(
        [_normal_row(check, int(first[at])) for at, check in enumerate(problem.every_check)], dtype=np.intp
    )
    y[m, v] = np.where(normal[m] >= 0, x[normal[m], v], 0.0)
    x[normal[normal >= 0]] = 0.0
    return x, y, z


def _normal_row(check: Check, first: int) -> int:
    return -1 if check.normal is None else first + check.outcomes.index(check.normal)


def _scope(tables: Tables, paired: Indices) -> Scope:
    problem = tables.problem
    most = 1 if problem.exactly_one else problem.most_at_once
    space = state_space(tables.counts, most, None if len(paired) == len(tables.counts) else paired)
    if problem.exactly_one:
        weights = np.zeros(space.size)
        weights[space.singles] = tables.odds
    else:
        weights = space.fold_product(tables.odds)
    shows = np.empty((len(problem.concerns), space.size))
    for row, leak in enumerate(problem.leak):
        shows[row] = 1.0 - (1.0 - leak) * space.fold_product(tables.spared[row])
    weights = weights * shows.prod(axis=0)
    total = weights.sum()
    if not total > 0.0:
        raise ProblemRefused(
            "No listed cause can show the concerns of this problem.",
            "Give a concern a leak above 0, or a cause that shows it.",
        )
    return Scope(space, weights / total, shows, *_only(tables, space))


def _only(tables: Tables, space: StateSpace) -> tuple[Floats, Floats]:
    """Return for every pair the chances that all of the complaint comes from its first alone, and from its second.

    Given that the two together show every concern. Nothing is set aside where there is no concern, where neither shows
    anything, or where three may be present.
    """
    nothing = np.zeros(len(space.pair_first))
    if not len(tables.spared) or tables.problem.most_at_once > 2:
        return nothing, nothing
    first, second = (tables.spared[:, at] for at in (space.pair_first, space.pair_second))
    both = (1.0 - first * second).prod(axis=0)
    only_first, only_second = ((1.0 - first) * second).prod(axis=0), (first * (1.0 - second)).prod(axis=0)
    return (
        np.divide(only_first, both, out=nothing.copy(), where=both > 0.0),
        np.divide(only_second, both, out=nothing.copy(), where=both > 0.0),
    )
