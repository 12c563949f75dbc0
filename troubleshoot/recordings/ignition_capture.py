"""Coil minus or points on an oscilloscope: engine speed, dwell of each cylinder, bounce, missing and extra pulses.

Speed from the sparks: N = 120 / (n T), one spark for each of n cylinders in two turns (geometry of the four-stroke;
60 / (n T) for a two-stroke).
Dwell in degrees of the distributor: 360/n times the share of the time between two sparks that the points are closed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from troubleshoot.recordings.capture import Numbers
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import Estimate

SHORT_OPEN = 0.12
"""Share of the time between sparks: an opening shorter than this is no spark (points stay open for a third of it)."""
AFTER_CLOSING = 0.2
"""Share of the time between sparks after closing in which short openings are bounce."""
CHATTER = 2.0
"""Openings a closing from which bounce is called chatter."""
FLOAT_FALL = 3.0
"""Degrees that dwell falls from slow to fast: worn parts or floating points (common practice: 3 from idle to 2500)."""
LOWEST_RPM, HIGHEST_RPM = 60.0, 9000.0
SUBHARMONIC = 0.85


@dataclass(frozen=True)
class CoilReading:
    """What a capture of coil minus or points tells; degrees of the distributor."""

    speed: Estimate
    dwell: Estimate
    dwell_of: tuple[float, ...]
    """Mean dwell of each cylinder in firing order, from the first spark recorded."""
    scatter: float
    """Deviation of single dwells about their cylinder's mean."""
    drift: Estimate | None
    """Change of dwell from the slowest to the fastest fifth; None where the speed does not change by a quarter."""
    bounces: float
    """Short openings after a closing, a spark."""
    bounce_ms: float
    missing: int
    extra: int
    sparks: int
    slowest: float
    fastest: float
    sparks_s: Numbers
    closed_s: Numbers
    """Moments of the sparks, and how long the points were closed before each, s."""
    bounces_s: Numbers
    """Moments of the short openings after closing, s."""

    def verdicts(self, cylinders: int) -> tuple[str, ...]:
        """Return in words what is out of order."""
        found = []
        if self.bounces >= CHATTER:
            found.append(f"The points chatter: {self.bounces:.1f} openings after each closing.")
        elif self.bounces > 0.3:
            found.append(f"The points bounce after closing, for {self.bounce_ms:.2f} ms.")
        if self.drift is not None and self.drift.value < -FLOAT_FALL:
            found.append(
                f"Dwell falls by {-self.drift.value:.1f} degrees as the speed rises: worn shaft or plate, or floating "
                "points."
            )
        if self.missing:
            found.append(f"{self.missing} of {self.sparks + self.missing} sparks are missing.")
        if self.extra:
            found.append(f"{self.extra} short pulses stand apart from any closing: electrical noise.")
        wide = max(self.dwell_of) - min(self.dwell_of) if len(self.dwell_of) == cylinders else 0.0
        if wide > 2.0:
            found.append(f"Dwell differs by {wide:.1f} degrees between cylinders: worn cam or shaft.")
        return tuple(found)


def coil_reading(volts: Numbers, rate_hz: float, cylinders: int, start_s: float = 0.0, strokes: int = 4) -> CoilReading:
    """Return what the volts at coil minus or points tell; RecordingRefused where no sparks can be found."""
    closed = _closed(volts)
    edges = np.diff(closed.astype(np.int8))
    opens, closes = np.flatnonzero(edges == -1) + 0.5, np.flatnonzero(edges == 1) + 0.5
    if opens.size < 4 or closes.size < 4:
        raise RecordingRefused("There are no sparks in this capture: the volts do not switch — look at the probe")
    between = _between_sparks(closed, rate_hz, cylinders, 30.0 * strokes)
    closes = closes[closes > opens[0]]
    opens = opens[: closes.size + 1]
    length = (closes[: opens.size] - opens[: closes.size]) / rate_hz
    local = between(np.asarray(opens[: length.size] / rate_hz, dtype=np.float64))
    is_spark = length >= SHORT_OPEN * local
    sparks = opens[: length.size][is_spark] / rate_hz
    shuts = closes[: length.size][is_spark] / rate_hz
    if sparks.size < 4:
        raise RecordingRefused("Fewer than four sparks were found — capture a second or more, engine running")
    shorts = opens[: length.size][~is_spark] / rate_hz
    shorts_long = length[~is_spark]
    last = np.searchsorted(shuts, shorts, side="right") - 1
    after = np.where(last >= 0, shorts - shuts[np.maximum(last, 0)], np.inf)
    bouncing = after <= AFTER_CLOSING * between(shorts)
    spacing = np.diff(sparks)
    turns = np.maximum(1, np.round(spacing / between(sparks[:-1]))).astype(int)
    whole = turns == 1
    dwell_s = sparks[1:] - shuts[:-1]
    pitch = 360.0 / cylinders
    degrees = pitch * dwell_s / spacing
    place = np.concatenate(([0], np.cumsum(turns)))[1:] % cylinders
    good = whole & (np.abs(spacing / between(sparks[:-1]) - 1) < 0.4)
    if good.sum() < 3:
        raise RecordingRefused("The sparks do not follow each other evenly — look at cylinders and probe")
    of = tuple(
        float(degrees[good & (place == one)].mean()) for one in range(cylinders) if (good & (place == one)).any()
    )
    single = degrees[good] - np.array([degrees[good & (place == one)].mean() for one in place[good]])
    own = pitch / (rate_hz * float(np.median(spacing[good]))) / np.sqrt(6.0)
    scatter = float(np.sqrt(max(0.0, np.mean(single**2) - own**2)))
    speeds = 30.0 * strokes / (cylinders * spacing[good])
    count = int(good.sum())
    speed = 30.0 * strokes * count / (cylinders * float(spacing[good].sum()))
    wander = float(np.std(speeds)) / np.sqrt(count)
    timing = speed / (rate_hz * float(spacing[good].sum()))
    return CoilReading(
        Estimate(speed, float(np.hypot(min(wander, 0.5 * np.ptp(speeds)), timing))),
        Estimate(float(degrees[good].mean()), float(np.hypot(np.std(degrees[good]) / np.sqrt(count), 0.3 * own))),
        of,
        scatter,
        _drift(speeds, degrees[good]),
        float(bouncing.sum()) / sparks.size,
        float(np.median(after[bouncing] + shorts_long[bouncing])) * 1e3 if bouncing.any() else 0.0,
        int((turns - 1).sum()),
        int((~bouncing & (last >= 0)).sum()),
        int(sparks.size),
        float(np.percentile(speeds, 5)),
        float(np.percentile(speeds, 95)),
        sparks + start_s,
        np.concatenate(([np.nan], dwell_s)),
        shorts[bouncing] + start_s,
    )


def _closed(volts: Numbers) -> NDArray[np.bool_]:
    """Return where the points are closed, with a band between closing and opening so that noise does not switch it."""
    low = float(np.percentile(volts, 8.0))
    high = float(np.percentile(volts, 92.0))
    upper = volts[volts > low + 0.12 * (high - low)]
    if not upper.size or high - low < 1.0:
        raise RecordingRefused("There are no sparks in this capture: the volts hardly move — look at the probe")
    top = float(np.percentile(upper, 10.0))
    shut, open_ = low + 0.3 * (top - low), low + 0.5 * (top - low)
    state = np.where(volts < shut, 1, np.where(volts > open_, -1, 0))
    places = np.maximum.accumulate(np.where(state != 0, np.arange(volts.size), 0))
    return np.asarray(state[places] > 0, dtype=np.bool_)


class _Pace:
    """The time between sparks along a capture, s."""

    def __init__(self, at: Numbers, between: Numbers) -> None:
        self.at, self.between = at, between

    def __call__(self, moments: Numbers) -> Numbers:
        return np.interp(moments, self.at, self.between)


def _between_sparks(closed: NDArray[np.bool_], rate_hz: float, cylinders: int, seconds: float) -> _Pace:
    """Return the time between sparks from how the switching repeats itself, in windows of half a second.

    `seconds` is how long a whole cycle takes at one turn a minute.
    """
    level = closed.astype(np.float64)
    shortest = max(3, int(rate_hz * seconds / (cylinders * HIGHEST_RPM)))
    longest = int(rate_hz * seconds / (cylinders * LOWEST_RPM))
    window = int(min(level.size, max(0.5 * rate_hz, 64)))
    at, found = [], []
    for start in range(0, max(1, level.size - window // 2), max(1, window // 2)):
        part = level[start : start + window]
        lag = _repeats(part, shortest, min(longest, part.size // 3))
        if lag is None and window < level.size:
            part = level[start : start + 4 * window]
            lag = _repeats(part, shortest, min(longest, part.size // 3))
        if lag is not None:
            at.append((start + part.size / 2) / rate_hz)
            found.append(lag / rate_hz)
    if not found:
        raise RecordingRefused("The volts do not repeat as sparks do — look at probe and cylinders")
    return _Pace(np.array(at), np.array(found))


def _repeats(part: Numbers, shortest: int, longest: int) -> float | None:
    """Return the shortest lag (samples) at which a window is like itself; None where it is not."""
    if longest <= shortest + 2:
        return None
    level = part - part.mean()
    size = 1 << int(2 * level.size - 1).bit_length()
    along = np.fft.irfft(np.abs(np.fft.rfft(level, size)) ** 2, size)[: longest + 1]
    along = along / np.arange(level.size, level.size - longest - 1, -1)
    if along[0] <= 0:
        return None
    along = along / along[0]
    inner = along[1:-1]
    peaks = np.flatnonzero((inner > along[:-2]) & (inner >= along[2:])) + 1
    peaks = peaks[(peaks >= shortest) & (along[peaks] > 0.25)]
    if not peaks.size:
        return None
    best = peaks[along[peaks] >= SUBHARMONIC * along[peaks].max()][0]
    return float(best)


def _drift(speeds: Numbers, degrees: Numbers) -> Estimate | None:
    order = np.argsort(speeds)
    fifth = max(2, speeds.size // 5)
    slow, fast = order[:fifth], order[-fifth:]
    if speeds[fast].mean() < 1.25 * speeds[slow].mean():
        return None
    error = np.hypot(np.std(degrees[slow]), np.std(degrees[fast])) / np.sqrt(fifth)
    return Estimate(float(degrees[fast].mean() - degrees[slow].mean()), float(error))
