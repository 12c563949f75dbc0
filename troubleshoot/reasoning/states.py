"""What can be present at once: nothing, one form of one cause, or forms of two causes (three where a problem asks).

Every cause has one or more variants (forms: a degree and a way). A state holds at most one variant of a cause. Numbers
of variants run cause by cause, so the variants of a cause lie side by side. Symbols: n causes, v and w variants.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class StateSpace:
    """All states in one order: none, every variant alone, then pairs, then triples.

    `cause_of` is the cause of each variant and `begins` the first variant of each cause. `paired` are the variants that
    may stand beside another where two may be present; pairs are of these only. The pair and triple arrays hold the
    numbers of variants.
    """

    cause_of: Indices
    begins: Indices
    paired: Indices
    pair_first: Indices
    pair_second: Indices
    pair_in_square: Indices
    triple_first: Indices
    triple_second: Indices
    triple_third: Indices
    _without: dict[int, tuple[Indices, Indices]] = field(default_factory=dict)

    @property
    def n(self) -> int:
        """The number of variants."""
        return len(self.cause_of)

    @property
    def size(self) -> int:
        """The number of states."""
        return 1 + self.n + len(self.pair_first) + len(self.triple_first)

    @property
    def singles(self) -> slice:
        """Where the states of one variant lie."""
        return slice(1, 1 + self.n)

    @property
    def pairs(self) -> slice:
        """Where the states of two variants lie."""
        return slice(1 + self.n, 1 + self.n + len(self.pair_first))

    @property
    def triples(self) -> slice:
        """Where the states of three variants lie."""
        return slice(1 + self.n + len(self.pair_first), self.size)

    def square(self, weights: Floats) -> Floats:
        """Return the weights of the pairs as a symmetric matrix over the paired variants."""
        if not len(self.pair_first):
            return np.zeros((len(self.paired), len(self.paired)))
        at, apart = self._in_square
        matrix: Floats = weights.take(at)
        matrix.ravel()[apart] = 0.0
        return matrix

    @cached_property
    def _in_square(self) -> tuple[Indices, Indices]:
        """The state in each place of the square, and the places of two variants of one cause, which are no state."""
        side = len(self.paired)
        above = np.zeros((side, side), dtype=np.intp)
        above.ravel()[self.pair_in_square] = np.arange(self.pairs.start, self.pairs.stop)
        at = above + above.T
        return at, np.flatnonzero(at == 0)

    @cached_property
    def paired_causes(self) -> Indices:
        """The causes of the paired variants, each once, in order."""
        return np.unique(self.cause_of[self.paired])

    @cached_property
    def paired_member(self) -> Floats:
        """1 where a paired variant (row) is of one of the `paired_causes` (column)."""
        member: Floats = (self.cause_of[self.paired][:, None] == self.paired_causes).astype(np.float64)
        return member

    def from_square(self, matrix: Floats) -> Floats:
        """Return the entries of a matrix over the paired variants that are pairs, in their order."""
        return matrix.ravel().take(self.pair_in_square)

    def fold_product(self, per_variant: Floats) -> Floats:
        """Return for every state the product of a number per variant (1 for none)."""
        paired = per_variant[self.paired]
        return np.concatenate([
            np.ones(1),
            per_variant,
            self.from_square(np.outer(paired, paired)),
            per_variant[self.triple_first] * per_variant[self.triple_second] * per_variant[self.triple_third],
        ])  # fmt: skip

    def fold_sum(self, per_variant: Floats) -> Floats:
        """Return for every state the sum of a number per variant (0 for none)."""
        pair = per_variant[self.pair_first] + per_variant[self.pair_second]
        triple = per_variant[self.triple_first] + per_variant[self.triple_second] + per_variant[self.triple_third]
        return np.concatenate([np.zeros(1), per_variant, pair, triple])

    def fold_minimum(self, per_variant: Floats, none: float) -> Floats:
        """Return for every state the least of a number per variant (`none` for none)."""
        pair = np.minimum(per_variant[self.pair_first], per_variant[self.pair_second])
        triple = np.minimum(per_variant[self.triple_first], per_variant[self.triple_second])
        triple = np.minimum(triple, per_variant[self.triple_third])
        return np.concatenate([np.array([none]), per_variant, pair, triple])

    def per_variant(self, weights: Floats) -> Floats:
        """Return for every variant the weight of the states that hold it."""
        total = weights[self.singles].copy()
        if len(self.pair_first):
            total[self.paired] += self.square(weights).sum(axis=1)
        for at in (self.triple_first, self.triple_second, self.triple_third):
            if len(at):
                total += np.bincount(at, weights[self.triples], self.n)
        return total

    def marginals(self, weights: Floats) -> Floats:
        """Return for every cause the weight of the states that hold it in any form."""
        return self.by_cause(self.per_variant(weights))

    def by_cause(self, per_variant: Floats) -> Floats:
        """Return sums over the variants of each cause; works on leading axes."""
        total: Floats = np.add.reduceat(per_variant, self.begins, axis=-1)
        return total

    def holds(self, causes: Sequence[int]) -> Floats:
        """Return 1 for every state that holds any of these causes, 0 for the others."""
        spared = np.ones(self.n)
        spared[np.isin(self.cause_of, np.array(causes, dtype=np.intp))] = 0.0
        states: Floats = 1.0 - self.fold_product(spared)
        return states

    def without(self, cause: int) -> tuple[Indices, Indices]:
        """Return the states that hold `cause`, and the states they become when it is repaired."""
        if cause not in self._without:
            self._without[cause] = self._find_without(cause)
        return self._without[cause]

    def _find_without(self, cause: int) -> tuple[Indices, Indices]:
        mine = np.flatnonzero(self.cause_of == cause)
        sources, targets = [1 + mine], [np.zeros(len(mine), dtype=np.intp)]
        for one, other in ((self.pair_first, self.pair_second), (self.pair_second, self.pair_first)):
            at = np.flatnonzero(self.cause_of[one] == cause)
            sources.append(self.pairs.start + at)
            targets.append(1 + other[at])
        if len(self.triple_first):
            number = {
                pair: at
                for at, pair in enumerate(zip(self.pair_first.tolist(), self.pair_second.tolist(), strict=True))
            }
            three = (self.triple_first, self.triple_second, self.triple_third)
            for a, b, c in ((0, 1, 2), (1, 0, 2), (2, 0, 1)):
                at = np.flatnonzero(self.cause_of[three[a]] == cause)
                sources.append(self.triples.start + at)
                left = [number[pair] for pair in zip(three[b][at].tolist(), three[c][at].tolist(), strict=True)]
                targets.append(self.pairs.start + np.array(left, dtype=np.intp))
        return np.concatenate(sources), np.concatenate(targets)

    def members(self, state: int) -> tuple[int, ...]:
        """Return the variants in one state."""
        if state == 0:
            return ()
        if state < self.pairs.start:
            return (state - 1,)
        if state < self.triples.start:
            at = state - self.pairs.start
            return (int(self.pair_first[at]), int(self.pair_second[at]))
        at = state - self.triples.start
        return (int(self.triple_first[at]), int(self.triple_second[at]), int(self.triple_third[at]))

    def held(self, causes: Sequence[int]) -> Indices:
        """Return the states in which exactly these causes are present, in any form."""
        wanted = sorted(causes)
        if not wanted:
            return np.array([0])
        first, second = self.cause_of[self.pair_first], self.cause_of[self.pair_second]
        if len(wanted) == 1:
            held: Indices = 1 + np.flatnonzero(self.cause_of == wanted[0])
        elif len(wanted) == 2:
            held = self.pairs.start + np.flatnonzero((first == wanted[0]) & (second == wanted[1]))
        else:
            three = [self.cause_of[at] for at in (self.triple_first, self.triple_second, self.triple_third)]
            hits = np.logical_and.reduce([one == cause for one, cause in zip(three, wanted, strict=True)])
            held = self.triples.start + np.flatnonzero(hits)
        return held


def state_space(counts: Sequence[int], most: int, paired: Indices | None = None) -> StateSpace:
    """Return all states of at most `most` (1 to 3) causes with `counts` variants each; pairs of those `paired`."""
    cause_of = np.repeat(np.arange(len(counts)), counts)
    begins = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.intp)
    nothing = np.zeros(0, dtype=np.intp)
    beside = np.arange(len(cause_of)) if paired is None else np.flatnonzero(np.isin(cause_of, paired))
    if most < 2:
        return StateSpace(cause_of, begins, beside, nothing, nothing, nothing, nothing, nothing, nothing)
    own = cause_of[beside]
    place = np.flatnonzero((own[:, None] < own[None, :]).ravel())
    first, second = beside[place // len(beside)], beside[place % len(beside)] if len(beside) else nothing
    beyond = zip(first.tolist(), second.tolist(), strict=True) if most > 2 else ()
    rows = [(i, j, k) for i, j in beyond for k in range(j + 1, len(cause_of)) if cause_of[k] > cause_of[j]]
    third = np.array(rows, dtype=np.intp).reshape(-1, 3)
    return StateSpace(cause_of, begins, beside, first, second, place, third[:, 0], third[:, 1], third[:, 2])
