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
    """What a reading says of every state; `EvidenceRefused` for one that cannot be."""
    _refuse_bad_reading(problem, reading)
    table = problem.tables.checks[reading.check]
    return Likelihood(table.likelihood(problem.tables.space, np.array(reading.shares, dtype=np.float64)))


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


def _refuse_bad_reading(problem: Problem, reading: Evidence) -> None:
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
