"""Injector current on an oscilloscope: when the pintle opens, by the kink it puts in the rise of the current.

Current rises as (V/R)(1 - exp(-t R/L)). The moving pintle induces a voltage against it, the more the faster it moves;
at its stop that ends, and the current catches up with the coil's own time constant (physics of a solenoid; to read the
kink as the opening is common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from troubleshoot.recordings.capture import Numbers
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import Estimate

SLOWEST_HZ = 9_900.0
"""Samples a second, 10 kHz by the scope's clock: fewer leave no three of them within the movement of a pintle."""
LEVEL, CUT_AT = 0.12, 0.85
"""Shares of the peak: the current has begun, and was last there when it is cut off."""
CONSTANTS_S = np.geomspace(3e-4, 4e-3, 14)
"""Time constants of coils that are tried (1 to 14 mH and 2 to 16 ohm)."""
MOVES_S, CATCHES_UP = (1e-4, 2e-4, 4e-4), (0.7, 1.4)
"""How long a pintle moves, and how fast the current catches up against the first rise: what is tried."""
EARLIEST_S, LATEST_S = 4e-4, 1.5e-4
"""The kink is looked for from so long after the beginning until so long before the cut."""
LEAST_KINK, SURE = 0.008, 8.0
"""Share of the peak that a kink takes at least, and times its own uncertainty that it must be."""
MOVES_LEAST, HIDES = 0.012, 3.0
"""Share of the peak that a pintle which moves its whole lift shows at least (0.013 of the bench's coils; engineering
estimate), and times its own uncertainty by which what is seen must stay below that, to call it stuck."""
OWN_MS = 0.04
"""Uncertainty that stays with any number of samples: a pintle's movement is not quite what is tried."""
SHORT = "No whole injector pulse is in this capture — capture for longer"


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


class _Rise(NamedTuple):
    """All pulses laid over each other: s since the current began, A, until when it rises, and s an ampere at first."""

    time: Numbers
    amperes: Numbers
    end: float
    pace: float


def injector_reading(amperes: Numbers, rate_hz: float) -> InjectorReading:
    """Return what an injector's current tells; RecordingRefused without pulses, or where no kink could show."""
    if rate_hz < SLOWEST_HZ:
        raise RecordingRefused(
            f"{rate_hz:.0f} samples a second are too few: a pintle moves for about 0.3 ms — capture at 10 kHz or more"
        )
    low, high = float(np.percentile(amperes, 5)), float(np.percentile(amperes, 99.8))
    if high - low < 0.05:
        raise RecordingRefused("No injector pulse is in this capture — look at the clamp and its range")
    starts, width = _pulses(amperes, low + LEVEL * (high - low))
    rise = _laid_over(amperes, starts, width, rate_hz, (low, high))
    own_ms = 1e3 / rate_hz / np.sqrt(starts.size)
    return InjectorReading(
        _kink(rise, high - low, rate_hz, amperes.size / rate_hz),
        Estimate(rise.end * 1e3, max(own_ms, 0.05)),
        Estimate(high - low, float(np.std(amperes[amperes < low + 0.1 * (high - low)]))),
        int(starts.size),
    )


def _pulses(amperes: Numbers, level: float) -> tuple[NDArray[np.int64], int]:
    """Return the last sample before each whole pulse reaches a level, and how many samples a pulse is long."""
    edges = np.diff((amperes > level).astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1).astype(np.int64), np.flatnonzero(edges == -1)
    ends = ends[ends > (starts[0] if starts.size else 0)]
    count = min(starts.size, ends.size)
    lengths = ends[:count] - starts[:count]
    if not count or lengths.max() <= 6:
        raise RecordingRefused("No injector pulse is in this capture — look at the clamp and its range")
    whole = lengths > max(6.0, 0.5 * float(np.median(lengths[lengths > 0.3 * lengths.max()])))
    starts, width = starts[:count][whole], int(np.median(lengths[whole])) + 4
    starts = starts[(starts > 6) & (starts + width < amperes.size)][:2000]
    if not starts.size:
        raise RecordingRefused(SHORT)
    return starts, width


def _laid_over(
    amperes: Numbers, starts: NDArray[np.int64], width: int, rate_hz: float, levels: tuple[float, float]
) -> _Rise:
    """Return the rises of all pulses, each shifted to where it lies best on an exponential through all of them."""
    low, high = levels
    level = low + LEVEL * (high - low)
    steps = amperes[starts + 1] - amperes[starts]
    begins = starts + np.clip((level - amperes[starts]) / np.maximum(steps, 1e-12), 0.0, 1.0)
    places = starts[:, None] + np.arange(-2, width)
    held, time = amperes[places], (places - begins[:, None]) / rate_hz
    last = places.shape[1] - 1 - np.argmax(held[:, ::-1] > low + CUT_AT * (high - low), axis=1)
    end = float(np.percentile(time[np.arange(starts.size), last], 10)) + 0.5 / rate_hz
    for _ in range(2):
        use = (time > -5e-5) & (time < end - 1.0 / rate_hz)
        if use.sum() < 12:
            raise RecordingRefused(SHORT)
        slope, left = _on_exponential(time, held, use)
        time = time + (np.sum(left * slope, axis=1) / np.maximum(np.sum(slope**2, axis=1), 1e-12))[:, None]
    first = (held > low + 0.5 * LEVEL * (high - low)) & (held < low + 0.4 * (high - low)) & (time < 0.45 * end)
    first &= time > -1.5 / rate_hz
    if first.sum() <= 6:
        raise RecordingRefused(SHORT)
    _, pace, begun = np.polyfit(held[first] - low, time[first], 2).tolist()
    return _Rise((time - begun).ravel(), held.ravel(), end - begun, abs(pace))


def _on_exponential(time: Numbers, held: Numbers, use: NDArray[np.bool_]) -> tuple[Numbers, Numbers]:
    """Return slope (A/s) of the exponential that lies best through what is used, and what lies beside it."""
    best, slope, left = np.inf, np.zeros_like(held), np.zeros_like(held)
    for constant in CONSTANTS_S.tolist():
        fall = np.exp(-np.maximum(time, -1e-3) / constant)
        found = np.linalg.lstsq(np.column_stack((np.ones(int(use.sum())), fall[use])), held[use], rcond=None)[0]
        beside = np.where(use, held - found[0] - found[1] * fall, 0.0)
        if (square := float(np.sum(beside**2))) < best:
            best, slope, left = square, np.where(use, -found[1] / constant * fall, 0.0), beside
    return slope, left


def _kink(rise: _Rise, peak: float, rate_hz: float, seconds: float) -> Estimate | None:
    """Return how long after its beginning the current has its kink, ms; None where it shows none.

    RecordingRefused where a kink could hide in the noise; `seconds` is how long the capture is.
    """
    use = (rise.time > 1.5e-4) & (rise.time < rise.end - 1.2 / rate_hz)
    if rise.end < EARLIEST_S + LATEST_S + 1e-4 or use.sum() < 12:
        raise RecordingRefused("The pulses are too short to show the pintle — capture at idle, when it is cold")
    bins = np.round(rise.time[use] / 2e-5).astype(np.int64)
    count = np.bincount(bins)
    there = count > 0
    time = np.bincount(bins, rise.time[use])[there] / count[there]
    held = np.bincount(bins, rise.amperes[use])[there] / count[there]
    weight = np.sqrt(count[there])
    latest = rise.end - LATEST_S
    coarse = np.arange(EARLIEST_S, latest, 4e-5)
    _, at, constant, _ = _tried((time, held, weight), coarse, CONSTANTS_S.tolist())
    fine = at + np.arange(-1.2e-4, 1.21e-4, 5e-6)
    fine = fine[(fine >= EARLIEST_S) & (fine < latest)]
    near = [constant * share for share in (0.85, 0.92, 1.0, 1.08, 1.17)]
    left, at, _, (size, own) = _tried((time, held, weight), fine, near)
    scatter = float(np.sqrt(left.min() / max(1, time.size - 6)))
    if size >= max(LEAST_KINK * peak, SURE * own * scatter):
        inside = fine[left < left.min() + 4.0 * scatter**2]
        begun_ms = 2e3 * scatter * rise.pace  # noise also moves where the current seems to begin
        return Estimate(at * 1e3, float(np.linalg.norm((OWN_MS, 250.0 * np.ptp(inside), begun_ms))))
    if size + HIDES * own * scatter > MOVES_LEAST * peak:
        raise RecordingRefused(
            f"Noise hides whether the pintle moves in {seconds:.0f} s — capture for longer, with a finer range of the "
            "clamp"
        )
    return None


def _tried(
    seen: tuple[Numbers, Numbers, Numbers], places: Numbers, constants: list[float]
) -> tuple[Numbers, float, float, tuple[float, float]]:
    """Return by place what least squares leave with a kink there; and of the best its place, the coil's time constant,
    the size of the kink (A) and by what the scatter makes that uncertain."""
    time, held, weight = seen
    away = time[None, :] - places[:, None]
    left = np.full(places.size, np.inf)
    best = (float(places[0]), constants[0], (0.0, 1.0))
    for constant in constants:
        plain = np.linalg.qr(np.column_stack((np.ones(time.size), np.exp(-time / constant))) * weight[:, None])[0]
        beside = held * weight
        beside = beside - plain @ (plain.T @ beside)
        for move in MOVES_S:
            before = np.maximum(1 + np.minimum(away, 0.0) / move, 0.0) ** 2
            for share in CATCHES_UP:
                shape = before * np.exp(-np.maximum(away, 0.0) / (constant * share)) * weight
                shape = shape - (shape @ plain) @ plain.T
                own = np.maximum(np.einsum("ij,ij->i", shape, shape), 1e-12)
                size = np.maximum(-(shape @ beside) / own, 0.0)
                now = float(beside @ beside) - size**2 * own
                place = int(np.argmin(now))
                if now[place] < left.min():
                    best = (float(places[place]), constant, (float(size[place]), float(1 / np.sqrt(own[place]))))
                left = np.minimum(left, now)
    return left, *best
