"""Readings from a recorded run: what a person would read off it, as text a check takes."""

from __future__ import annotations

import math
from collections.abc import Sequence

from troubleshoot.recordings.run import Run
from troubleshoot.recordings.stretches import Stretch, idle, pull, smoothed

SMOOTH = 0.2
"""Seconds; a reading is the mean over this long, as a meter shows it."""
FALLS = 0.02
"""Share of the highest speed so far that the speed must fall, throttle open, to count as breaking up."""
FLAT = 0.15
"""Share of the pull's usual rise per second below which the engine has gone flat."""
FLAT_FOR = 0.6
"""Seconds it must stay flat."""


def readings_from(run: Run) -> dict[str, str]:
    """Return readings by check id; only those that the run can give."""
    found: dict[str, str] = {}
    at_idle, at_full = idle(run), pull(run)
    if at_idle is not None:
        found.update(_idle_readings(at_idle))
    if at_full is not None:
        found.update(_pull_readings(at_full))
    return found


def notes_on(run: Run) -> tuple[str, ...]:
    """Return in words what the run holds and what it does not."""
    notes = []
    at_idle, at_full = idle(run), pull(run)
    if at_idle is None:
        notes.append("No idle of four seconds or more was found.")
    else:
        period = swing_period(at_idle)
        swings = f", swinging about every {period:.1f} s" if period else ""
        notes.append(f"Idle: {at_idle.seconds:.0f} s from {run.time[at_idle.start]:.1f} s{swings}.")
    if at_full is None:
        notes.append("No pull at full throttle was found.")
    else:
        speeds = at_full.values("engine-speed")
        notes.append(
            f"Pull: {at_full.seconds:.1f} s from {run.time[at_full.start]:.1f} s, "
            f"{speeds[0]:.0f} to {max(speeds):.0f} rpm."
        )
    if run.ignored:
        notes.append(f"Not used: {', '.join(one[:30] for one in run.ignored[:12])}.")
    return tuple(notes)


def _idle_readings(at_idle: Stretch) -> dict[str, str]:
    speeds = at_idle.values("engine-speed")
    found = {"idle-speed": f"{_mean(speeds):.0f} rpm", "idle-swing": f"{_half_swing(speeds):.0f} rpm"}
    has = at_idle.run.columns
    for name, check, unit in (
        ("mixture", "idle-mixture", "lambda"),
        ("correction", "idle-correction", "%"),
        ("idle-valve", "idle-valve-position", "%"),
        ("pulse-width", "idle-pulse-width", "ms"),
        ("fuel-pressure", "pressure-at-idle", "psi"),
        ("pump-volts", "pump-volts-running", "V"),
    ):
        values = at_idle.values(name) if name in has else []
        if values:
            found[check] = f"{_mean(values):.4g} {unit}"
    if "mixture" in has and at_idle.values("mixture"):
        found["idle-mixture-swing"] = f"{_half_swing(at_idle.values('mixture')):.3f} lambda"
    return found


def _pull_readings(at_full: Stretch) -> dict[str, str]:
    run, rows = at_full.run, slice(at_full.start, at_full.end)
    time, has = run.time[rows], run.columns
    found: dict[str, str] = {}
    broke = _break_up_speed(at_full)
    if broke is not None:
        found["break-up-speed"] = f"{broke:.0f} rpm"
    if "fuel-pressure" in has:
        pressure = smoothed(time, has["fuel-pressure"][rows], SMOOTH)
        lean = smoothed(time, has["mixture"][rows], SMOOTH) if "mixture" in has else []
        value = (
            pressure[_highest(lean)]
            if any(map(math.isfinite, lean))
            else min(filter(math.isfinite, pressure), default=math.nan)
        )
        if math.isfinite(value):
            found["pressure-when-lean"] = f"{value:.1f} psi"
    if "duty" in has:
        duty = [one for one in smoothed(time, has["duty"][rows], SMOOTH) if math.isfinite(one)]
        if duty:
            found["injector-duty-top"] = f"{max(duty):.1f} %"
    for name, check, unit, near in (
        ("correction", "correction-at-top", "%", 4500.0),
        ("mixture", "mixture-at-top", "lambda", 5000.0),
        ("manifold-pressure", "manifold-pressure-full", "kPa abs", 4500.0),
        ("pump-volts", "pump-volts-under-load", "V", math.inf),
    ):
        values = _near(at_full, name, near) if name in has else []
        if values:
            found[check] = f"{_mean(values):.4g} {unit}"
    low = at_full.where("engine-speed", 2350, 2650, "mixture") if "mixture" in has else []
    if low:
        found["mixture-full-low"] = f"{_mean(low):.3f} lambda"
    return found


def _break_up_speed(at_full: Stretch) -> float | None:
    """Return the speed at which a pull falls back or goes flat, throttle open; None when it runs clean."""
    rows = slice(at_full.start, at_full.end)
    time = at_full.run.time[rows]
    speed = smoothed(time, at_full.run.columns["engine-speed"][rows], SMOOTH)
    top, usual = -math.inf, _usual_rise(time, speed)
    since: float | None = None
    for place in range(1, len(time)):
        if not math.isfinite(speed[place]):
            continue
        top = max(top, speed[place])
        if speed[place] < top * (1 - FALLS):
            return top
        begun = time[place] - time[0] >= 2 * SMOOTH
        if begun and _rise(time, speed, place) < FLAT * usual:
            since = time[place] if since is None else since
            if time[place] - since >= FLAT_FOR:
                return top
        else:
            since = None
    return None


def _rise(time: Sequence[float], speed: Sequence[float], place: int) -> float:
    """Return the rise in rpm per second over the last 0.2 s."""
    back = place
    while back > 0 and time[place] - time[back] < SMOOTH:
        back -= 1
    spent = time[place] - time[back]
    return (speed[place] - speed[back]) / spent if spent > 0 else math.inf


def _usual_rise(time: Sequence[float], speed: Sequence[float]) -> float:
    """Return the rise per second that the pull keeps up where it is good: nine in ten are below it."""
    rises = [_rise(time, speed, place) for place in range(1, len(time)) if time[place] - time[0] >= SMOOTH]
    good = sorted(one for one in rises if math.isfinite(one) and one > 0)
    return good[len(good) * 9 // 10] if good else 0.0


def swing_period(at_idle: Stretch) -> float | None:
    """Return the seconds between one swing of the idle and the next; None when it does not swing."""
    values = at_idle.values("engine-speed")
    swing = _half_swing(values)
    if swing < 15:
        return None
    rows = slice(at_idle.start, at_idle.end)
    time, speed = (
        at_idle.run.time[rows],
        smoothed(at_idle.run.time[rows], at_idle.run.columns["engine-speed"][rows], SMOOTH),
    )
    mean, below, crossings = _mean(values), False, []
    for at, one in zip(time, speed, strict=True):
        if one < mean - swing / 3:
            below = True
        elif one > mean + swing / 3 and below:
            below = False
            crossings.append(at)
    return (crossings[-1] - crossings[0]) / (len(crossings) - 1) if len(crossings) >= 3 else None


def _half_swing(values: Sequence[float]) -> float:
    """Return half the difference between the highest and lowest, single jumps (one in fifty) left out."""
    ordered = sorted(values)
    out = len(ordered) // 50
    return (ordered[len(ordered) - 1 - out] - ordered[out]) / 2 if ordered else 0.0


def _near(at_full: Stretch, name: str, speed: float) -> list[float]:
    """Return a quantity's numbers near an engine speed, or near the highest speed when that is lower."""
    top = max(at_full.values("engine-speed"))
    centre = min(speed, top - 150)
    return at_full.where("engine-speed", centre - 250, centre + 250, name)


def _highest(values: Sequence[float]) -> int:
    return max(range(len(values)), key=lambda place: values[place] if math.isfinite(values[place]) else -math.inf)


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)
