"""Errors of the reasoning: which number or name was wrong, and what it must be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import chain

import numpy as np

from troubleshoot.problems import TroubleshootError

SUM_TOLERANCE = 1e-9
"""A distribution must sum to 1 within this."""


class ProblemRefused(TroubleshootError):
    """A problem that does not hang together: an unknown name, a probability that cannot be."""


class EvidenceRefused(TroubleshootError):
    """A reading, repair or retest that cannot be reasoned about: unknown, not finite, or not a share."""


def refuse_bad_number(what: str, value: float, low: float, high: float = math.inf) -> None:
    """Raise `ProblemRefused` unless `value` is finite and lies in low..high."""
    if not (math.isfinite(value) and low <= value <= high):
        upper = "" if high == math.inf else f" and at most {high:g}"
        raise ProblemRefused(f"The {what} is {value}.", f"It must be a number of at least {low:g}{upper}.")


def refuse_bad_distribution(what: str, shares: Sequence[float], length: int) -> None:
    """Raise `ProblemRefused` unless `shares` has `length` members in 0..1 that sum to 1."""
    if len(shares) != length:
        raise ProblemRefused(f"The {what} have {len(shares)} probabilities for {length} outcomes.", "Give one each.")
    for share in shares:
        refuse_bad_number(what, share, 0.0, 1.0)
    if abs(math.fsum(shares) - 1.0) > SUM_TOLERANCE:
        raise ProblemRefused(f"The {what} sum to {math.fsum(shares):.9g}.", "They must sum to 1.")


def all_distributions(wanted: Sequence[int], given: Sequence[Sequence[float]]) -> bool:
    """Return whether every one of many has as many members as wanted, in 0..1, and sums to 1 beyond doubt."""
    lengths = np.array([len(shares) for shares in given], dtype=np.intp)
    if not lengths.all() or not np.array_equal(lengths, np.array(wanted, dtype=np.intp)):
        return False
    flat = np.fromiter(chain.from_iterable(given), np.float64, int(lengths.sum()))
    ends = np.cumsum(lengths)
    sums = np.add.reduceat(flat, ends - lengths) if given else flat
    # Not finite is never within 0..1; half the tolerance leaves the doubtful to the exact sum.
    return bool(((flat >= 0.0) & (flat <= 1.0)).all() and (np.abs(sums - 1.0) <= 0.5 * SUM_TOLERANCE).all())


def refuse_repeated(what: str, names: Iterable[str]) -> None:
    """Raise `ProblemRefused` when a name occurs twice."""
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise ProblemRefused(f"The {what} {name!r} is listed twice.", "Give each its own id.")
        seen.add(name)
