"""The bands a number may fall in, and what share of an uncertain reading lies in each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import assert_never

from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.limits import LimitRefused, LimitValue, Readings, limit_value
from troubleshoot.knowledge.model import Check, Look, Number


@dataclass(frozen=True)
class BandLimit:
    """One outcome as a stretch of numbers in the check's unit, open at the ends.

    `uncertainty` is the standard uncertainty of `high`; `why` says how a limit that was worked out was come by.
    """

    outcome: str
    words: str
    low: float
    high: float
    uncertainty: float
    normal: bool
    why: str = ""


def bands_for(
    check: Check, car: Car, readings: Readings | None = None, checks: Mapping[str, Check] | None = None
) -> tuple[BandLimit, ...]:
    """Return a check's bands from low to high for this car, its limits worked out from what has been read.

    Plain numbers in `readings` are in the unit of their own check, found in `checks` (the catalogue's).
    Where a calculated limit passes the one after it, the later one holds and the band between is empty on this car.
    A check that is seen and not measured has none. LimitRefused when a limit cannot be worked out.
    """
    match check.kind:
        case Look():
            return ()
        case Number(instrument=instrument, bands=bands):
            pass
        case never:
            assert_never(never)
    unit = instrument.unit
    limits = [LimitValue(math.inf, 0.0) if one.to is None else limit_value(one.to, unit, car, readings or {}, checks)
              for one in bands]  # fmt: skip
    made: list[BandLimit] = []
    low = -math.inf
    for position, (band, limit) in enumerate(zip(bands, limits, strict=True)):
        high = min(later.value for later in limits[position:])
        made.append(BandLimit(band.outcome, band.words, low, high, limit.uncertainty, band.outcome == check.normal,
                              limit.words))  # fmt: skip
        low = high
    return tuple(made)


def share_in_bands(value: float, uncertainty: float, bands: Sequence[BandLimit]) -> tuple[float, ...]:
    """Return the share of a reading N(value, uncertainty) that lies in each band; the shares sum to 1.

    The uncertainty of a limit is combined with that of the reading (root of the sum of squares). With none at all the
    reading lies in one band; a value on a limit belongs to the band below it.
    """
    if not (math.isfinite(value) and math.isfinite(uncertainty) and uncertainty >= 0.0):
        raise LimitRefused("A reading must be a finite number with an uncertainty of at least 0.", "Read it again.")
    below, total = 0.0, []
    for band in bands:
        reaches = max(below, _share_below(band.high, value, math.hypot(uncertainty, band.uncertainty)))
        total.append(reaches - below)
        below = reaches
    return tuple(share / below for share in total) if below > 0.0 else tuple(0.0 for _ in bands)


def _share_below(limit: float, value: float, spread: float) -> float:
    if limit == math.inf:
        return 1.0
    if spread == 0.0:
        return 1.0 if value <= limit else 0.0
    return 0.5 * math.erfc((value - limit) / (spread * math.sqrt(2.0)))
