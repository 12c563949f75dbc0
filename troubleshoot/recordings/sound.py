"""Sound of the engine: speed over time from the firing frequency, hunt, break-up, a dead cylinder.

Firing frequency f = N n / 120 (one firing of each of n cylinders in two turns, geometry of the four-stroke; n / 60 for
a two-stroke). A cylinder that does not fire leaves lines at multiples of the half order, N / 120.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from troubleshoot.recordings.capture import Numbers, wav_samples
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import Estimate, half_swing, noise, period
from troubleshoot.recordings.firing_line import KEPT_HZ, line_along, spectra, thinned
from troubleshoot.recordings.log import Log, held_bytes
from troubleshoot.recordings.pull_readings import BreakUp, break_up
from troubleshoot.recordings.quantities import SPEED
from troubleshoot.recordings.sound_orders import firing_orders, orders_of, over_other
from troubleshoot.recordings.stretches import Stretch, steady
from troubleshoot.recordings.taken import TakenReading, taken

LARGEST = 100_000_000
LEAST_RATE_HZ = 8000.0
LEAST_DB = 4.0
"""Engine against hiss and fan, below which nothing is read; it is known to 1 dB or so."""
ALIKE_DB = 3.0
"""Of two speeds that are heard as far as this apart, the faster is taken."""
DEAD = 0.5
"""Share of what one missing firing leaves beside the firing line, 1/(n-1) (Fourier series of the pulses), from which
a cylinder is called dead."""
LONGEST_S = 600.0


@dataclass(frozen=True)
class SoundReading:
    """What a sound tells; times in s, speeds in rpm."""

    time: Numbers
    speed: Numbers
    decibels: float
    """Engine against all other sound."""
    mean: Estimate
    hunt: Estimate | None
    """Seconds between one swing of the speed and the next."""
    swing: Estimate | None
    break_up: BreakUp | None
    half_order: float | None
    """Lines beside the firing line against what one dead cylinder leaves; None without a steady stretch."""

    @property
    def dead_cylinder(self) -> bool:
        """Whether a cylinder does not fire."""
        return self.half_order is not None and self.half_order > DEAD


def read_sound(path: Path) -> tuple[float, Numbers, str]:
    """Return rate (Hz), samples of the first channel, and the file's SHA-256; RecordingRefused for no usable WAV."""
    held = held_bytes(path, LARGEST)
    if held[:4] != b"RIFF":
        raise RecordingRefused(f"{path}: this is no WAV — save the sound as WAV, one channel, 8 kHz or more")
    rate, sound = wav_samples(held, str(path))
    if rate < LEAST_RATE_HZ:
        raise RecordingRefused(f"{path}: {rate:.0f} samples a second are too few — record at 8 kHz or more")
    return rate, sound, hashlib.sha256(held).hexdigest()


def sound_reading(
    sound: Numbers, rate_hz: float, cylinders: int, strokes: int = 4, speeds: tuple[float, float] = (400.0, 7000.0)
) -> SoundReading:
    """Return what a sound tells; RecordingRefused with the reason where the engine cannot be heard well enough."""
    if sound.size < 1.5 * rate_hz:
        raise RecordingRefused("The sound is shorter than a second and a half — record five seconds or more")
    if sound.size > LONGEST_S * rate_hz:
        raise RecordingRefused("The sound is longer than ten minutes — cut it down to what matters")
    if float(np.ptp(sound)) < 1e-4:
        raise RecordingRefused("The sound is silent — look at the microphone")
    level, rate = thinned(sound, rate_hz)
    per_rpm = cylinders / (30.0 * strokes)
    hertz, power, time = spectra(level, rate)
    line = line_along(hertz, power, per_rpm, speeds)
    seen = orders_of(level, rate, time, line)
    heard: dict[float, float] = {}
    for one in firing_orders(seen, cylinders, speeds[0] * per_rpm, speeds[1] * per_rpm):
        on_lines = [cylinders * one / faster for faster in heard]
        if all(abs(part - round(part)) > 0.01 for part in on_lines):  # else its lines are those of a faster engine
            heard[one] = over_other(seen, one, cylinders, sound, rate_hz)
    if not heard:
        raise RecordingRefused(
            "No firing can be followed here, it is under 3 dB or something else is louder — go closer, stop the fan"
        )
    most = max(heard.values())
    ratio = next(one for one, stands_out in heard.items() if stands_out > most - ALIKE_DB)
    decibels = heard[ratio]
    if decibels < LEAST_DB:
        raise RecordingRefused(
            f"The engine stands out by only {decibels:.0f} dB — go closer to the tail pipe, out of wind and fan"
        )
    firing = line * ratio
    speed = firing / per_rpm
    middle = np.median(sliding_window_view(np.pad(speed, 2, mode="edge"), 5), axis=1)
    return _told(time, np.asarray(middle, dtype=np.float64), decibels, (level, rate), cylinders, per_rpm)


def _told(
    time: Numbers,
    speed: Numbers,
    decibels: float,
    heard: tuple[Numbers, float],
    cylinders: int,
    per_rpm: float,
) -> SoundReading:
    log = Log("sound", time, {"time": time, "engine-speed": speed, "throttle": np.full(time.size, 100.0)})
    whole = Stretch(log, 0, time.size)
    idles = float(speed.max()) < 1800.0
    hunt = period(time, speed, 15.0) if idles else None
    swing = half_swing(time, speed) if idles else None
    rises = float(speed.max() - speed[0]) > 1000.0
    calm = steady(log, 300.0, 7000.0, 150.0, 1.0)
    half = None
    if calm is not None:
        level, rate = heard
        first, last = int(calm.time[0] * rate), int(calm.time[-1] * rate)
        orders = np.interp(np.arange(first, last) / rate, time, speed) * per_rpm / cylinders
        half = _half_order(level[first:last], rate, orders, cylinders)
    return SoundReading(
        time,
        speed,
        decibels,
        Estimate(float(speed.mean()), float(max(noise(speed), 0.002 * speed.mean()))),
        hunt,
        swing,
        break_up(whole) if rises else None,
        half,
    )


def _half_order(level: Numbers, rate: float, orders: Numbers, cylinders: int) -> float | None:
    """Return the lines a half order beside the firing lines, against those of one dead cylinder; None if too short.

    `orders` is N / 120 of each sample, Hz. The samples are first laid evenly over the angle that the engine has turned
    (order tracking), for a speed that swings smears lines that lie so near each other. The windows are eight turns of
    the distributor long.
    """
    if cylinders < 2 or level.size < 64:
        return None
    turned = np.cumsum(orders) / rate
    each = int(rate / float(np.median(orders)))
    count = int((turned[-1] - turned[0]) * each)
    width = 8 * each
    if width > count or width < 64:
        return None
    even = np.interp(turned[0] + np.arange(count) / each, turned, level)
    size = 1 << int(2 * width - 1).bit_length()
    order = np.fft.rfftfreq(size, 1.0 / each)
    highest = min(KEPT_HZ / float(np.median(orders)), float(order[-1]))
    found = []
    for start in range(0, count - width + 1, max(1, width // 2)):
        size_of = np.abs(np.fft.rfft(even[start : start + width] * np.hanning(width), size))
        floor = float(np.median(size_of[(order > 0.5) & (order < highest)]))
        near = (order > 0.97 * cylinders) & (order < 1.03 * cylinders)
        centre = float(order[near][int(np.argmax(size_of[near]))]) if near.any() else float(cylinders)
        main = beside = 0.0
        for harmonic in (1, 2):
            if centre * harmonic * 1.2 > highest:
                break
            main += float(np.interp(centre * harmonic, order, size_of))
            at = [centre * (harmonic + shift / cylinders) for shift in (-1, 1)]
            beside += max(0.0, float(np.mean(np.interp(at, order, size_of))) - floor)
        if main > 0:
            found.append(beside / main * (cylinders - 1))
    return float(np.median(found)) if found else None


def sound_words(found: SoundReading) -> tuple[str, ...]:
    """Return in words what a sound tells."""
    words = [
        f"Engine speed {found.speed.min():.0f} to {found.speed.max():.0f} rpm, mean {found.mean.value:.0f}; the engine "
        f"stands out by {found.decibels:.0f} dB."
    ]
    if found.hunt is not None:
        words.append(f"The speed swings about every {found.hunt.value:.1f} ± {found.hunt.spread:.1g} s.")
    if found.break_up is not None:
        broke = found.break_up.speed
        words.append(f"It falls back or goes flat at {broke.value:.0f} ± {broke.spread:.0f} rpm.")
    if found.dead_cylinder:
        words.append("Lines at the half order: one cylinder does not fire, or much less than the others.")
    elif found.half_order is not None:
        words.append("No half-order lines: all cylinders fire alike.")
    return tuple(words)


def sound_readings(found: SoundReading) -> tuple[TakenReading, ...]:
    """Return a sound's readings for checks."""
    span = (float(found.time[0]), float(found.time[-1]))
    made = []
    if found.swing is not None and found.time.size >= 40 and 400 < found.mean.value < 1400:
        made.append(taken("idle-speed", found.mean, "rpm", span, "firing frequency of the sound", SPEED))
        made.append(taken("idle-swing", found.swing, "rpm", span, "firing frequency of the sound"))
    if found.break_up is not None:
        broke, at_s = found.break_up
        broke = Estimate(broke.value, float(np.hypot(broke.spread, 0.01 * broke.value)))
        words = "where the sound's speed falls back or goes flat"
        made.append(taken("break-up-speed", broke, "rpm", span, words, SPEED, at_s))
    return tuple(one for one in made if one is not None)
