"""How the readings of an epoch are weighed: what each says of every state, and the power it keeps beside others."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from troubleshoot.reasoning.events import Evidence
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.refusing import EvidenceRefused
from troubleshoot.reasoning.tables import Floats

SHARE_TOLERANCE = 1e-6
"""The shares of a reading must sum to 1 within this."""


@dataclass(frozen=True, eq=False)
class Likelihood:
    """P(reading | state) for every state, and its natural logarithm: -inf where a state rules the reading out."""

    chances: Floats

    @cached_property
    def logarithm(self) -> Floats:
        """Ln P(reading | state)."""
        with np.errstate(divide="ignore"):
            return np.log(self.chances)


Likelihoods = Mapping[Evidence, Likelihood]
"""The readings of a case with what each says; a reading says the same as long as the problem is the same."""


def likelihood_of(problem: Problem, reading: Evidence) -> Likelihood:
    """What a reading says of every state."""
    table = problem.tables.checks[reading.check]
    return Likelihood(table.likelihood(problem.tables.space, np.array(reading.shares, dtype=np.float64)))


def wholly_normal(problem: Problem, reading: Evidence) -> bool:
    """Whether a reading lies in the normal outcome and nowhere else, so that `normal_logarithm` can weigh it."""
    table = problem.tables.checks[reading.check]
    if len(problem.tables.space.triple_first):
        return False
    return table.normal >= 0 and reading.shares[table.normal] == 1.0 and float(table.u[table.normal]) > 0.0


def normal_logarithm(problem: Problem, power: Sequence[tuple[str, float]]) -> Floats:
    """Sum over checks that read normal of power times ln P(normal | state), for every state of at most two causes.

    A check reads normal when none of the causes pushes it: the product of their y, or u where none moves it (see
    `tables`). The logarithm of a product is a sum, so all these checks take one matrix product together.
    """
    space, tables = problem.tables.space, [problem.tables.checks[check] for check, _ in power]
    weight = np.array([one for _, one in power])[:, None]
    y, z = np.array([table.y for table in tables]), np.array([table.z for table in tables])
    with np.errstate(divide="ignore"):
        spared = (weight * np.log(y)).sum(axis=0)
    unmoved = weight * np.log([[table.u[table.normal]] for table in tables]) * z
    none = float((weight[:, 0] * np.log([table.u[table.normal] for table in tables])).sum())
    pairs = (z.T @ unmoved + spared + spared[:, None]).ravel().take(space.pair_in_square)
    return np.concatenate([[none], spared + unmoved.sum(axis=0), pairs])


def group_exponent(read_in_group: int, share: float) -> float:
    """The power each of `read_in_group` readings of one group keeps: n_eff / n.

    n_eff = 1 + (n - 1)(1 - share): with a share of 0 every reading counts in full, with 1 all of
    them together count as one. It depends on the number only, so order cannot matter.
    """
    return (1.0 + (read_in_group - 1) * (1.0 - share)) / read_in_group


def exponents(problem: Problem, checks: Sequence[str]) -> dict[str, float]:
    """The power of each reading of an epoch, by check; a check read k times shares its power among them.

    The problem's `evidence_power` multiplies them all.
    """
    in_group: dict[str, set[str]] = {}
    for check in checks:
        in_group.setdefault(problem.check_named[check].group or f"\0{check}", set()).add(check)
    return {
        check: problem.evidence_power * group_exponent(len(members), problem.group_share) / checks.count(check)
        for members in in_group.values()
        for check in members
    }


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
