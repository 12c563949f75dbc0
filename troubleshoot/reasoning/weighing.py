"""What readings say: P(readings | state) for every state, each reading with its chance of being a mistake.

With the share g of mistakes a reading with shares s says (1 - g) sum_o s_o P(o | state) + g / K, which is the same as a
reading with shares (1 - g) s_o + g / K. Readings of one check in one epoch look at one truth: their shares multiply.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from troubleshoot.reasoning.events import Compared, Evidence
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.refusing import EvidenceRefused
from troubleshoot.reasoning.states import Floats, Indices
from troubleshoot.reasoning.tables import Scope, Tables, likelihood, tables_of

SHARE_TOLERANCE = 1e-6
"""The shares of a reading must sum to 1 within this."""

SAFE = 1e-200
"""A likelihood above this may be divided by."""

PULLED = (1.0, 0.4, 0.2, 0.4)
"""For each car in which a mild, a clear, a gross cause pushes a check out of normal, those in which it only pulls it
that way; from memory. The last is of a cause without degrees."""


@dataclass(frozen=True, eq=False)
class Terms:
    """What readings of one check say: `usual`, and `push` and `normal` of the `moved` variants (see `tables`)."""

    usual: float
    kept: float
    moved: Indices
    push: Floats
    normal: Floats
    y: Floats

    @property
    def alone(self) -> Floats:
        """P(reading | one of the moved variants)."""
        return self.push + self.normal

    def together(self, at: Indices) -> Floats:
        """P(reading | two of the moved variants), for those at some places among them."""
        push, half, normal = self.push[at], 0.5 * (1.0 + self.y[at]), self.normal[at]
        both = np.outer(push, half)
        both += both.T.copy()
        if self.kept > 0.0:
            both += np.outer(normal / self.kept, normal)
        return both


def terms_of(tables: Tables, readings: Sequence[Evidence]) -> Terms:
    """Return what one or more readings of one check say together, given what they are held against; kept."""
    key = tuple(readings)
    if key not in tables.said:
        tables.said[key] = _terms_of(tables, key)
    terms: Terms = tables.said[key]
    return terms


def _terms_of(tables: Tables, readings: Sequence[Evidence]) -> Terms:
    compared = readings[-1].compared
    return _alone(tables, readings) if compared is None else _compared(tables, readings[-1], compared)


def _compared(tables: Tables, reading: Evidence, compared: Compared) -> Terms:
    """Return what a reading says given another one: P(reading | other, state).

    With what moves neither of the two, and with what the comparison names, that is what the comparison says. What
    moves this check alone and is not named pushes it as ever, and where it does not the comparison is as usual. What
    moves the other check and is not named may do either, and nobody has said which: half of each.
    """
    told, own = _alone(tables, [compared.evidence]), _alone(tables, [reading])
    g = mistake_share(tables.problem, reading)
    scale, wrong = (1.0 - g) * compared.density, g / len(reading.shares)
    usual, kept = scale * told.usual + wrong, scale * told.kept + wrong
    others = tables.checks[compared.beside].moved
    moved = np.unique(np.concatenate([told.moved, own.moved, others]))
    push, normal, y = np.zeros(len(moved)), np.full(len(moved), kept), np.ones(len(moved))
    alone = np.full(len(moved), own.usual)
    at = np.searchsorted(moved, own.moved)
    push[at], normal[at], y[at], alone[at] = own.push, own.y * kept, own.y, own.alone
    at = np.searchsorted(moved, others)
    push[at], normal[at], y[at] = 0.5 * np.maximum(alone[at] + usual - kept, 0.0), 0.5 * kept, 0.5
    at = np.searchsorted(moved, told.moved)
    push[at] = scale * told.push + wrong * (1.0 - told.y)
    normal[at], y[at] = scale * told.normal + wrong * told.y, told.y
    return Terms(usual, kept, moved, push, normal, y)


def _alone(tables: Tables, readings: Sequence[Evidence]) -> Terms:
    """Return what one or more readings of one check say together by themselves."""
    table = tables.checks[readings[0].check]
    outcomes, moved = len(table.u), table.moved
    right = np.ones(outcomes)
    for reading in readings:
        g = mistake_share(tables.problem, reading)
        right = right * ((1.0 - g) * np.array(reading.shares, dtype=np.float64) + given_wrongly(tables, reading))
    kept = float(right[table.normal]) if table.normal >= 0 else 0.0
    x, y = table.x[:, moved], table.y[moved]
    sized = [reading for reading in readings if reading.sizes]
    if sized:
        usual, kept, push, normal = _sized(tables, sized[-1], right, moved)
    else:
        usual, push, normal = float(right @ table.u), right @ x, kept * y
    for reading in readings:
        g = mistake_share(tables.problem, reading)
        for cause, variant, density in reading.expected:
            at = int(np.searchsorted(moved, tables.begins[tables.index[cause]] + variant))
            in_normal = float(reading.shares[table.normal]) if table.normal >= 0 else 0.0
            push[at] = (1.0 - g) * density * (1.0 - in_normal) + g / outcomes * (1.0 - y[at])
            normal[at] = (1.0 - g) * density * in_normal + g / outcomes * y[at]
    return Terms(usual, kept, moved, push, normal, y)


def mistake_share(problem: Problem, reading: Evidence) -> float:
    """Return how often a reading like this one is grossly wrong."""
    return problem.mistakes if reading.mistake is None else reading.mistake


def given_wrongly(tables: Tables, reading: Evidence) -> float:
    """Return how often a gross mistake gives this reading."""
    each = tables.checks[reading.check].wrong
    if reading.mistake is not None:
        each = np.minimum(each, reading.mistake / len(each))
    return float(np.array(reading.shares) @ each)


def _sized(tables: Tables, reading: Evidence, right: Floats, moved: Indices) -> tuple[float, float, Floats, Floats]:
    """Return the terms of a reading whose size inside its outcomes speaks too; a mistake may have any size."""
    table = tables.checks[reading.check]
    sizes, wrong = np.array(reading.sizes), mistake_share(tables.problem, reading) / len(table.u)
    taken = np.maximum(right - wrong, 0.0)
    factors = 1.0 + (right - wrong)[:, None] / np.maximum(right, SAFE)[:, None] * (sizes - 1.0)
    degree = tables.degree_of[moved]
    by_degree = np.concatenate([factors[:, 1:], np.ones((len(factors), 1))], axis=1)
    weighted = right[:, None] * by_degree[:, degree]
    x, y, at = table.x[:, moved], table.y[moved], table.normal
    push = (weighted * x).sum(axis=0)
    usual = float((right * factors[:, 0]) @ table.u)
    if at < 0:
        return usual, 0.0, push, np.zeros(len(moved))
    kept = float(right[at] * factors[at, 0])
    normal = kept * y
    if reading.leaning is not None:
        out = np.stack([x[:at].sum(axis=0), x[at + 1 :].sum(axis=0)])
        whole = np.maximum(out.sum(axis=0), SAFE)
        pulled = np.minimum(y, np.array(PULLED)[degree] * whole)
        normal += taken[at] * pulled * (np.array(reading.leaning) @ out / whole - sizes[at, 0])
    return usual, kept, push, normal


def likelihood_of(problem: Problem, scope: Scope, readings: Sequence[Evidence]) -> Floats:
    """Return P(readings of one check | state) for every state of a scope."""
    tables = tables_of(problem)
    terms, variants = terms_of(tables, readings), len(tables.cause_of)
    push, normal, y, z = np.zeros(variants), np.full(variants, terms.kept), np.ones(variants), np.ones(variants)
    push[terms.moved], normal[terms.moved], y[terms.moved], z[terms.moved] = terms.push, terms.normal, terms.y, 0.0
    return likelihood(scope.space, terms.usual, push, terms.kept, normal, y, z)


def by_check(readings: Sequence[Evidence]) -> list[list[Evidence]]:
    """Return the readings of an epoch, those of one check together, in the order in which checks were first read."""
    found: dict[str, list[Evidence]] = {}
    for reading in readings:
        found.setdefault(reading.check, []).append(reading)
    return list(found.values())


def weigh(problem: Problem, scope: Scope, readings: Sequence[Evidence]) -> tuple[Floats, float]:
    """Return P(all readings | state) of a scope up to a factor, and the logarithm of that factor.

    A reading multiplies a pair by what each of the two would say by itself, against what it says where nothing moves
    the check, and by a correction that is not 1 only where both move the check. So each reading costs the square of the
    variants that move it, and all pairs are gone through once.
    """
    tables = tables_of(problem)
    said = [terms_of(tables, together) for together in by_check(readings)]
    space = scope.space
    if len(space.triple_first) or not all(one.usual > SAFE and (one.alone > SAFE).all() for one in said):
        product = np.ones(space.size)
        for together in by_check(readings):
            product *= likelihood_of(problem, scope, together)
        return product, 0.0
    pairs = len(space.pair_first) > 0
    place = np.full(space.n, -1, dtype=np.intp)
    place[space.paired] = np.arange(len(space.paired))
    single = np.ones(space.n)
    square = np.ones((len(space.paired), len(space.paired)) if pairs else (0, 0))
    for terms in said:
        ratio = terms.alone / terms.usual
        single[terms.moved] *= ratio
        at = np.flatnonzero(place[terms.moved] >= 0)
        if pairs and len(at) > 1:
            correction = terms.together(at) / (terms.usual * np.outer(ratio[at], ratio[at]))
            inside = place[terms.moved[at]]
            square[inside[:, None], inside] *= correction
    paired = single[space.paired if pairs else slice(0)]
    square *= paired[:, None]
    square *= paired
    product = np.concatenate([[1.0], single, space.from_square(square)])
    return product, math.fsum(math.log(one.usual) for one in said)


def spoken_for(problem: Problem, readings: Sequence[Evidence]) -> frozenset[int]:
    """Return the incidental causes that some readings speak for: in one of their variants all of them are likelier."""
    tables = tables_of(problem)
    if not tables.incidental.any() or not readings:
        return frozenset()
    single = np.zeros(len(tables.cause_of))  # logarithms: the product of many readings leaves the range of a number
    for together in by_check(readings):
        terms = terms_of(tables, together)
        single[terms.moved] += np.log(np.maximum(terms.alone, SAFE) / max(terms.usual, SAFE))
    most = np.maximum.reduceat(single, tables.begins)
    return frozenset(np.flatnonzero(tables.incidental & (most > 0.0)).tolist())


def refuse_bad_reading(problem: Problem, reading: Evidence) -> None:
    """Raise `EvidenceRefused` for an unknown check, or shares that are no shares or do not sum to 1."""
    if reading.check not in problem.check_named:
        raise EvidenceRefused(f"There is no check {reading.check!r} in this problem.", "Use the id of a listed check.")
    outcomes = problem.check_named[reading.check].outcomes
    if len(reading.shares) != len(outcomes):
        raise EvidenceRefused(
            f"The reading of {reading.check} has {len(reading.shares)} shares for {len(outcomes)} outcomes.",
            "Give one share for each outcome.",
        )
    for share in reading.shares:
        if not (math.isfinite(share) and share >= 0.0):
            raise EvidenceRefused(
                f"The reading of {reading.check} has a share of {share}.", "Shares must be finite and not negative."
            )
    if abs(math.fsum(reading.shares) - 1.0) > SHARE_TOLERANCE:
        raise EvidenceRefused(
            f"The shares of {reading.check} sum to {math.fsum(reading.shares):.9g}.", "They must sum to 1."
        )
