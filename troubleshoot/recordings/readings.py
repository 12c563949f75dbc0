"""Readings from a log: what a person would read off it for a check, each with uncertainty, stretch and method."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from troubleshoot.recordings.estimates import half_swing, mean, noise, period, step
from troubleshoot.recordings.log import Log
from troubleshoot.recordings.moving_readings import moving_readings
from troubleshoot.recordings.pull_readings import pull_readings
from troubleshoot.recordings.quantities import SPEED
from troubleshoot.recordings.start_readings import start_readings
from troubleshoot.recordings.stretches import Stretch, idle, pull, stretches
from troubleshoot.recordings.taken import TakenReading, taken

HUNT_LEAST = 15.0
"""rpm to each side from which an idle is said to swing."""
JUMP = 300.0
"""rpm between two samples that no engine makes: electrical (common practice, no source)."""
MOST_NAMED = 12


def readings_from(log: Log) -> tuple[TakenReading, ...]:
    """Return the readings that the log can give, each check once."""
    found: dict[str, TakenReading] = {}
    at_idle, at_full = idle(log), pull(log)
    parts: list[Iterator[TakenReading | None]] = [start_readings(log), moving_readings(log, at_idle)]
    if at_idle is not None:
        parts.append(idle_readings(at_idle))
    if at_full is not None:
        parts.append(pull_readings(at_full))
    for part in parts:
        for one in part:
            if one is not None and one.check not in found:
                found[one.check] = one
    return tuple(found.values())


def idle_readings(at_idle: Stretch) -> Iterator[TakenReading | None]:
    """Yield what a warm idle tells."""
    span = (float(at_idle.time[0]), float(at_idle.time[-1]))
    time, speed = at_idle.samples(SPEED)
    if speed.size < 4:
        return
    yield taken("idle-speed", mean(speed), "rpm", span, "mean of the idle", SPEED)
    yield taken("idle-swing", half_swing(time, speed), "rpm", span, "half the band from 3 to 97 %, drift taken out")
    for name, check, unit in (
        ("mixture", "idle-mixture", "lambda"),
        ("correction", "idle-correction", "%"),
        ("idle-valve", "idle-valve-position", "%"),
        ("pulse-width", "idle-pulse-width", "ms"),
        ("fuel-pressure", "pressure-at-idle", "psi"),
        ("pump-volts", "pump-volts-running", "V"),
        ("throttle", "throttle-closed-shown", "%"),
    ):
        values = at_idle.values(name)
        if values.size >= 4:
            yield taken(check, mean(values), unit, span, "mean of the idle", name)
    if at_idle.log.has("mixture"):
        moments, mixture = at_idle.samples("mixture")
        if mixture.size >= 8:
            yield taken(
                "idle-mixture-swing", half_swing(moments, mixture), "lambda", span, "half the band from 3 to 97 %"
            )


def notes_on(log: Log) -> tuple[str, ...]:
    """Return in words what the log holds and what it does not."""
    return tuple(_notes(log))


def _notes(log: Log) -> Iterator[str]:
    yield from log.remarks
    at_idle, at_full = idle(log), pull(log)
    if at_idle is None:
        yield "No warm idle of four seconds or more was found."
    else:
        hunt = period(*at_idle.samples(SPEED), HUNT_LEAST)
        swings = f", swinging about every {hunt.value:.1f} s" if hunt else ""
        yield f"Idle: {at_idle.seconds:.0f} s, from {at_idle.words}{swings}."
    if at_full is None:
        yield "No pull at full throttle was found."
    else:
        speeds = at_full.values(SPEED)
        yield f"Pull: {at_full.words}, {speeds[0]:.0f} to {speeds.max():.0f} rpm."
        yield from _droop(at_full)
    yield from _jumps(log)
    yield from _warm_up(log)
    if log.ignored:
        named = ", ".join(one[:30] for one in log.ignored[:MOST_NAMED])
        yield f"Not used: {named}{' and more' if len(log.ignored) > MOST_NAMED else ''}."


def _droop(at_full: Stretch) -> Iterator[str]:
    for name, words in (("battery-volts", "Battery volts"), ("pump-volts", "Pump volts")):
        volts = at_full.values(name)
        tenth = volts.size // 10
        if tenth >= 2:
            fall = mean(volts[:tenth]).value - mean(volts[-tenth:]).value
            if fall > 3 * noise(volts) and fall > 0.15:
                yield f"{words} fall by {fall:.2f} V in the pull."


def _jumps(log: Log) -> Iterator[str]:
    """Say where the speed jumps away and back as no engine can: over 300 rpm from the samples around it."""
    good = np.isfinite(log.columns[SPEED])
    speed, time = log.columns[SPEED][good], log.time[good]
    if speed.size < 7 or step(time) > 0.12:
        return
    likely = np.flatnonzero(np.abs(np.diff(speed[2:-2])) > JUMP)
    likely = np.unique(np.concatenate((likely, likely + 1)))
    around = np.median(sliding_window_view(speed, 5)[likely], axis=1)
    away = likely[np.abs(speed[likely + 2] - around) > JUMP] + 2
    away = away[speed[away - 2] > 0]
    gone = int((speed[away] < GONE).sum())
    if away.size:
        where = ", ".join(f"{time[one]:.2f}" for one in away[:6])
        out = f", {gone} of them to zero" if gone else ""
        yield (
            f"The speed jumps away by over {JUMP:.0f} rpm and back {away.size} times{out} (at {where} s)"
            ": that is electrical."
        )


GONE = 60.0
RUNNING = 450.0


def _warm_up(log: Log) -> Iterator[str]:
    if not log.has("coolant"):
        return
    runs = [one for one in stretches(log, log.held(SPEED) > RUNNING) if one.seconds >= 120]
    for one in runs[:1]:
        values = one.values("coolant")
        rise = float(values[-1] - values[0]) if values.size > 2 else 0.0
        if rise > 20:
            yield f"Warm-up: coolant rises from {values[0]:.0f} to {values[-1]:.0f} °F in {one.seconds / 60:.1f} min."
    rest = [one for one in stretches(log, log.held(SPEED) < 30) if one.seconds >= 60]
    for one in rest:
        values = one.values("coolant")
        if values.size > 2 and values.max() - values[0] > 5:
            yield f"Heat soak: with the engine still the coolant goes up by {values.max() - values[0]:.0f} °F."
            return
