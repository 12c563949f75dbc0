"""What closed cases teach: how often each cause was proved, as Dirichlet counts on the trees' own rates."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

TREES_COUNT_AS = 200.0
"""How many cars brought in the trees' own rates weigh as much as.

A cause met in 2 of 100 cars then stands on 4 of them, which is what a rate from memory is good for: right within a
factor of two. One closed case moves it by a quarter.
"""

LEAST_TOLD = 0.1
"""A rate that experience changes by less than this share is not worth a word."""


class Learned(NamedTuple):
    """A cause whose rate experience has changed: how often it was proved, and its rate before and after."""

    cause: str
    proved: int
    before: float
    after: float


def learned_rates(
    rates: Mapping[str, float], proved: Mapping[str, int], trees_count_as: float = TREES_COUNT_AS
) -> dict[str, float]:
    """Return base rates (of cars brought in, the share that has the cause) after the proved causes are added.

    The causes of `trees_count_as` cars are what the trees stand on: a Dirichlet distribution over the shares of the
    causes, with the count `trees_count_as` times its rate for each. Every proved cause adds one. The sum of the rates
    stays what it was: cases tell which cause it is, not how often cars fail. A cause the rates do not know is left out.
    """
    total = sum(rates.values())
    counted = {cause: count for cause, count in proved.items() if cause in rates and count > 0}
    cases = sum(counted.values())
    if not cases or total <= 0:
        return dict(rates)
    weight = trees_count_as * total + cases
    return {
        cause: min(0.95, total * (trees_count_as * rate + counted.get(cause, 0)) / weight)
        for cause, rate in rates.items()
    }


def taught(rates: Mapping[str, float], proved: Mapping[str, int]) -> tuple[Learned, ...]:
    """Return the proved causes whose rate experience has changed enough to be told, the most changed first."""
    learned = learned_rates(rates, proved)
    found = [Learned(one, proved[one], rates[one], learned[one]) for one in proved if one in rates and proved[one] > 0]
    told = [one for one in found if one.before > 0.0 and abs(one.after / one.before - 1.0) >= LEAST_TOLD]
    return tuple(sorted(told, key=lambda one: (-one.after / one.before, one.cause)))
