"""One reading taken from a recording: what was read, how sure, from where and how."""

from __future__ import annotations

import math
from dataclasses import dataclass

from troubleshoot.calculations.units import show_number
from troubleshoot.recordings.estimates import Estimate


@dataclass(frozen=True)
class TakenReading:
    """A reading for a check: the number and its standard uncertainty in `unit`, the stretch (s) and the method."""

    check: str
    value: float
    spread: float
    unit: str
    from_s: float
    to_s: float
    method: str
    of: str = ""
    """The quantity on whose axis the number lies; empty where it is a difference or a time."""
    at_s: float | None = None
    """The moment picked, where the number is that of a moment."""

    def text(self, instrument: float = 0.0) -> str:
        """Return what a person would type, the instrument's own uncertainty (in the same unit) joined in."""
        spread = math.hypot(self.spread, instrument)
        digits = 4 if spread <= 0 else max(0, 1 - math.floor(math.log10(spread)))
        return f"{self.value:.{min(digits, 6)}f} ± {show_number(float(f'{spread:.2g}'), 2)} {self.unit}"

    @property
    def stretch(self) -> str:
        """The stretch in words."""
        return f"{self.from_s:.4g} to {self.to_s:.4g} s"


def taken(
    check: str, found: Estimate, unit: str, stretch: tuple[float, float], method: str, of: str = "",
    at_s: float | None = None,
) -> TakenReading | None:  # fmt: skip
    """Return a reading; None where the number is not finite."""
    if not (math.isfinite(found.value) and math.isfinite(found.spread)):
        return None
    return TakenReading(check, found.value, found.spread, unit, float(stretch[0]), float(stretch[1]), method, of, at_s)
