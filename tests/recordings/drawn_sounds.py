"""Sounds of known truth made apart from the reader and from the engine's own: other pipes, wind, fans of any pitch."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def drawn_sound(
    stream: np.random.Generator, decibels: float, fan: float, rate: float = 8000.0, seconds: float = 3.0
) -> tuple[NDArray[np.float64], int, float]:
    """Return a sound, its cylinders and its speed (600 to 6000 rpm): an engine that wanders and fires unevenly.

    `decibels` is the engine against all other sound; `fan` is the share of steady tones in that, the rest is hiss and
    wind. A pipe closed at one end rings at odd multiples of c / 4 l (any textbook of acoustics).
    """
    cylinders, rpm = int(stream.choice([4, 6, 8])), float(np.exp(stream.uniform(np.log(600), np.log(6000))))
    time = np.arange(int(rate * seconds)) / rate
    steps = np.zeros(int(seconds * 100) + 2)
    for one in range(1, steps.size):
        steps[one] = 0.967 * steps[one - 1] + 0.254 * stream.standard_normal()
    speed = rpm * (1 + 0.003 * np.interp(time, np.arange(steps.size) * 0.01, steps))
    turned = np.cumsum(speed) / rate / 120.0 * cylinders
    fired = np.interp(np.arange(1, int(turned[-1])), turned, time)
    fired += 0.008 * 120.0 / (rpm * cylinders) * stream.standard_normal(fired.size)
    own = 1 + 0.08 * stream.standard_normal(cylinders)
    loud = own[np.arange(fired.size) % cylinders] * np.exp(0.12 * stream.standard_normal(fired.size))
    lowest, wide = 340.0 / (4 * stream.uniform(1.2, 3.5)), stream.uniform(0.0012, 0.003)
    after = np.arange(int(0.12 * rate)) / rate
    ring = 1.5 * np.exp(-((after - 3 * wide) ** 2) / (2 * wide**2))
    for mode in range(4):
        hertz, sharp = lowest * (2 * mode + 1), stream.uniform(4, 10)
        strong = stream.uniform(0.3, 1.0) / (1 + mode)
        ring += strong * np.exp(-np.pi * hertz / sharp * after) * np.cos(2 * np.pi * hertz * after)
    places = np.clip((fired * rate).astype(int), 0, time.size - 1)
    engine = np.convolve(np.bincount(places, loud, time.size), ring)[: time.size]
    wind = np.fft.rfft(stream.standard_normal(time.size))
    wind /= np.sqrt(1 + (np.fft.rfftfreq(time.size, 1 / rate) / 150) ** 2)
    gusty = stream.uniform(0, 0.5)
    hiss = np.sqrt(1 - gusty) * stream.standard_normal(time.size) + np.sqrt(gusty) * _even(
        np.fft.irfft(wind, time.size)
    )
    pitch = stream.uniform(60, 320)
    tones = range(1, int(stream.integers(2, 5)))
    hum = sum(0.6**one * np.sin(2 * np.pi * one * pitch * time + stream.uniform(0, 6.28)) for one in tones)
    other = np.sqrt(1 - fan) * _even(hiss) + np.sqrt(fan) * _even(np.asarray(hum))
    whole = _even(engine) + 10.0 ** (-decibels / 20.0) * other
    return whole / (1.02 * np.abs(whole).max()), cylinders, rpm


def _even(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return values about nought whose mean square is one."""
    level = values - values.mean()
    return level / np.sqrt(np.mean(level**2))
