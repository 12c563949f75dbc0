"""What closed cases teach: how often each cause was proved, as Dirichlet counts on the trees' own rates."""

from __future__ import annotations

from collections.abc import Mapping

TREES_COUNT_AS = 60.0
"""How many closed cases the trees' own rates weigh as much as; a person's first few cases move little."""


def learned_rates(
    rates: Mapping[str, float], proved: Mapping[str, int], trees_count_as: float = TREES_COUNT_AS
) -> dict[str, float]:
    """Return base rates after the proved causes are added.

    The rates' shares are the mean of a Dirichlet distribution of weight `trees_count_as`; each proved cause adds
    one to its count. The sum of the rates stays what it was: cases tell which cause it is, not how often cars fail.
    A cause the rates do not know is left out.
    """
    total = sum(rates.values())
    counted = {cause: count for cause, count in proved.items() if cause in rates and count > 0}
    cases = sum(counted.values())
    if not cases or total <= 0:
        return dict(rates)
    weight = trees_count_as + cases
    return {
        cause: min(0.95, total * (trees_count_as * rate / total + counted.get(cause, 0)) / weight)
        for cause, rate in rates.items()
    }
