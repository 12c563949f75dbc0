"""Injector current on an oscilloscope: when the pintle opens, by the kink it puts in the rise of the current.

Current rises as (V/R)(1 - exp(-t R/L)); the moving pintle induces a voltage against it, so that the slope dips at the
opening and recovers (physics of a solenoid; to read the kink as the opening is common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from troubleshoot.recordings.capture import Numbers
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import Estimate

CUT_AT = 0.95
"""Share of the peak that the current last has when it is cut off."""
KINK_LEAST = 0.3
"""Share of the first slope that the slope must recover by after its dip."""


@dataclass(frozen=True)
class InjectorReading:
    """What the current tells: opening delay (ms, None where the pintle does not move), pulse width (ms), peak (A)."""

    delay: Estimate | None
    width: Estimate
    peak: Estimate
    pulses: int

    @property
    def stuck(self) -> bool:
        """Whether no kink shows: the pintle does not move."""
        return self.delay is None


def injector_reading(amperes: Numbers, rate_hz: float) -> InjectorReading:
    """Return what an injector's current tells, all pulses laid over each other; RecordingRefused without pulses."""
    low, high = float(np.percentile(amperes, 5)), float(np.percentile(amperes, 99.8))
    if high - low < 0.05:
        raise RecordingRefused("No injector pulse is in this capture — look at the clamp and its range")
    on = amperes > low + 0.12 * (high - low)
    edges = np.diff(on.astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1).astype(np.int64), np.flatnonzero(edges == -1)
    ends = ends[ends > (starts[0] if starts.size else 0)]
    count = min(starts.size, ends.size)
    lengths = (ends[:count] - starts[:count]).astype(np.float64)
    keep = lengths > max(6.0, 0.3 * (np.median(lengths) if count else 0.0))
    starts, lengths = starts[:count][keep], lengths[keep]
    if not starts.size:
        raise RecordingRefused("No injector pulse is in this capture — look at the clamp and its range")
    width = int(np.median(lengths)) + 4
    starts = starts[(starts > 6) & (starts + width < amperes.size)]
    if not starts.size:
        raise RecordingRefused("No whole injector pulse is in this capture — capture for longer")
    finer = 4
    begun, shape = _laid_over(amperes, starts, width, low, high, finer)
    delay = _kink(shape, begun, rate_hz * finer)
    spread_ms = 1e3 / rate_hz / np.sqrt(max(1, starts.size))
    cut = int(np.flatnonzero(shape > low + CUT_AT * (shape.max() - low))[-1])
    return InjectorReading(
        None if delay is None else Estimate(delay * 1e3, max(spread_ms, 0.02)),
        Estimate((cut - begun) / (rate_hz * finer) * 1e3, max(spread_ms, 0.05)),
        Estimate(high - low, float(np.std(amperes[amperes < low + 0.1 * (high - low)]))),
        int(starts.size),
    )


def begun_before(shape: Numbers, low: float, high: float) -> float:
    """Return how many samples before the mark at 12 % the current began to rise, its first slope drawn back."""
    mark = int(np.argmax(shape > low + 0.12 * (high - low)))
    ahead = min(shape.size - 1, mark + max(4, shape.size // 40))
    slope = float(shape[ahead] - shape[mark]) / max(1, ahead - mark)
    return 0.12 * (high - low) / slope if slope > 0 else 0.0


def _laid_over(
    amperes: Numbers, starts: NDArray[np.int64], width: int, low: float, high: float, finer: int
) -> tuple[float, Numbers]:
    """Return where the current begins and the mean of all pulses, on a grid finer than the samples."""
    grid = np.arange(-4.0, width, 1.0 / finer)
    level = low + 0.12 * (high - low)
    places = np.arange(amperes.size)
    parts = []
    for start in starts[:2000].tolist():
        rise = amperes[start + 1] - amperes[start]
        share = (level - amperes[start]) / rise if rise > 0 else 0.5
        window = slice(max(0, start - 6), start + width + 3)
        parts.append(np.interp(start + float(np.clip(share, 0, 1)) + grid, places[window], amperes[window]))
    shape = np.mean(parts, axis=0)
    mark = int(np.argmax(shape > level))
    return mark - begun_before(shape, low, high), shape


def _kink(shape: Numbers, begun: float, rate_hz: float) -> float | None:
    """Return the seconds from the current's beginning to the deepest dip of its slope; None where it shows none."""
    first = int(max(0.0, begun)) + 2
    width = max(5, int(0.00015 * rate_hz)) | 1
    smooth = np.convolve(shape, np.hanning(width + 2)[1:-1] / np.hanning(width + 2)[1:-1].sum(), mode="same")
    end = int(np.flatnonzero(smooth > 0.9 * smooth.max())[-1]) - 2 * width
    slope = np.diff(smooth)[first + width : end]
    if slope.size < 8:
        return None
    steepest = float(np.max(slope[: max(4, slope.size // 6)]))
    lowest = np.minimum.accumulate(slope)
    recovered = slope - lowest
    place = int(np.argmax(recovered))
    own = float(np.median(np.abs(np.diff(slope, 2)))) / 0.6745
    if steepest <= 0 or recovered[place] < max(KINK_LEAST * steepest, 3 * own):
        return None
    dip = int(np.argmin(slope[: place + 1]))
    return (first + width + dip + 0.5 - begun) / rate_hz
