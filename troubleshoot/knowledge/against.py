"""Two readings of one car held against each other: their difference or ratio as a reading with a check of its own.

A check says `against:` which other it is held, and what their difference or ratio reads. That makes a check that nobody
does: it has an id (`against_id`), bands and signatures like any other, and is worked out as soon as both are read.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from troubleshoot.calculations.units import convert, convert_difference
from troubleshoot.knowledge.model import Against, Check

RATIO_UNIT = "%"
"""What a ratio is given in."""


def against_id(check: str) -> str:
    """Return the id of what a check reads against another."""
    return f"{check}-against"


def against_checks(checks: Mapping[str, Check]) -> dict[str, Check]:
    """Return the checks that two readings make together, by their ids."""
    return {
        against_id(name): _as_check(check, check.against) for name, check in checks.items() if check.against is not None
    }


def _as_check(check: Check, against: Against) -> Check:
    return Check(
        ask=against.ask,
        why=check.why,
        do=["Nothing is done: it is worked out from two readings."],
        state=check.state,
        minutes=1.0,
        reading=against.reading,
        bands=against.bands,
        normal=against.normal,
        usual=against.usual,
        basis=against.basis,
        moved_by=against.moved_by,
        for_=check.for_,
    )


def held_against(
    against: Against, unit: str, read: tuple[float, float], other_unit: str, other: tuple[float, float]
) -> tuple[float, float, float] | None:
    """Return difference or ratio, its standard uncertainty, and how far it moves when the reading moves by one unit.

    A reading is its value and uncertainty, each in its `unit`; the two are taken as independent. None for a ratio to
    nothing.

    >>> from troubleshoot.knowledge.model import Band, Instrument
    >>> bands = [Band(outcome="less", to=-3), Band(outcome="same")]
    >>> reading = Instrument(unit="deg dist", plausible=[-40, 40], uncertainty=0.8)
    >>> dwell = Against(check="dwell-at-idle", ask="Dwell lost", reading=reading, bands=bands, normal="same", basis="b")
    >>> held_against(dwell, "deg dist", (24.0, 0.7), "deg dist", (30.0, 0.5))
    (-6.0, 0.8602325267042626, 1.0)
    """
    value, spread = read
    base, base_spread = convert(other[0], other_unit, unit), abs(convert_difference(other[1], other_unit, unit))
    if against.as_ == "difference":
        factor = convert_difference(1.0, unit, against.reading.unit)
        return (value - base) * factor, abs(factor) * math.hypot(spread, base_spread), abs(factor)
    if base == 0.0:
        return None
    ratio, factor = 100.0 * value / base, abs(100.0 / base)
    return ratio, factor * math.hypot(spread, base_spread * value / base), factor
