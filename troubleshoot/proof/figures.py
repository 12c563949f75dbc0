"""What the proof comes to: first and first-three rates, minutes and parts, calibration, and the worst confusions."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.proof.walk import WalkResult

BINS = 10
ALMOST = 1.959963984540054
"""Standard deviations that hold 95 % of a normal distribution."""


@dataclass(frozen=True)
class Share:
    """A share of cases, with how many it was taken from."""

    hits: int
    cases: int

    @property
    def value(self) -> float:
        """Return the share; 0 when there were no cases."""
        return self.hits / self.cases if self.cases else 0.0

    @property
    def margin(self) -> float:
        """Return half of the 95 % interval of a share (score interval, Wilson 1927), never 0 for a finite number."""
        return 0.5 * (self.interval[1] - self.interval[0])

    @property
    def interval(self) -> tuple[float, float]:
        """Return the 95 % interval of a share (score interval, Wilson 1927)."""
        if not self.cases:
            return 0.0, 1.0
        squared = ALMOST**2 / self.cases
        middle = (self.value + squared / 2.0) / (1.0 + squared)
        spread = math.sqrt(self.value * (1.0 - self.value) * squared + squared**2 / 4.0) / (1.0 + squared)
        return middle - spread, middle + spread


@dataclass(frozen=True)
class CalibrationBin:
    """Cases in which the leading cause was given about this probability, and how often it was right."""

    low: float
    high: float
    stated: float
    right: Share


@dataclass(frozen=True)
class Figures:
    """The figures of one policy over a set of cases."""

    cases: int
    first: Share
    first_three: Share
    both_in_four: Share
    all_in_turn: Share
    gone: Share
    first_repair_cures: Share
    cured: Share
    minutes: float
    parts: float
    checks: float
    calibration: tuple[CalibrationBin, ...]
    calibration_error: float


def figures(results: Sequence[WalkResult]) -> Figures:
    """Return the figures of a set of walks."""
    number = len(results)
    ranks = [_ranks(one) for one in results]
    bins, error = _calibration(results)
    mean = max(number, 1)
    return Figures(
        cases=number,
        first=Share(sum(1 for rank in ranks if min(rank) == 0), number),
        first_three=Share(sum(1 for rank in ranks if min(rank) < 3), number),
        both_in_four=Share(sum(1 for rank in ranks if max(rank) < 4), number),
        all_in_turn=Share(sum(set(one.truth) <= set(one.in_turn) for one in results), number),
        gone=Share(sum(one.gone for one in results), number),
        first_repair_cures=Share(sum(one.first_cured for one in results), number),
        cured=Share(sum(one.cured for one in results), number),
        minutes=sum(one.minutes for one in results) / mean,
        parts=sum(one.parts for one in results) / mean,
        checks=sum(one.checks for one in results) / mean,
        calibration=bins,
        calibration_error=error,
    )


def _ranks(result: WalkResult) -> list[int]:
    """Return where each true cause stood in the ranking; a large number when it was not among the first."""
    ranks = []
    for truth in result.truth:
        places = [place for place, cause in enumerate(result.ranking) if same_cause(result.engine, truth, cause)]
        ranks.append(min(places, default=99))
    return ranks or [99]


def _calibration(results: Sequence[WalkResult]) -> tuple[tuple[CalibrationBin, ...], float]:
    """Return the reliability table of the leading cause's probability, and the expected calibration error.

    What is stated is the probability of that one cause, so here causes that cannot be told apart do not count as one.
    """
    bins = []
    error = 0.0
    for place in range(BINS):
        low, high = place / BINS, (place + 1) / BINS
        inside = [one for one in results if low <= one.stated < high or (place == BINS - 1 and one.stated == 1.0)]
        if not inside:
            continue
        stated = sum(one.stated for one in inside) / len(inside)
        right = Share(sum(1 for one in inside if one.ranking and one.ranking[0] in one.truth), len(inside))
        bins.append(CalibrationBin(low, high, stated, right))
        error += len(inside) / len(results) * abs(stated - right.value)
    return tuple(bins), error


@dataclass(frozen=True)
class Confusion:
    """A cause that was there and the one named in its place, how often, and one case to replay."""

    truth: str
    named: str
    times: int
    replay: int


def confusions(results: Sequence[WalkResult], most: int = 10) -> tuple[Confusion, ...]:
    """Return the commonest wrong leaders."""
    counted: Counter[tuple[str, str]] = Counter()
    example: dict[tuple[str, str], int] = {}
    for one in results:
        if min(_ranks(one)) == 0 or not one.ranking:
            continue
        pair = (" + ".join(one.truth), one.ranking[0])
        counted[pair] += 1
        example.setdefault(pair, one.number)
    return tuple(
        Confusion(truth, named, times, example[truth, named]) for (truth, named), times in counted.most_common(most)
    )
