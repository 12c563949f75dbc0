"""Numbers with their uncertainty from samples that hang together: means, swings, lowest and highest moments.

Every uncertainty is one standard deviation. Samples of a log are not independent: a mean of n samples is worth only
n / (1 + 2 sum of the autocorrelations) of them (Bartlett 1946; Priestley, Spectral Analysis and Time Series, 5.3).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

NOISE_BAND = 1.881
"""Half the band from 3 to 97 % of a normal distribution of deviation 1 (any table of the normal distribution)."""
COARSE_STEP_S, COARSE_SHARE = 0.12, 0.2
"""Samples further apart than this do not tell noise from movement; that share of the band is then unsure."""
CUT_OFF_FROM = 0.08
"""Share of equal extreme samples from which a display is taken to end there."""
DRIFT_OF_SWING = 0.6
"""A line fitted to two or three swings rises by up to this share of them; what rises more is drift."""
RESAMPLED = 60
"""Times that blocks are drawn anew for the uncertainty of a swing (block bootstrap, Kuensch 1989)."""


class Estimate(NamedTuple):
    """A number and its standard uncertainty, in the unit of the samples."""

    value: float
    spread: float


def mean(values: Numbers) -> Estimate:
    """Return the mean of finite samples in their order in time, and its uncertainty; at least one sample."""
    count = values.size
    with np.errstate(over="ignore", invalid="ignore"):
        centre = float(np.mean(values))
    if count < 4:
        return Estimate(centre, float(np.std(values)) if count > 1 else 0.0)
    level = values - centre
    scatter = float(level @ level) / (count - 1)
    if scatter <= 0.0:
        return Estimate(centre, 0.0)
    longest = min(count // 3, 4000)
    size = 1 << int(2 * count - 1).bit_length()
    power = np.abs(np.fft.rfft(level, size)) ** 2
    along = np.fft.irfft(power, size)[:longest] / (scatter * count)
    below = np.flatnonzero(along <= 0.0)
    end = int(below[0]) if below.size else longest
    together = max(1.0, 1.0 + 2.0 * float(along[1:end].sum()))
    error = float(np.sqrt(scatter * min(together, count / 2) / count))
    return Estimate(centre, float(np.hypot(error, _cut_off(values) * np.sqrt(scatter))))


def _cut_off(values: Numbers) -> float:
    """Return the share of samples that lie at the lowest or highest shown, where the display ends and noise is cut."""
    share = max(float(np.mean(values == values.min())), float(np.mean(values == values.max())))
    return share if CUT_OFF_FROM < share < 1.0 else 0.0


def noise(values: Numbers) -> float:
    """Return the deviation of the samples' own noise, from third differences, which a slow movement hardly moves."""
    if values.size < 8:
        return float(np.std(values)) if values.size > 1 else 0.0
    third = np.diff(values, 3)
    return float(np.median(np.abs(third)) / 0.6745 / np.sqrt(20.0))


def smoothed(time: Numbers, values: Numbers, width: float) -> Numbers:
    """Return the mean over a window of `width` seconds around each moment, gaps left out."""
    finite = np.isfinite(values)
    sums = np.concatenate(([0.0], np.cumsum(np.where(finite, values, 0.0))))
    counts = np.concatenate(([0], np.cumsum(finite)))
    low = np.searchsorted(time, time - width / 2, side="left")
    high = np.searchsorted(time, time + width / 2, side="right")
    held = counts[high] - counts[low]
    with np.errstate(invalid="ignore", divide="ignore"):
        made: Numbers = np.where(held > 0, (sums[high] - sums[low]) / np.maximum(held, 1), np.nan)
    return made


def step(time: Numbers) -> float:
    """Return the usual time between samples, s; zero for fewer than two moments."""
    steps = np.diff(time)
    steps = steps[steps > 0]
    return float(np.median(steps)) if steps.size else 0.0


def half_swing(time: Numbers, values: Numbers) -> Estimate:
    """Return how far the samples swing to each side, their straight drift and their own noise taken out.

    Half the band from 3 to 97 %, as a needle's swing is read; its uncertainty from blocks of a second drawn anew.
    """
    level = _without_drift(time, values)
    wide = _band(level)
    own = min(noise(values), wide / NOISE_BAND)
    coarse = COARSE_SHARE * wide if step(time) > COARSE_STEP_S else 0.0
    value = float(np.sqrt(max(0.0, wide**2 - (NOISE_BAND * own) ** 2)))
    length = max(2, min(values.size // 3, round(1.0 / max(step(time), 1e-3))))
    if values.size < 3 * length:
        return Estimate(value, max(wide - value, 0.3 * wide))
    blocks = sliding_window_view(level, length)
    stream = np.random.default_rng(5)
    picks = stream.integers(0, blocks.shape[0], (RESAMPLED, -(-values.size // length)))
    drawn = blocks[picks].reshape(RESAMPLED, -1)
    low, high = np.percentile(drawn, (3.0, 97.0), axis=1)
    scatter = float(np.std(0.5 * (high - low)))
    return Estimate(value, float(np.hypot(np.hypot(scatter, coarse), 0.5 * (wide - value))))


def _band(level: Numbers) -> float:
    low, high = np.percentile(level, (3.0, 97.0))
    return 0.5 * float(high - low)


def _without_drift(time: Numbers, values: Numbers) -> Numbers:
    """Return the samples about their mean, a straight drift taken out where it is too great to be part of a swing."""
    place = time - time.mean()
    level: Numbers = values - values.mean()
    across = float(place @ place)
    slope = float(place @ level) / across if across > 0 else 0.0
    if abs(slope) * float(time[-1] - time[0]) < DRIFT_OF_SWING * _band(level):
        return level
    made: Numbers = level - place * slope
    return made


def period(time: Numbers, values: Numbers, least: float) -> Estimate | None:
    """Return the seconds between one swing and the next; None when it swings less than `least` or fewer than thrice."""
    swing = half_swing(time, values)
    if swing.value < least or swing.value < 2 * noise(values):
        return None
    level = smoothed(time, _without_drift(time, values), 0.2)
    below, crossings = False, []
    for at, one in zip(time, level, strict=True):
        if one < -swing.value / 3:
            below = True
        elif one > swing.value / 3 and below:
            below = False
            crossings.append(at)
    if len(crossings) < 4:
        return None
    spans = np.diff(crossings)
    centre = float(np.mean(spans))
    if np.std(spans) > 0.4 * centre:
        return None
    error = np.hypot(float(np.std(spans)) / np.sqrt(spans.size), step(time) / spans.size)
    return Estimate(centre, float(error))
