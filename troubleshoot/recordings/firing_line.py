"""The firing frequency of an engine followed through the spectra of its sound.

The path is that along which combs of lines at multiples of one frequency hold most, and which moves no faster than an
engine can.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from troubleshoot.recordings.capture import Numbers

WINDOW_S, HOP_S = 0.4, 0.08
KEPT_HZ = 2000.0
"""Sound above this says nothing of the firing frequency and is left out."""
HARMONICS = 5
OVER_FLOOR = 4.0
"""Times the usual power near it that a line must exceed to be one."""
FASTEST_CHANGE = 3000.0
"""rpm a second that a speed may change by."""
LEAPS = 0.6
"""What a change at that rate costs a path; one of half the rate costs a quarter."""
BETWEEN = 0.7
"""Weight of lines halfway between, and half of it of those at thirds: they speak for half and a third of it."""
LINE_WANTED = 0.35
"""Loudness that a line of the comb must have to speak for it; a missing line speaks against it."""
LOUDNESS = 0.4
"""Power to which lines count: so low that resonances of the pipe do not decide, and not so low that the half orders of
one dead cylinder count as much as firings."""


def line_along(hertz: Numbers, power: Numbers, per_rpm: float, speeds: tuple[float, float]) -> Numbers:
    """Return a line (Hz) that all windows have: the firing frequency, or a multiple or part of it.

    `per_rpm` leads to the firing frequency from rpm, `speeds` are the limits, rpm.
    """
    low, high = (one * per_rpm for one in speeds)
    return _path(hertz, power, low, high, FASTEST_CHANGE * per_rpm)


def thinned(sound: Numbers, rate_hz: float) -> tuple[Numbers, float]:
    """Return the sound with what is above 2 kHz taken away, at a lower rate."""
    every = max(1, int(rate_hz // (2.2 * KEPT_HZ)))
    level = sound - float(sound.mean())
    if every == 1:
        return level, rate_hz
    taps = 16 * every + 1
    place = np.arange(taps) - taps // 2
    low = np.sinc(place / every) * np.hamming(taps)
    made = np.convolve(level, low / low.sum(), mode="same")[::every]
    return np.asarray(made, dtype=np.float64), rate_hz / every


def spectra(level: Numbers, rate: float) -> tuple[Numbers, Numbers, Numbers]:
    """Return frequencies (Hz), power by window and frequency, and the windows' middles (s)."""
    width, hop = int(WINDOW_S * rate), max(1, int(HOP_S * rate))
    size = 1 << int(4 * width - 1).bit_length()
    windows = sliding_window_view(level, width)[::hop]
    shape = np.hanning(width)
    power = np.empty((windows.shape[0], size // 2 + 1))
    for row in range(0, windows.shape[0], 64):
        power[row : row + 64] = np.abs(np.fft.rfft(windows[row : row + 64] * shape, size, axis=1)) ** 2
    hertz = np.asarray(np.fft.rfftfreq(size, 1.0 / rate), dtype=np.float64)
    time = np.asarray((np.arange(windows.shape[0]) * hop + width / 2) / rate, dtype=np.float64)
    return hertz, power, time


def _path(hertz: Numbers, power: Numbers, low: float, high: float, fastest: float) -> Numbers:
    """Return the firing frequency of each window: the smoothest path along the strongest combs of lines."""
    grid = low * (high / low) ** np.linspace(0.0, 1.0, 600)
    step = float(hertz[1])
    floor = np.median(power[:, hertz < KEPT_HZ], axis=1, keepdims=True)
    loud = (np.maximum(power - OVER_FLOOR * floor, 0.0) / np.maximum(_loudest_near(power, step), 1e-30)) ** LOUDNESS
    score = np.zeros((power.shape[0], grid.size))
    used = np.zeros(grid.size)
    for harmonic in range(1, HARMONICS + 1):
        inside = grid * harmonic < min(KEPT_HZ, float(hertz[-1])) - 2 * step
        weight = 1.0 / np.sqrt(harmonic)
        for back, sign in ((0.0, 1.0), (0.5, -BETWEEN), (1 / 3, -BETWEEN / 2), (2 / 3, -BETWEEN / 2)):
            share = harmonic - back
            place = np.clip(np.round(grid * share / step).astype(int), 1, hertz.size - 2)
            near = np.maximum(np.maximum(loud[:, place - 1], loud[:, place]), loud[:, place + 1])
            score += sign * weight * (near - (LINE_WANTED if sign > 0 else 0.0)) * inside
        used += weight * inside
    score /= np.maximum(used, 1e-9)
    places = _smoothest(score, grid, fastest * HOP_S)
    return np.array([_sharpened(hertz, power[row], grid[place]) for row, place in enumerate(places)])


def _loudest_near(power: Numbers, step: float) -> Numbers:
    """Return the greatest power within about 60 Hz of each frequency, so that the pipe's resonances do not count."""
    block = max(1, round(10.0 / step))
    whole = -(-power.shape[1] // block)
    padded = np.pad(power, ((0, 0), (0, whole * block - power.shape[1])))
    highest = padded.reshape(power.shape[0], whole, block).max(axis=2)
    around = sliding_window_view(np.pad(highest, ((0, 0), (6, 6))), 13, axis=1).max(axis=2)
    return np.repeat(around, block, axis=1)[:, : power.shape[1]]


def _smoothest(score: Numbers, grid: Numbers, most: float) -> list[int]:
    """Return the path of greatest score in which the frequency changes by no more than `most` Hz a window."""
    ratio = float(grid[1] / grid[0])
    total = score[0].copy()
    back = []
    for row in range(1, score.shape[0]):
        reach = max(1, min(60, int(np.ceil(np.log1p(most / float(grid[int(np.argmax(total))])) / np.log(ratio)))))
        padded = np.pad(total, reach, constant_values=-np.inf)
        around = sliding_window_view(padded, 2 * reach + 1) - LEAPS * (np.arange(-reach, reach + 1) / reach) ** 2
        best = np.argmax(around, axis=1)
        back.append(best - reach)
        total = around[np.arange(grid.size), best] + score[row]
    place = int(np.argmax(total))
    places = [place]
    for steps in reversed(back):
        place = int(np.clip(place + steps[place], 0, grid.size - 1))
        places.append(place)
    return places[::-1]


def _sharpened(hertz: Numbers, power: Numbers, guess: float) -> float:
    """Return the firing frequency near a guess by which the comb of lines holds most power."""
    trial = guess * (1 + np.linspace(-0.025, 0.025, 51))
    held = np.zeros(trial.size)
    for harmonic in range(1, HARMONICS + 1):
        if guess * harmonic * 1.03 < min(KEPT_HZ, float(hertz[-1])):
            at = np.interp(trial * harmonic, hertz, power)
            held += np.log1p(at / max(float(np.median(power)), 1e-30))
    peak = held > held.max() - 0.3 * np.ptp(held)
    weight = (held - held[peak].min() + 1e-9) * peak
    return float(np.sum(weight * trial) / np.sum(weight))
