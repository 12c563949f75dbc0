"""Turn the frequencies a check is written with into distributions over its outcomes."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.model import Check, Frequency

NORMAL_USUALLY = 0.94
"""How often a check that says nothing else reads normal when no listed cause moves it."""

FLOOR = 0.01
"""This share of every distribution is spread evenly, so that no reading is ever impossible."""

WHY = "why"
"""The one key of a signature that is words and no outcome."""


class Signatures:
    """The distributions of a catalogue's checks, each worked out once; for those who compile many problems."""

    def __init__(self, checks: Mapping[str, Check]) -> None:
        self._checks = checks
        self._kept: dict[tuple[str, str | None], tuple[float, ...]] = {}
        self._moved: dict[str, dict[str, tuple[float, ...]]] = {}

    def usual(self, check: str) -> tuple[float, ...]:
        """Return a check's distribution when no listed cause moves it."""
        return self._once((check, None), lambda: usual_shares(self._checks[check]))

    def of(self, check: str, cause: str) -> tuple[float, ...]:
        """Return a check's distribution when this cause alone is present; KeyError if it does not move the check."""
        return self._once((check, cause), lambda: signature_shares(self._checks[check], cause))

    def moved(self, check: str) -> Mapping[str, tuple[float, ...]]:
        """Return a check's distribution under each of the causes that move it."""
        if check not in self._moved:
            self._moved[check] = {cause: self.of(check, cause) for cause in self._checks[check].moved_by}
        return self._moved[check]

    def broad(self, check: str) -> tuple[float, ...]:
        """Return a check's distribution under a cause nobody listed."""
        return self._once((check, ""), lambda: broad_shares(self._checks[check]))

    def _once(self, key: tuple[str, str | None], make: Callable[[], tuple[float, ...]]) -> tuple[float, ...]:
        if key not in self._kept:
            self._kept[key] = make()
        return self._kept[key]


def usual_shares(check: Check) -> tuple[float, ...]:
    """Return the distribution of a check's outcomes when no listed cause moves it."""
    if check.usual:
        return with_floor(completed(check, check.usual))
    if check.normal is None or len(check.outcomes) == 1:
        return tuple(1.0 / len(check.outcomes) for _ in check.outcomes)
    rest = (1.0 - NORMAL_USUALLY) / (len(check.outcomes) - 1)
    return with_floor(tuple(NORMAL_USUALLY if one == check.normal else rest for one in check.outcomes))


def signature_shares(check: Check, cause: str) -> tuple[float, ...]:
    """Return the distribution of outcomes when this cause alone is present; KeyError if it does not move the check."""
    return with_floor(completed(check, check.moved_by[cause]))


def broad_shares(check: Check) -> tuple[float, ...]:
    """Return the distribution under a cause nobody listed: the usual one, well flattened."""
    even = 1.0 / max(1, len(check.outcomes))
    return _summing_to_one(tuple(0.6 * share + 0.4 * even for share in usual_shares(check)))


def named_frequencies(signature: Mapping[str, Frequency]) -> dict[str, Frequency]:
    """Return a signature's outcomes without its `why`."""
    return {outcome: value for outcome, value in signature.items() if outcome != WHY}


def completed(check: Check, signature: Mapping[str, Frequency]) -> tuple[float, ...]:
    """Return a whole distribution: what is named, the rest to the normal outcome, else evenly to those unnamed."""
    outcomes = check.outcomes
    named = {one: frequency(value) for one, value in signature.items() if one != WHY and one in outcomes}
    rest = max(0.0, 1.0 - math.fsum(named.values()))
    if check.normal is not None and check.normal not in named:
        takers: tuple[str, ...] = (check.normal,)
    else:
        takers = tuple(one for one in outcomes if one not in named)
    for one in takers:
        named[one] = rest / len(takers)
    return _summing_to_one(tuple([named.get(one, 0.0) for one in outcomes]))


def with_floor(shares: tuple[float, ...]) -> tuple[float, ...]:
    """Return a distribution with the floor mixed in, summing to 1; nothing for a check without outcomes."""
    even = FLOOR / max(1, len(shares))
    return _summing_to_one(tuple((1.0 - FLOOR) * share + even for share in shares))


def _summing_to_one(shares: tuple[float, ...]) -> tuple[float, ...]:
    total = math.fsum(shares)
    if total <= 0.0:
        return tuple(1.0 / len(shares) for _ in shares)
    return tuple(share / total for share in shares)
