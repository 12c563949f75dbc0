"""Sound of an exhaust with known truth: a pulse for each firing, resonances of the pipe, hiss and a fan."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from troubleshoot.virtual_engine.parameters import Values

RESONANCES = ((95.0, 0.020, 1.0), (240.0, 0.008, 0.7), (520.0, 0.004, 0.4))
"""Hz, seconds of dying away, and strength of what a pulse rings in the pipe."""
FAN_HZ = 145.0
LOWEST_HZ = 12.0
WANDERS, WANDER_S = 0.003, 0.3
"""Share by which a speed wanders from cycle to cycle, and over what time."""


def exhaust_sound(
    moments: Sequence[float],
    speeds: Sequence[float],
    cylinders: int,
    rate_hz: float = 16_000.0,
    decibels: float = 20.0,
    dead: Sequence[int] = (),
    fan: float = 0.3,
    uneven: float = 0.06,
    seed: int = 0,
) -> Values:
    """Return samples from -1 to 1 of an engine whose speed goes along straight lines through moments (s) and rpm.

    The speed wanders about those lines by 0.3 %, as no engine's is quite steady. `decibels` is the power of the pulses
    against hiss and fan together, over the whole band; `fan` is the fan's share
    of that other sound; `dead` names cylinders (from 0, in firing order) that do not fire.
    """
    stream = np.random.default_rng(seed)
    time = np.arange(int(rate_hz * float(moments[-1]))) / rate_hz
    rpm = np.interp(time, moments, speeds) * (1.0 + _wander(np.random.default_rng((seed, 1)), time))
    fired = np.cumsum(rpm) / rate_hz * cylinders / 120.0
    places = np.flatnonzero(np.diff(np.floor(fired)) > 0)
    strength = 1.0 + uneven * stream.standard_normal(cylinders)
    for one in dead:
        strength[one] = 0.05
    pulses = np.zeros(time.size)
    jitter = stream.normal(0.0, 0.012, places.size)
    period = np.diff(places, append=places[-1] + (places[-1] - places[-2] if places.size > 1 else 1))
    at = np.clip(places + np.round(jitter * period).astype(int), 0, time.size - 1)
    each = strength[np.arange(places.size) % cylinders] * (1 + 0.08 * stream.standard_normal(places.size))
    np.add.at(pulses, at, each)
    ring_time = np.arange(int(0.08 * rate_hz)) / rate_hz
    ring = sum(
        strong * np.exp(-ring_time / lasts) * np.sin(2 * np.pi * hertz * ring_time)
        for hertz, lasts, strong in RESONANCES
    )
    size = 1 << int(pulses.size + ring_time.size).bit_length()
    heard = np.fft.rfft(pulses, size) * np.fft.rfft(ring, size)
    heard[: int(LOWEST_HZ * size / rate_hz)] = 0.0  # pressure that does not change is no sound
    engine = np.fft.irfft(heard, size)[: pulses.size]
    engine = engine / np.sqrt(np.mean(engine**2))
    hiss = stream.standard_normal(time.size)
    hum = np.sin(2 * np.pi * FAN_HZ * time) + 0.5 * np.sin(2 * np.pi * 2 * FAN_HZ * time + 1.0)
    other = np.sqrt(1 - fan) * hiss + np.sqrt(fan) * hum / np.sqrt(np.mean(hum**2))
    whole = engine + other * 10.0 ** (-decibels / 20.0)
    made: Values = whole / (np.max(np.abs(whole)) * 1.02)
    return made


def _wander(stream: np.random.Generator, time: Values) -> Values:
    """Return how far a speed is from its mean, as a share of it: noise that forgets itself in `WANDER_S`."""
    step = 0.01
    kept = np.exp(-step / WANDER_S)
    found = np.zeros(int(time[-1] / step) + 2)
    for one in range(1, found.size):
        found[one] = kept * found[one - 1] + np.sqrt(1.0 - kept * kept) * stream.standard_normal()
    made: Values = WANDERS * np.interp(time, np.arange(found.size) * step, found - found.mean())
    return made
