"""Sound over the angle that the engine has turned: which line is the firing line, and how far the engine stands out.

The samples are laid evenly over the turns of a speed that was followed (order tracking), so that a speed that changes
smears no line. Orders are multiples of the frequency followed. Every line of an engine is a multiple of 1/n of its
firing frequency; what is steady and lies elsewhere is a fan, a pump or mains hum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from troubleshoot.recordings.capture import Numbers
from troubleshoot.recordings.firing_line import KEPT_HZ
from troubleshoot.recordings.still_lines import SLOW_HZ, Moving, spectrum

WINDOW_S = 2.0
LOWEST_HZ = 12.0
MOST_LINES, LEAST_LINES, LOUD_TO_HZ = 12, 3, 1200.0
"""Firing lines by which the engine is told, and up to where they are loud."""
FLOOR_HZ, QUIET, QUIET_IS = 60.0, 35.0, 0.43
"""Width in which the floor between the lines is taken; the percentile it is taken by, and that percentile's share of
the mean (of the exponential distribution that noise has in a spectrum)."""
OPENED_HZ = 400.0
"""A rise of the floor narrower than this is the engine's own: its firings are not alike, and the pipe rings."""
WANDERS, REFINED = 0.004, 0.008
"""Share by which firings wander about the speed followed, and by which that speed may be off."""
CENTRED, CENTRED_SHARE, CENTRED_CHANGED = 0.25, 0.0007, 0.02
"""How near an engine's line lies to its place: lines of a window, share of its frequency, and of that by which the
speed changed."""
OVER_OFF, OVER_HALF, OVER_MAIN, NARROW_HZ = 10.0, 10.0, 1.0, 12.0
"""Times the floor, the half orders near it, or the firing lines beside it, from which a line may be a fan's. Where half
orders lie nearer to each other than the last, a place between them tells nothing."""
NEAR_HZ = 16.0
"""Width in which a steady tone stands alone."""
HISS_TO_HZ = 8000.0
STANDS_OUT_DB, MOST_STAND_OUT_DB, OVER_PARTS_DB, OVER_ALL_DB = 9.0, 5.0, 3.0, 4.0
"""What firing lines stand out of the floor by on the mean, what half of them do at least, and what they stand out by of
lines that would halve or third the speed, and of all half orders on the mean."""
MOST_STILL, STILL_FROM = 16, 0.01
"""Loudest lines that are asked whether they move with the engine, and the share of all that a line must have."""
LEAST_APART = 3.2
"""Lines of a window that half orders are apart at least, to be told from each other."""


@dataclass(frozen=True)
class Orders:
    """A spectrum over orders: power and the floor under it, `hertz` to one order, periods in a window, and the share
    by which that frequency changed."""

    order: Numbers
    power: Numbers
    floor: Numbers
    hertz: float
    window: float
    changed: float
    moving: Moving

    def levels(self, at: Numbers, reach: float) -> Numbers:
        """Return how many dB the lines at these orders stand out of the floor, zero at least."""
        step = float(self.order[1])
        each = max(1, int(reach / step))
        places = np.round(at / step).astype(np.int64)
        places = places[places < self.power.size - each]
        near = self.power[places[:, None] + np.arange(-each, each + 1)[None, :]].max(axis=1)
        return np.asarray(10.0 * np.log10(np.maximum(near / np.maximum(self.floor[places], 1e-30), 1.0)))


def orders_of(level: Numbers, rate: float, time: Numbers, followed: Numbers) -> Orders:
    """Return the spectrum of a sound over multiples of a frequency (Hz) that was followed at moments (s)."""
    turned = np.cumsum(np.interp(np.arange(level.size) / rate, time, followed)) / rate
    hertz = float(np.median(followed))
    each = max(4, int(rate / hertz))
    count = int((turned[-1] - turned[0]) * each)
    even = np.interp(turned[0] + np.arange(count) / each, turned, level)
    width = min(count, int(WINDOW_S * hertz * each))
    size = 1 << int(2 * width - 1).bit_length()
    power = np.zeros(size // 2 + 1)
    for start in range(0, count - width + 1, max(1, width // 2)):
        power += np.abs(np.fft.rfft(even[start : start + width] * np.hanning(width), size)) ** 2
    order = np.asarray(np.fft.rfftfreq(size, 1.0 / each), dtype=np.float64)
    every = max(1, int(rate / SLOW_HZ))
    moving = Moving(spectrum(even, each * hertz), spectrum(level, rate), turned[::every], rate / every)
    floor, changed = _floor(power, float(order[1]) * hertz), float(np.ptp(followed)) / hertz
    return Orders(order, power, floor, hertz, width / each, changed, moving)


def _floor(power: Numbers, step_hz: float) -> Numbers:
    """Return the mean of the noise between the lines."""
    block = max(8, int(FLOOR_HZ / step_hz))
    count = -(-power.size // block)
    parts = np.pad(power, (0, count * block - power.size), mode="edge").reshape(count, block)
    quiet = np.percentile(parts, QUIET, axis=1) / QUIET_IS
    quiet = np.minimum(quiet, 4.0 * np.pad(quiet, 1, mode="edge")[2:])
    return np.interp(np.arange(power.size), (np.arange(count) + 0.5) * block, quiet)


def firing_orders(seen: Orders, cylinders: int, lowest: float, highest: float) -> list[float]:
    """Return what the firing frequency may be against the one followed, `lowest` to `highest` Hz, the highest first.

    Every second and every third firing line stands out of the floor as the others do, and all of them out of the lines
    that would be firing lines if the frequency were a half or a third of it, and of all half orders on the mean (one
    dead cylinder of n leaves those 1/(n - 1) as high: the Fourier series of the pulses).
    """
    parts = {cylinders // one * place for one in (2, 3) if cylinders % one == 0 for place in range(1, one)}
    found: list[float] = []
    ratios = {float(one) for one in range(2, 9)} | {cylinders / one for one in range(1, 8 * cylinders + 1)}
    for about in sorted(ratios, reverse=True):
        count = int(KEPT_HZ / seen.hertz / about)
        if not lowest <= about * seen.hertz <= highest or count < 2:
            continue
        ratio = about * _scale(seen, about)
        half = ratio / cylinders
        if half * seen.window < LEAST_APART:
            continue
        reach = min(0.3 * half, max(1.0 / seen.window, WANDERS))
        count = min(count, MOST_LINES, max(LEAST_LINES, int(LOUD_TO_HZ / seen.hertz / ratio)))
        number = np.arange(1, count + 1, dtype=np.float64)
        main = seen.levels(number * ratio, reach)
        if main.size < 2:
            continue
        alike = [main[0::2], main[1::2]] + ([main[one::3] for one in range(3)] if main.size >= 6 else [])
        between = [seen.levels((number[:-1] + one / cylinders) * ratio, reach).mean() for one in range(1, cylinders)]
        least = float(min(one.mean() for one in alike))
        most = min(float(np.median(one)) for one in alike) > MOST_STAND_OUT_DB
        over = least - max((between[one - 1] for one in parts), default=0.0) >= OVER_PARTS_DB
        over = over and main.mean() - np.mean(between or 0.0) >= OVER_ALL_DB
        if most and least >= STANDS_OUT_DB and over:
            found.append(ratio)
    return found


def _scale(seen: Orders, ratio: float) -> float:
    """Return by how much the frequency followed is off, by where its lines stand highest."""
    number = np.arange(1, max(2, min(MOST_LINES, int(KEPT_HZ / seen.hertz / ratio))) + 1) * ratio
    high = np.log(np.maximum(seen.power / np.maximum(seen.floor, 1e-30), 1.0))
    scales = 1.0 + np.arange(-REFINED, REFINED + 1e-9, 0.0002)
    held = [float(np.interp(number * one, seen.order, high).sum()) for one in scales]
    return float(scales[int(np.argmax(held))])


def over_other(seen: Orders, ratio: float, cylinders: int, sound: Numbers, rate_hz: float) -> float:
    """Return the engine's power over that of hiss and steady tones, dB; `ratio` is the firing line's order."""
    step, half = float(seen.order[1]), ratio / cylinders
    at = np.arange(1, int(KEPT_HZ / seen.hertz / half) + 1) * half
    reach = np.minimum(0.45 * half, 1.6 / seen.window + WANDERS * at)
    low = np.maximum(((at - reach) / step).astype(np.int64), 0)
    high = np.minimum(((at + reach) / step).astype(np.int64) + 2, seen.power.size)
    powers, floors = (np.concatenate(([0.0], np.cumsum(one))) for one in (seen.power, seen.floor))
    under = floors[high] - floors[low]
    own = np.maximum(powers[high] - powers[low] - under, 0.0)
    on = np.zeros(seen.power.size, dtype=np.bool_)
    for first, last in zip(low.tolist(), high.tolist(), strict=True):
        on[first:last] = True
    hertz = seen.order * seen.hertz
    band = (hertz > LOWEST_HZ) & (hertz < KEPT_HZ)
    off = band & ~on & (seen.power > OVER_OFF * _near(seen.power, step * seen.hertz))
    most = _most(own, under, cylinders)
    for place in np.flatnonzero(own > most).tolist():
        if place % cylinders != cylinders - 1 and half * seen.hertz < NARROW_HZ:
            continue
        part = seen.power[low[place] : high[place]]
        weight = np.maximum(part - 0.2 * part.max(), 0.0)
        centre = float(np.sum(seen.order[low[place] : high[place]] * weight) / weight.sum())
        share = CENTRED_SHARE + CENTRED_CHANGED * seen.changed
        if abs(centre - at[place]) < CENTRED / seen.window + share * at[place]:
            most[place] = own[place]
    engine = np.minimum(own, most)
    loud = np.argsort(engine)[::-1][:MOST_STILL]
    loud = loud[engine[loud] > STILL_FROM * engine.sum()]
    engine[loud] *= 1.0 - seen.moving.still_shares(at[loud], seen.hertz, half * seen.hertz)
    steady = float((own - engine).sum() + (seen.power[off] - seen.floor[off]).sum())
    hiss = float(_opened(seen.floor, step * seen.hertz)[band].sum())
    above = _above(sound, rate_hz) * float(seen.power[band].sum())
    return 10.0 * float(np.log10(max(float(engine.sum()), 1e-9) / max(hiss + steady + above, 1e-30)))


def _most(own: Numbers, under: Numbers, cylinders: int) -> Numbers:
    """Return the power from which each line of the engine may be a fan's, by the lines of its kind beside it."""
    number = np.arange(1, own.size + 1)
    main = number % cylinders == 0
    firing = np.flatnonzero(main)
    most = np.empty(own.size)
    for place in range(own.size):
        if main[place]:
            beside = firing[np.abs(firing - place) == cylinders]
            most[place] = OVER_MAIN * float(own[beside].max(initial=0.0))
        else:
            near = slice(max(0, place - 6), place + 7)
            most[place] = OVER_HALF * float(np.median(own[near][~main[near]]))
    return most + 4.0 * under


def _near(power: Numbers, step_hz: float) -> Numbers:
    """Return the usual power within some Hz of each place, so that a ringing of the pipe is no steady tone."""
    block = max(3, int(NEAR_HZ / 5 / step_hz))
    count = -(-power.size // block)
    middle = np.median(np.pad(power, (0, count * block - power.size), mode="edge").reshape(count, block), axis=1)
    around = np.median(sliding_window_view(np.pad(middle, 2, mode="edge"), 5), axis=1) / np.log(2.0)
    return np.asarray(np.repeat(around, block)[: power.size], dtype=np.float64)


def _opened(floor: Numbers, step_hz: float) -> Numbers:
    """Return the floor without rises that are narrower than `OPENED_HZ` (a minimum and then a maximum along it)."""
    every = max(1, int(10.0 / step_hz))
    coarse, reach = floor[::every], max(1, int(0.5 * OPENED_HZ / (every * step_hz)))
    low = sliding_window_view(np.pad(coarse, reach, mode="edge"), 2 * reach + 1).min(axis=1)
    high = sliding_window_view(np.pad(low, reach, mode="edge"), 2 * reach + 1).max(axis=1)
    made = np.interp(np.arange(floor.size), np.arange(coarse.size) * every, np.minimum(high, coarse))
    return np.asarray(made, dtype=np.float64)


def _above(sound: Numbers, rate_hz: float) -> float:
    """Return the power above the band that is kept, against that within it."""
    width = 1024
    count = sound.size // width
    parts = sound[: count * width].reshape(count, width) * np.hanning(width)
    power = np.mean(np.abs(np.fft.rfft(parts, axis=1)) ** 2, axis=0)
    hertz = np.fft.rfftfreq(width, 1.0 / rate_hz)
    within = float(power[(hertz > LOWEST_HZ) & (hertz < KEPT_HZ)].sum())
    return float(power[(hertz >= KEPT_HZ) & (hertz < HISS_TO_HZ)].sum()) / max(within, 1e-30)
