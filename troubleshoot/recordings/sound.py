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
from troubleshoot.recordings.log import Log, held_bytes
from troubleshoot.recordings.pull_readings import break_up_speed
from troubleshoot.recordings.stretches import Stretch, steady
from troubleshoot.recordings.taken import TakenReading, taken

LARGEST = 100_000_000
LEAST_RATE_HZ = 8000.0
WINDOW_S, HOP_S = 0.4, 0.08
KEPT_HZ = 2000.0
"""Sound above this says nothing of the firing frequency and is left out."""
HARMONICS = 5
LEAST_DB = 4.2
"""All that is heard against the hiss below which nothing is read; it is right to 1.5 dB, and where
a third of the other sound is a fan it stands for 3 dB of all."""
HISS_TO_HZ = 8000.0
LEAST_SHARE = 0.2
"""Share of the power below 2 kHz that must lie on the firing lines."""
ALIKE = 0.45
"""Share of the others' strength from which lines between are firing lines too."""
MAIN_LINES, MAIN_LINES_OF_ALL = 2.8, 1.8
"""Times the lines between by which every second, third ... line is taken for the firing line, as with a dead cylinder;
less where the lines between are those of a whole cycle, one for each cylinder."""
FASTEST_CHANGE = 3000.0
"""rpm a second that a speed may change by."""
DEAD = 0.5
"""Share of what one missing firing leaves beside the firing line, 1/(n-1) (Fourier series of the pulses), from which
a cylinder is called dead."""
BETWEEN = 0.7
"""Weight of lines halfway between, and half of it of those at thirds: they speak for half and a third of it."""
LINE_WANTED = 0.35
"""Loudness that a line of the comb must have to speak for it; a missing line speaks against it."""
LOUDNESS = 0.4
"""Power to which lines count: so low that resonances of the pipe do not decide, and not so low that the half orders of
one dead cylinder count as much as firings."""
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
    break_up: Estimate | None
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
    level, rate = _thinned(sound, rate_hz)
    per_rpm = cylinders / (30.0 * strokes)
    hertz, power, time = _spectra(level, rate)
    firing = _path(hertz, power, speeds[0] * per_rpm, speeds[1] * per_rpm, FASTEST_CHANGE * per_rpm)
    firing = _no_multiple(hertz, power, firing, speeds[0] * per_rpm)
    firing = _whole_firing(hertz, power, firing, speeds[1] * per_rpm, cylinders)
    decibels = _over_hiss(sound, rate_hz)
    if decibels < LEAST_DB or _heard(hertz, power, firing) < LEAST_SHARE:
        raise RecordingRefused(
            f"The engine stands out by only {decibels:.0f} dB — go closer to the tail pipe, out of wind and fan"
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
        part = level[int(calm.time[0] * rate) : int(calm.time[-1] * rate)]
        half = _half_order(part, rate, float(np.median(speed[calm.rows])) * per_rpm, cylinders)
    return SoundReading(
        time,
        speed,
        decibels,
        Estimate(float(speed.mean()), float(max(noise(speed), 0.002 * speed.mean()))),
        hunt,
        swing,
        break_up_speed(whole) if rises else None,
        half,
    )


def _thinned(sound: Numbers, rate_hz: float) -> tuple[Numbers, float]:
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


def _spectra(level: Numbers, rate: float) -> tuple[Numbers, Numbers, Numbers]:
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
    loud = (np.maximum(power - 4.0 * floor, 0.0) / np.maximum(_loudest_near(power, step), 1e-30)) ** LOUDNESS
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
        around = sliding_window_view(padded, 2 * reach + 1) - 0.15 * np.abs(np.arange(-reach, reach + 1)) / reach
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


def _over_hiss(sound: Numbers, rate_hz: float) -> float:
    """Return the power of all sound over that of the hiss, dB; the hiss by what is left near the highest frequency."""
    width = 1024
    count = sound.size // width
    parts = sound[: count * width].reshape(count, width) * np.hanning(width)
    power = np.mean(np.abs(np.fft.rfft(parts, axis=1)) ** 2, axis=0)[2:]
    power = power[: max(64, int(power.size * min(1.0, 2 * HISS_TO_HZ / rate_hz)))]  # nothing of use lies above
    hiss = float(np.median(power[int(0.85 * power.size) : int(0.97 * power.size)])) * power.size
    return 10.0 * float(np.log10(max((float(power.sum()) - hiss) / max(hiss, 1e-30), 1e-6)))


def _line_sizes(hertz: Numbers, power: Numbers, firing: Numbers, over: float = 4.0) -> Numbers:
    """Return how strong the multiples of a frequency usually are against what lies near, below half the band kept."""
    step = float(hertz[1])
    floor = np.median(power[:, hertz < KEPT_HZ], axis=1, keepdims=True)
    flat = np.sqrt(np.maximum(power - over * floor, 0.0) / np.maximum(_loudest_near(power, step), 1e-30))
    lines = np.arange(1, 25)
    held = np.full((firing.size, lines.size), np.nan)
    for row, one in enumerate(firing):
        at = one * lines
        inside = at < min(KEPT_HZ / 2, float(hertz[-1]))
        place = np.clip(np.round(at[inside] / step).astype(int), 1, hertz.size - 2)
        held[row, inside] = np.max([flat[row, place + shift] for shift in (-1, 0, 1)], axis=0)
    return np.asarray(np.nanmedian(held[:, np.isfinite(held).any(axis=0)], axis=0), dtype=np.float64)


def _no_multiple(hertz: Numbers, power: Numbers, firing: Numbers, lowest: float) -> Numbers:
    """Return the firing frequency, or the part of it whose every multiple is a line as strong as the others."""
    for part in range(2, 7):
        if float(np.median(firing)) / part < lowest:
            continue
        usual = _line_sizes(hertz, power, firing / part)
        main = np.arange(1, usual.size + 1) % part == 0
        if main.sum() and float(np.median(usual[~main])) > ALIKE * float(np.median(usual[main])):
            return firing / part
    return firing


def _whole_firing(hertz: Numbers, power: Numbers, firing: Numbers, highest: float, cylinders: int) -> Numbers:
    """Return the firing frequency, or a multiple of it where the lines between are so much weaker.

    One dead cylinder leaves lines at every half order; a comb of those fits as well as that of the firings.
    """
    usual = _line_sizes(hertz, power, firing, 0.0)
    number = np.arange(1, usual.size + 1)
    best, times = 1.0, 1
    for factor in range(2, cylinders + 1):
        main = number % factor == 0
        if cylinders % factor or main.sum() < 3 or float(np.median(firing)) * factor > highest:
            continue
        ratio = float(np.median(usual[main]) / max(float(np.median(usual[~main])), 1e-9))
        ratio /= MAIN_LINES_OF_ALL if factor == cylinders else MAIN_LINES
        if ratio > best:
            best, times = ratio, factor
    return firing * times


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


def _half_order(level: Numbers, rate: float, firing: float, cylinders: int) -> float | None:
    """Return the lines a half order beside the firing lines, against those of one dead cylinder; None if too short.

    The windows are long enough to part lines that are N / 120 apart, eight turns of the distributor.
    """
    order = firing / cylinders
    width = int(8.0 / order * rate)
    if cylinders < 2 or width > level.size or width < 64:
        return None
    size = 1 << int(2 * width - 1).bit_length()
    hertz = np.fft.rfftfreq(size, 1.0 / rate)
    found = []
    for start in range(0, level.size - width + 1, max(1, width // 2)):
        size_of = np.abs(np.fft.rfft(level[start : start + width] * np.hanning(width), size))
        floor = float(np.median(size_of[(hertz > 0.5 * order) & (hertz < KEPT_HZ)]))
        near = (hertz > 0.97 * firing) & (hertz < 1.03 * firing)
        centre = float(hertz[near][int(np.argmax(size_of[near]))]) if near.any() else firing
        main = beside = 0.0
        for harmonic in (1, 2):
            if centre * harmonic * 1.2 > hertz[-1]:
                break
            main += float(np.interp(centre * harmonic, hertz, size_of))
            at = [centre * (harmonic + shift / cylinders) for shift in (-1, 1)]
            beside += max(0.0, float(np.mean(np.interp(at, hertz, size_of))) - floor)
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
        words.append(f"It falls back or goes flat at {found.break_up.value:.0f} ± {found.break_up.spread:.0f} rpm.")
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
        made.append(taken("idle-speed", found.mean, "rpm", span, "firing frequency of the sound"))
        made.append(taken("idle-swing", found.swing, "rpm", span, "firing frequency of the sound"))
    if found.break_up is not None:
        spread = float(np.hypot(found.break_up.spread, 0.01 * found.break_up.value))
        broke = Estimate(found.break_up.value, spread)
        made.append(taken("break-up-speed", broke, "rpm", span, "where the sound's speed falls back or goes flat"))
    return tuple(one for one in made if one is not None)
