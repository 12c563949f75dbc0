"""Turn the frequencies a check is written with into distributions over its outcomes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from troubleshoot.knowledge.against import against_checks
from troubleshoot.knowledge.bands import bands_for, share_in_bands
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.degrees import (
    Leaf,
    Variant,
    expects_number,
    grosser,
    milder,
    variants_of,
    ways_named,
    written_for,
)
from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.limits import expected_number
from troubleshoot.knowledge.model import DEGREES, Cause, Check, Expects, Frequency
from troubleshoot.problems import TroubleshootError

NORMAL_USUALLY = 0.96
"""How often a check that says nothing else reads normal when no listed cause moves it."""

FLOOR = 0.003
"""This share of every distribution is spread evenly, so that no reading is ever impossible."""


MOST_ON_CARS = 2000
"""Of so many checks that expect a number what comes on a car is kept: those of some twenty cars."""

Shares = tuple[float, ...]
"""A distribution over the outcomes of a check."""


class Signatures:
    """The distributions of a catalogue's checks, each worked out once; for those who compile many problems."""

    def __init__(self, checks: Mapping[str, Check], causes: Mapping[str, Cause] | None = None) -> None:
        self._checks, self._causes = {**checks, **against_checks(checks)}, causes or {}
        self._kept: dict[tuple[str, str | None], Shares] = {}
        self._moved: dict[str, dict[str, tuple[Shares | None, ...]]] = {}
        self._on_car: dict[tuple[str, Car], dict[str, tuple[Shares | None, ...]]] = {}

    def usual(self, check: str) -> Shares:
        """Return a check's distribution when no listed cause moves it."""
        return self._once((check, None), lambda: unseen(self._checks[check], None, usual_shares(self._checks[check])))

    def of(self, check: str, cause: str) -> Shares:
        """Return a check's distribution when this cause alone is present and clear; KeyError if it moves nothing."""
        return self._once((check, cause), lambda: signature_shares(self._checks[check], cause, self._causes.get(cause)))

    def moved(self, check: str, car: Car) -> Mapping[str, tuple[Shares | None, ...]]:
        """Return a check's distribution for each variant of each of the causes that move it; None: left alone."""
        known = self._checks[check]
        if check not in self._moved:
            self._moved[check] = {
                cause: self._variants(check, cause, car)
                for cause, signature in known.moved_by.items()
                if not expects_number(signature)
            }
        numbers = [cause for cause in known.moved_by if cause not in self._moved[check]]
        if not numbers:
            return self._moved[check]
        if (check, car) not in self._on_car:
            if len(self._on_car) >= MOST_ON_CARS:
                self._on_car.clear()
            self._on_car[check, car] = {cause: self._variants(check, cause, car) for cause in numbers}
        return self._moved[check] | self._on_car[check, car]

    def _variants(self, check: str, cause: str, car: Car) -> tuple[Shares | None, ...]:
        known = self._checks[check]
        each = shares_of_forms(known, known.moved_by[cause], variants_of(self._causes.get(cause)), car)
        return tuple([None if shares is None else unseen(known, cause, shares) for shares in each])

    def broad(self, check: str) -> Shares:
        """Return a check's distribution under a cause nobody listed."""
        return self._once((check, ""), lambda: unseen(self._checks[check], "", broad_shares(self._checks[check])))

    def _once(self, key: tuple[str, str | None], make: Callable[[], Shares]) -> Shares:
        if key not in self._kept:
            self._kept[key] = make()
        return self._kept[key]


def unseen(check: Check, cause: str | None, shares: Shares) -> Shares:
    """Return a distribution without the outcomes in which another cause than this one is itself seen."""
    others = [one.outcome for one in check.choices if one.shows is not None and one.shows != cause]
    if not others:
        return shares
    return _summing_to_one([0.0 if one in others else share for one, share in zip(check.outcomes, shares, strict=True)])


def usual_shares(check: Check) -> tuple[float, ...]:
    """Return the distribution of a check's outcomes when no listed cause moves it."""
    if check.usual:
        return with_floor(completed(check, check.usual))
    if check.normal is None or len(check.outcomes) == 1:
        return tuple(1.0 / len(check.outcomes) for _ in check.outcomes)
    rest = (1.0 - NORMAL_USUALLY) / (len(check.outcomes) - 1)
    return with_floor(tuple(NORMAL_USUALLY if one == check.normal else rest for one in check.outcomes))


def signature_shares(check: Check, cause: str, known: Cause | None = None) -> tuple[float, ...]:
    """Return the outcomes when this cause alone is present, clear, its ways together as often as they come.

    KeyError if the cause does not move the check. Where nothing more is `known` of the cause its ways come evenly.
    """
    signature = check.moved_by[cause]
    ways: Mapping[str, float] = known.ways if known is not None else dict.fromkeys(ways_named(signature), 1.0)
    if not ways:
        return variant_shares(check, signature, Variant("clear", None, 1.0)) or usual_shares(check)
    usual, total = usual_shares(check), math.fsum(ways.values())
    each = [variant_shares(check, signature, Variant("clear", way, 1.0)) or usual for way in ways]
    return tuple(
        math.fsum(share * one[at] for share, one in zip(ways.values(), each, strict=True)) / total
        for at in range(len(usual))
    )


def variant_shares(
    check: Check, signature: Mapping[str, Any], variant: Variant, car: Car | None = None
) -> tuple[float, ...] | None:
    """Return the outcomes in one degree and way of a cause; None where that way leaves the check alone.

    A number to expect is worked out for the `car`, by default one with every field as usual.
    """
    return next(shares_of_forms(check, signature, (variant,), car))


def shares_of_forms(
    check: Check, signature: Mapping[str, Any], forms: Sequence[Variant], car: Car | None = None
) -> Iterator[tuple[float, ...] | None]:
    """Return the same for several forms, way by way; what a way says is worked out once for all of its degrees."""
    for way, degrees in groupby(forms, lambda form: form.way):
        written, drawn = written_for(signature, way), dict[str, Shares]()
        for form in degrees:
            yield _in_degree(check, written, drawn, form.degree, car or Car()) if written else None


def _in_degree(check: Check, written: Mapping[str, Leaf], drawn: dict[str, Shares], degree: str, car: Car) -> Shares:
    """The outcomes in a degree: as written, else from the clear ones or the first that are; `drawn` keeps those."""
    written_as = degree if degree in written else "clear" if "clear" in written else next(iter(written))
    leaf = written[written_as]
    if isinstance(leaf, Expects):
        return with_floor(expected_shares(check, leaf, car))
    if written_as not in drawn:
        drawn[written_as] = completed(check, leaf, seen=bool(check.choices and check.usual and check.normal))
    shares, at, wanted = drawn[written_as], DEGREES.index(written_as), DEGREES.index(degree)
    while at != wanted:
        shares, at = (milder(check, shares), at - 1) if at > wanted else (grosser(check, shares), at + 1)
    return with_floor(shares)


def expected_shares(check: Check, expects: Expects, car: Car) -> tuple[float, ...]:
    """Return how often each band comes where a number is to be expected.

    Where it cannot be worked out on this car (the linter says so) nothing much is expected.
    """
    try:
        number = expected_number(check, expects, car)
    except TroubleshootError:
        return broad_shares(check)
    width = math.hypot(number.uncertainty, check.uncertainty)
    return share_in_bands(number.value, width, bands_for(check, car))


def broad_shares(check: Check) -> tuple[float, ...]:
    """Return the distribution under a cause nobody listed: the usual one, well flattened."""
    even = 1.0 / max(1, len(check.outcomes))
    return _summing_to_one([0.6 * share + 0.4 * even for share in usual_shares(check)])


def completed(check: Check, signature: Mapping[str, Frequency], seen: bool = False) -> tuple[float, ...]:
    """Return a whole distribution: what is named, the rest to the normal outcome, else evenly to those unnamed.

    Where the cause is `seen` beside what any car may show, as in a look with `usual:`, the rest goes as usual to all
    that is not named: new wiring on a car with old fuel, a gearbox without a cable.
    """
    outcomes = check.outcomes
    named = {one: frequency(value) for one, value in signature.items() if one in outcomes}
    rest = max(0.0, 1.0 - math.fsum(named.values()))
    usual = dict(zip(outcomes, usual_shares(check), strict=True)) if seen else {}
    if check.normal is not None and check.normal not in named and not seen:
        takers = {check.normal: 1.0}
    else:
        takers = {one: usual.get(one, 1.0) for one in outcomes if one not in named}
    taken = math.fsum(takers.values())
    for one, weight in takers.items():
        named[one] = rest * weight / taken
    return _summing_to_one([named.get(one, 0.0) for one in outcomes])


def with_floor(shares: tuple[float, ...]) -> tuple[float, ...]:
    """Return a distribution with the floor mixed in, summing to 1; nothing for a check without outcomes."""
    even = FLOOR / max(1, len(shares))
    return _summing_to_one([(1.0 - FLOOR) * share + even for share in shares])


def _summing_to_one(shares: Sequence[float]) -> tuple[float, ...]:
    total = math.fsum(shares)
    if total <= 0.0:
        return (1.0 / len(shares),) * len(shares) if shares else ()
    return tuple([share / total for share in shares])
