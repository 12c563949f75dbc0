"""What a pull at full throttle tells: where it breaks up, and mixture, pressure, volts and duty there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from troubleshoot.recordings.estimates import Estimate, Numbers, mean, noise, smoothed, step
from troubleshoot.recordings.quantities import MANIFOLD, SPEED
from troubleshoot.recordings.stretches import Stretch
from troubleshoot.recordings.taken import TakenReading, taken

SMOOTH = 0.2
"""Seconds; a reading is the mean over this long, as a meter shows it."""
FALLS = 0.02
"""Share of the highest speed so far that the speed must fall, throttle open, to count as breaking up."""
FLAT = 0.15
"""Share of the pull's usual rise per second below which the engine has gone flat."""
FLAT_FOR = 0.6
"""Seconds it must stay flat."""


def pull_readings(at_full: Stretch) -> Iterator[TakenReading | None]:
    """Yield what the pull tells."""
    has, span = at_full.log.columns, (float(at_full.time[0]), float(at_full.time[-1]))
    broke = break_up(at_full)
    if broke is not None:
        words = "speed at which it falls back or goes flat, throttle open"
        yield taken("break-up-speed", broke.speed, "rpm", span, words, SPEED, broke.at_s)
    if "fuel-pressure" in has:
        yield _pressure_when_lean(at_full)
    if "duty" in has:
        yield _highest(at_full, "duty", "injector-duty-top", "%")
    for name, check, unit, near in (
        ("correction", "correction-at-top", "%", 4500.0),
        ("mixture", "mixture-at-top", "lambda", 5000.0),
        (MANIFOLD, "manifold-pressure-full", "kPa abs", 4500.0),
        ("pump-volts", "pump-volts-under-load", "V", np.inf),
    ):
        if name in has:
            yield _near(at_full, name, check, unit, near)
    if "mixture" in has:
        low = at_full.where(2350, 2650, "mixture")
        if low.size:
            found = mean(low)
            yield taken(
                "mixture-full-low",
                Estimate(found.value, max(found.spread, noise(at_full.values("mixture")) / np.sqrt(low.size))),
                "lambda",
                at_full.span_where(2350, 2650),
                "mean from 2350 to 2650 rpm",
                "mixture",
            )
    if "power" in has:
        yield _peak_power(at_full)


def _pressure_when_lean(at_full: Stretch) -> TakenReading | None:
    """Return the pressure at the leanest moment, or its lowest where no mixture was recorded."""
    time = at_full.time
    held = at_full.log.columns["fuel-pressure"][at_full.rows]
    pressure = smoothed(time, held, SMOOTH)
    good = np.isfinite(pressure)
    method = f"mean over {SMOOTH} s at the lowest pressure"
    by = -pressure
    if at_full.log.has("mixture"):
        mixture = smoothed(time, at_full.log.columns["mixture"][at_full.rows], SMOOTH)
        if np.isfinite(mixture).any():
            by, method = mixture, f"mean over {SMOOTH} s at the leanest moment"
    usable = good & np.isfinite(by)
    if not usable.any():
        return None
    place = int(np.argmax(np.where(usable, by, -np.inf)))
    spread = _moment_spread(time, held, pressure, place)
    if at_full.log.has("mixture"):
        mixture_noise = noise(at_full.values("mixture")) / np.sqrt(max(1.0, SMOOTH / max(step(time), 1e-3)))
        alike = usable & (by >= by[place] - 2 * mixture_noise)
        spread = float(np.hypot(spread, np.std(pressure[alike])))
    moment = (float(time[place]) - SMOOTH / 2, float(time[place]) + SMOOTH / 2)
    found = Estimate(float(pressure[place]), spread)
    return taken("pressure-when-lean", found, "psi", moment, method, "fuel-pressure", float(time[place]))


def _moment_spread(time: Numbers, values: Numbers, smooth: Numbers, place: int) -> float:
    """Return the uncertainty of a smoothed moment: the noise left, and how far the mean moves over its own window."""
    finite = values[np.isfinite(values)]
    inside = np.abs(time - time[place]) <= SMOOTH / 2
    count = max(1, int(np.isfinite(values[inside]).sum()))
    near = smooth[np.abs(time - time[place]) <= SMOOTH]
    near = near[np.isfinite(near)]
    moves = float(near.max() - near.min()) / 4 if near.size else 0.0
    return float(np.hypot(noise(finite) / np.sqrt(count), moves))


def _highest(at_full: Stretch, name: str, check: str, unit: str) -> TakenReading | None:
    values = smoothed(at_full.time, at_full.log.columns[name][at_full.rows], SMOOTH)
    if not np.isfinite(values).any():
        return None
    place = int(np.nanargmax(values))
    spread = _moment_spread(at_full.time, at_full.log.columns[name][at_full.rows], values, place)
    at = float(at_full.time[place])
    return taken(
        check,
        Estimate(float(values[place]), spread),
        unit,
        (at - SMOOTH / 2, at + SMOOTH / 2),
        "highest mean over 0.2 s",
        name,
        at,
    )


def _near(at_full: Stretch, name: str, check: str, unit: str, speed: float) -> TakenReading | None:
    """Return a quantity's mean near an engine speed, or near the highest speed when that is lower."""
    top = float(smoothed(at_full.time, at_full.log.held(SPEED)[at_full.rows], SMOOTH).max())
    centre = min(speed, top - 150)
    values = at_full.where(centre - 250, centre + 250, name)
    if not values.size:
        return None
    found = mean(values)
    least = noise(at_full.values(name)) / np.sqrt(values.size)
    return taken(
        check,
        Estimate(found.value, max(found.spread, float(least))),
        unit,
        at_full.span_where(centre - 250, centre + 250),
        f"mean from {centre - 250:.0f} to {centre + 250:.0f} rpm",
        name,
    )


def _peak_power(at_full: Stretch) -> TakenReading | None:
    speed = at_full.log.held(SPEED)[at_full.rows]
    power = smoothed(at_full.time, at_full.log.columns["power"][at_full.rows], SMOOTH)
    good = np.isfinite(power) & np.isfinite(speed)
    if good.sum() < 5:
        return None
    place = int(np.argmax(np.where(good, power, -np.inf)))
    if place >= np.flatnonzero(good)[-1] - 1:
        return None  # it still rises at the end: the peak is not in the log
    alike = good & (power >= power[place] - 2 * noise(at_full.values("power")))
    at = float(at_full.time[place])
    return taken(
        "peak-power-speed",
        Estimate(float(speed[place]), float(np.std(speed[alike])) + 20.0),
        "rpm",
        (at - 0.1, at + 0.1),
        "speed at the highest mean power over 0.2 s",
        SPEED,
        at,
    )


class BreakUp(NamedTuple):
    """The speed (rpm) at which a pull falls back or goes flat, and when it had it, s."""

    speed: Estimate
    at_s: float


def break_up(at_full: Stretch) -> BreakUp | None:
    """Return the speed at which a pull falls back or goes flat, throttle open; None when it runs clean."""
    time, raw = at_full.samples(SPEED)
    if time.size < 5:
        return None
    speed = smoothed(time, raw, SMOOTH)
    highest = np.maximum.accumulate(speed)
    spread = float(np.hypot(noise(raw), np.median(np.abs(np.diff(speed)))))
    usual = _usual_rise(time, speed)
    rises = _rises(time, speed)
    falls = speed < highest * (1 - FALLS)
    flat = (rises < FLAT * usual) & (time - time[0] >= 2 * SMOOTH)
    since: float | None = None
    for place in range(1, time.size):
        if falls[place]:
            return _broken(time, highest, place, spread)
        if flat[place]:
            since = float(time[place]) if since is None else since
            if time[place] - since >= FLAT_FOR:
                return _broken(time, highest, place, float(np.hypot(spread, 0.01 * highest[place])))
        else:
            since = None
    return None


def _broken(time: Numbers, highest: Numbers, place: int, spread: float) -> BreakUp:
    """Return the highest speed up to a place, at the moment it was reached."""
    reached = int(np.argmax(highest >= highest[place]))
    return BreakUp(Estimate(float(highest[place]), spread), float(time[reached]))


def _rises(time: Numbers, speed: Numbers) -> Numbers:
    """Return the rise in rpm per second over the last 0.2 s, or the last sample where they are further apart."""
    places = np.arange(time.size)
    back = np.searchsorted(time, time - SMOOTH, side="right") - 1
    back = np.clip(np.minimum(back, places - 1), 0, None)
    spent = time - time[back]
    with np.errstate(divide="ignore", invalid="ignore"):
        made: Numbers = np.where(spent > 0, (speed - speed[back]) / np.where(spent > 0, spent, 1.0), np.inf)
    return made


def _usual_rise(time: Numbers, speed: Numbers) -> float:
    """Return the rise per second that the pull keeps up where it is good: nine in ten are below it."""
    rises = _rises(time, speed)
    good = np.sort(rises[np.isfinite(rises) & (rises > 0) & (time - time[0] >= SMOOTH)])
    return float(good[good.size * 9 // 10]) if good.size else 0.0
