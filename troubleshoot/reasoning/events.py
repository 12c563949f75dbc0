"""What can happen in a case, as far as belief is concerned."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Evidence:
    """A reading of a check: the share of it that lies in each outcome; the shares sum to 1.

    How large a number is inside an outcome may speak too. `sizes` has, for each outcome, how likely a number of this
    size is there against an even spread: where nothing is wrong, and with a mild, clear and gross cause. `leaning` has
    how likely it is inside the normal outcome where a cause pulls towards the outcomes before it, and behind it, but
    not far enough. `expected`
    names variants (cause, number of the variant) that make the check read one certain number, with how likely this
    reading is then against an even spread over its outcome; these take the place of the variant's outcomes.
    `wrong` is how likely a number like this one is if it is grossly wrong, against an even spread over its outcome; any
    outcome is as likely as any other where it is not given. `mistake` is the share of gross mistakes among such
    readings, where it is not that of the problem: what one's own eyes have seen is hardly ever wrong, nor is what was
    read twice.
    """

    check: str
    shares: tuple[float, ...]
    sizes: tuple[tuple[float, float, float, float], ...] = ()
    leaning: tuple[float, float] | None = None
    expected: tuple[tuple[str, int, float], ...] = ()
    wrong: float | None = None
    mistake: float | None = None
    compared: Compared | None = None


@dataclass(frozen=True)
class Compared:
    """A reading held against that of another check of the same epoch: what their difference or ratio says.

    `evidence` is of the problem's compared check, `beside` the other check. `density` is how densely the outcomes of
    the compared check spread over the number, against those of the reading's own check.
    """

    beside: str
    evidence: Evidence
    density: float


@dataclass(frozen=True)
class Repaired:
    """A repair has been made."""

    repair: str


@dataclass(frozen=True)
class Looked:
    """The part a repair would renew was looked at; `found` says whether one of its causes was there."""

    repair: str
    found: bool


@dataclass(frozen=True)
class Retested:
    """The car was tried again: 1 the concern is still there, 0 it is gone, between: partly better."""

    remains: float


Happening = Evidence | Repaired | Looked | Retested
"""Anything belief can take in."""
