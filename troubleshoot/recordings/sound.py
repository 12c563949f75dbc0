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
from troubleshoot.recordings.firing_line import KEPT_HZ, WINDOW_S, firing_along, spectra, thinned
from troubleshoot.recordings.log import Log, held_bytes
from troubleshoot.recordings.pull_readings import BreakUp, break_up
from troubleshoot.recordings.quantities import SPEED
from troubleshoot.recordings.stretches import Stretch, steady
from troubleshoot.recordings.taken import TakenReading, taken

LARGEST = 100_000_000
LEAST_RATE_HZ = 8000.0
LEAST_OVER_HISS_DB, LEAST_DB = 4.2, 2.2
"""Engine against hiss alone, and against hiss and fan, below which nothing is read. The hiss is known to 1.5 dB only:
where the firings follow each other fast, part of the engine's own sound lies where the hiss is measured."""
FAN_WINDOW_S, FAN_TO_HZ, FAN_OVER, FAN_NEAR_HZ = 1.0, 1000.0, 50.0, 15.0
"""Windows in which a fan is looked for, up to where, and how far over what lies within some Hz a tone must stand."""
FAN_APART_HZ, FAN_APART, NARROW_HZ = 2.5, 0.006, 12.0
"""A fan's tone lies further than this from the engine's lines (Hz, and share of its frequency); orders nearer to each
other than the last leave no room between them, and only the firing lines are kept clear of."""
HISS_TO_HZ = 8000.0
LEAST_SHARE = 0.2
"""Share of the power below 2 kHz that must lie on the firing lines."""
DEAD = 0.5
"""Share of what one missing firing leaves beside the firing line, 1/(n-1) (Fourier series of the pulses), from which
a cylinder is called dead."""
WANDERS = 0.02
"""Share of a line's frequency that firings wander by, for they are not clockwork."""
LEAST_LINES = 3
"""Multiples of the firing frequency that must stand out: a fan has one or two."""
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
    firing = firing_along(hertz, power, per_rpm, speeds, cylinders)
    decibels = _over_other(sound, rate_hz, _fan_share(level, rate, time, firing, cylinders))
    if decibels < LEAST_DB or _over_other(sound, rate_hz, 0.0) < LEAST_OVER_HISS_DB:
        raise RecordingRefused(
            f"The engine stands out by only {decibels:.0f} dB — go closer to the tail pipe, out of wind and fan"
        )
    if _heard(hertz, power, firing) < LEAST_SHARE:
        raise RecordingRefused(
            f"No firing can be followed here ({decibels:.0f} dB over hiss and fan) — let the engine alone be heard"
        )
    if _lines(hertz, power, firing) < LEAST_LINES:
        raise RecordingRefused(
            f"Only a steady tone stands out and the engine does not ({decibels:.0f} dB with the tone) — stop the fan"
        )
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


def _over_other(sound: Numbers, rate_hz: float, fan_share: float) -> float:
    """Return the engine's power over that of hiss and fan, dB; `fan_share` is the fan's part of what is below 2 kHz.

    The hiss goes by what is left near the highest frequency.
    """
    width = 1024
    count = sound.size // width
    parts = sound[: count * width].reshape(count, width) * np.hanning(width)
    power = np.mean(np.abs(np.fft.rfft(parts, axis=1)) ** 2, axis=0)[2:]
    power = power[: max(64, int(power.size * min(1.0, 2 * HISS_TO_HZ / rate_hz)))]  # nothing of use lies above
    other = float(np.median(power[int(0.85 * power.size) : int(0.97 * power.size)])) * power.size
    other += fan_share * float(power[: int(KEPT_HZ * width / rate_hz)].sum())
    return 10.0 * float(np.log10(max((float(power.sum()) - other) / max(other, 1e-30), 1e-6)))


def _fan_share(level: Numbers, rate: float, time: Numbers, firing: Numbers, cylinders: int) -> float:
    """Return which part of the power is in steady tones that are no lines of the engine: a fan, a pump, mains hum."""
    width = int(FAN_WINDOW_S * rate)
    size = 1 << int(2 * width - 1).bit_length()
    hertz = np.fft.rfftfreq(size, 1.0 / rate)
    band = (hertz > 30.0) & (hertz < FAN_TO_HZ)
    around = max(1, int(FAN_NEAR_HZ / hertz[1]))
    fan = everything = 0.0
    for start in range(0, max(1, level.size - width + 1), max(1, width // 2)):
        part = level[start : start + width]
        power = np.abs(np.fft.rfft(part * np.hanning(part.size), size)) ** 2
        here = firing[(time * rate >= start) & (time * rate <= start + width)]
        if not here.size:
            continue
        one = float(np.median(here))
        base = one / cylinders if one / cylinders >= NARROW_HZ else one
        apart = np.maximum(FAN_APART_HZ, (FAN_APART + float(np.ptp(here)) / one) * hertz)
        far = np.flatnonzero(band & (np.abs(hertz - base * np.round(hertz / base)) > apart))
        everything += float(power[(hertz > 15.0) & (hertz < KEPT_HZ)].sum())
        if not far.size:
            continue
        coarse = np.array([np.median(power[max(0, at - around) : at + around]) for at in far[::8]])
        floor = np.repeat(coarse, 8)[: far.size]
        fan += float(power[far][power[far] > FAN_OVER * floor].sum())
    return fan / everything if everything > 0 else 0.0


def _heard(hertz: Numbers, power: Numbers, firing: Numbers) -> float:
    """Return the share of the power that lies on multiples of the firing frequency, what noise puts there left out."""
    step = float(hertz[1])
    ours = everything = 0.0
    band = (hertz > 15.0) & (hertz < KEPT_HZ)
    wide = 2.0 / WINDOW_S
    for row, one in zip(power, firing, strict=True):
        away = np.abs(hertz / one - np.round(hertz / one)) * one
        near = band & (away <= np.minimum(np.maximum(wide, WANDERS * hertz), 0.2 * one)) & (hertz > 0.5 * one)
        far = band & ~near
        floor = float(np.median(row[far])) / np.log(2.0) if far.any() else 0.0
        whole = float(row[band].sum()) * step
        everything += whole
        ours += max(0.0, float(row[near].sum()) * step - floor * float(near.sum()) * step)
    return ours / everything if everything > 0 else 0.0


def _lines(hertz: Numbers, power: Numbers, firing: Numbers) -> int:
    """Return how many multiples of the firing frequency stand out of what lies around them."""
    found = 0
    for harmonic in range(1, 8):
        shares = []
        for row, one in zip(power, firing, strict=True):
            centre, reach = one * harmonic, 0.4 * one
            if centre + reach > min(KEPT_HZ, float(hertz[-1])):
                return found
            around = row[(hertz > centre - reach) & (hertz < centre + reach)]
            shares.append(float(np.interp(centre, hertz, row)) / max(float(np.percentile(around, 25)), 1e-30))
        found += float(np.median(shares)) > 8.0
    return found


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
