"""What a number looks like that was grossly misread: the wrong unit or scale, the wrong terminal, or something else.

A third of such numbers is a right reading in the wrong unit or with the decimal point elsewhere, a third is what an
instrument shows that is joined to nothing, and a third is anything that the check can show. The shares are even for
want of better (from memory; nobody has counted them in a workshop). So a number that would be right a thousand times
larger is more likely a slip than the sign of a fault that no listed cause has.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from troubleshoot.knowledge.bands import BandLimit
from troubleshoot.knowledge.model import Check

DECIMAL = 10.0
"""The decimal place, in any unit; this factor and all others work both ways."""

UNITS = (
    (frozenset({"psi", "psia", "kPa", "kPa abs", "inHg"}), (6.895, 3.386)),
    (frozenset({"mm", "in"}), (25.4,)),
    (frozenset({"V", "mV", "kV", "A", "mA", "ohm", "kohm", "s", "ms", "uF"}), (1000.0,)),
)
"""What may be taken for one another, with the factors between: psi, kPa and inHg; inch and millimetre; thousandths.

By their definitions (NIST Special Publication 811, appendix B, from memory). No other unit of a reading is mistaken for
another: a speed or a share is not in inches.
"""

JOINED = frozenset({"V", "mV", "A", "mA", "psi", "psia", "kPa", "kPa abs", "inHg", "L/h"})
"""Units of instruments that are joined to the car by leads or hoses, and show nothing when they are not."""

NOTHING = 1 / 3
"""A band that ends this far below where normal begins is there for nothing at all."""

SOUND = 0.7
"""The share of right readings that lie in the normal band; the others lie anywhere.

A slip that turned one normal number into another is left out, for it changes nothing.
"""


def density_when_wrong(check: Check, bands: Sequence[BandLimit], value: float) -> float:
    """Return how likely a number is, per unit of the check, when it was grossly misread; 0 for a check that is seen."""
    if check.reading is None:
        return 0.0
    least, most = check.reading.plausible
    blur = 2.0 * check.reading.uncertainty
    normal = [band for band in bands if band.normal]
    ranges = [(1.0 - SOUND, least, most)]
    if normal and not normal[0].low < value <= normal[-1].high:
        ranges.append((SOUND, max(normal[0].low, least), min(normal[-1].high, most)))
    slips = [DECIMAL, *(one for units, between in UNITS if check.reading.unit in units for one in between)]
    factors = [*slips, *(1.0 / one for one in slips)]
    scaled = sum(
        share / (one * (high - low) + blur)
        for one in factors
        for share, low, high in ranges
        if low <= value / one <= high and low < high
    )
    dead = 1.0 / max(blur, _for_nothing(bands, least)) if _joined_to_nothing(check, value) and len(ranges) > 1 else 0.0
    return (1.0 / (most - least) + scaled / len(factors) + dead) / 3.0


def _for_nothing(bands: Sequence[BandLimit], least: float) -> float:
    """Return how far the band for nothing at all reaches; 0 where a check has none.

    With an open circuit or a still pump a right reading is zero as well, so zero tells the two no better apart than
    the outcome does.
    """
    begins = next((band.low for band in bands if band.normal), -math.inf)
    lowest = bands[0].high
    return lowest - least if lowest <= NOTHING * begins else 0.0


def _joined_to_nothing(check: Check, value: float) -> bool:
    """Return whether a number is what an instrument shows that is joined to nothing: zero, to its uncertainty."""
    return check.reading is not None and check.reading.unit in JOINED and abs(value) <= check.reading.uncertainty
