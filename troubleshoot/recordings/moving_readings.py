"""What quick openings, blips, overrun and steady driving tell."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from troubleshoot.recordings.estimates import Estimate, Numbers, mean, noise, smoothed, step
from troubleshoot.recordings.log import Log
from troubleshoot.recordings.quantities import MANIFOLD, SPEED
from troubleshoot.recordings.stretches import RUNS, Stretch, openings, shut, steady, stretches, warm
from troubleshoot.recordings.taken import TakenReading, taken

AFTER_OPENING = 1.2
"""Seconds after a quick opening in which the mixture is watched."""
RETURN_WITHIN = 200.0
"""rpm above idle at which the speed counts as back (the check's own words)."""
COARSEST_S = 0.12
"""Seconds between samples from which a short peak or dip is not in the log."""
SHUTS_IN_S = 0.04
"""Seconds that the moment of shutting the throttle is unsure by: a foot is not a switch."""
RETURN_WATCHED = 5.0
OVERRUN_FROM = 2500.0


def moving_readings(log: Log, at_idle: Stretch | None) -> Iterator[TakenReading | None]:
    """Yield what moves in the log tell."""
    yield _opening(log)
    if at_idle is not None:
        yield from _return(log, at_idle)
    yield from _overrun(log)
    yield from _steady(log)


def _opening(log: Log) -> TakenReading | None:
    """Return the leanest moment after a quick opening from below 2500 rpm."""
    if not log.has("mixture"):
        return None
    speed = log.held(SPEED)
    for row in openings(log):
        at = float(log.time[row])
        after = Stretch(log, row, len(log)).part(at, at + AFTER_OPENING)
        if (
            speed[row] > 2500
            or after.seconds < 0.8 * AFTER_OPENING
            or any(row < one < after.end for one in log.restarts)
        ):
            continue
        time, mixture = after.samples("mixture")
        if mixture.size < 4 or step(time) > COARSEST_S:
            continue  # the peak would fall between the samples
        width = max(0.1, 2.5 * step(time))
        smooth = smoothed(time, mixture, width)
        place = int(np.argmax(smooth))
        count = max(1, int((np.abs(time - time[place]) <= width / 2).sum()))
        own = noise(log.columns["mixture"][np.isfinite(log.columns["mixture"])])
        peak = float(mixture.max() - smooth[place])
        return taken(
            "mixture-when-opened",
            Estimate(float(smooth[place]) + peak / 3, float(np.hypot(own / min(np.sqrt(count), 1.7), peak / 1.5))),
            "lambda",
            (at, at + AFTER_OPENING),
            "leanest in 1.2 s after a quick opening",
            "mixture",
            float(time[place]),
        )
    return None


def _return(log: Log, at_idle: Stretch) -> Iterator[TakenReading | None]:
    """Yield dip and hang on the way back to idle after a blip."""
    closed = shut(log)
    if closed is None:
        return
    usual = float(at_idle.values(SPEED).mean())
    speed = log.held(SPEED)
    for one in stretches(log, closed & warm(log)):
        if one.start == 0 or one.start in log.restarts or one.seconds < 3.0 or one.end - one.start < 8:
            continue
        highest = float(np.nanmax(speed[max(0, one.start - 3) : one.start + 3]))
        if highest < usual + 500:
            continue
        begun = float(one.time[0])
        back = one.part(begun, begun + RETURN_WATCHED)
        time, values = back.samples(SPEED)
        below = np.flatnonzero(values <= usual + RETURN_WITHIN)
        if not below.size or values[0] <= usual + RETURN_WITHIN:
            continue
        yield _hang(time, values, int(below[0]), usual, begun)
        if step(time) > COARSEST_S:
            return
        smooth = smoothed(time, values, max(0.15, 2.5 * step(time)))
        place = int(np.argmin(smooth))
        under = float(smooth[place] - values.min())
        yield taken(
            "return-dip",
            Estimate(float(smooth[place]) - under / 4, float(np.hypot(noise(values) / 2, under / 1.3))),
            "rpm",
            (begun, float(time[-1])),
            "lowest in five seconds after the throttle shut",
            SPEED,
            float(time[place]),
        )
        return


def _hang(time: Numbers, values: Numbers, place: int, usual: float, begun: float) -> TakenReading | None:
    goal = usual + RETURN_WITHIN
    fall = values[place - 1] - values[place]
    share = float((values[place - 1] - goal) / fall) if fall > 0 else 1.0
    at = float(time[place - 1] + np.clip(share, 0, 1) * (time[place] - time[place - 1]))
    usual_step = step(time)
    slope = max(fall / max(usual_step, 1e-3), 50.0)
    spread = float(np.hypot(np.hypot(0.6 * usual_step, SHUTS_IN_S), noise(values) / slope))
    return taken(
        "return-hang", Estimate(at - begun, spread), "s", (begun, at), "from throttle shut to within 200 rpm of idle"
    )


def _overrun(log: Log) -> Iterator[TakenReading | None]:
    """Yield the mixture with the throttle shut while the speed falls from above 2500 rpm."""
    closed = shut(log)
    if closed is None or not log.has("mixture"):
        return
    speed = smoothed(log.time, log.held(SPEED), 0.3)
    for one in stretches(log, closed & (speed > 1400)):
        if speed[one.start] < OVERRUN_FROM or one.seconds < 0.8:
            continue
        part = one.part(float(one.time[0]) + 0.4, np.inf)
        values = part.values("mixture")
        if values.size >= 3:
            yield taken(
                "overrun-mixture",
                mean(values),
                "lambda",
                (float(part.time[0]), float(part.time[-1])),
                "mean on the overrun, 0.4 s after the throttle shut",
                "mixture",
            )
            return


def _steady(log: Log) -> Iterator[TakenReading | None]:
    held = steady(log, 1500, 3000, 120, 3.0)
    if held is not None and held.values("battery-volts").size >= 4 and float(held.values(SPEED).min()) > RUNS:
        span = (float(held.time[0]), float(held.time[-1]))
        volts = mean(held.values("battery-volts"))
        yield taken("charging-volts-held", volts, "V", span, "mean at steady speed", "battery-volts")
    cruise = steady(log, 1750, 2250, 120, 3.0)
    if cruise is None or not log.has(MANIFOLD):
        return
    load = cruise.values(MANIFOLD)
    if load.size < 4 or not 40 <= float(load.mean()) <= 80:
        return  # a speed held in neutral or a climb is no cruise
    span = (float(cruise.time[0]), float(cruise.time[-1]))
    for name, check, unit in (("mixture", "cruise-mixture", "lambda"), ("correction", "cruise-correction", "%")):
        values = cruise.values(name)
        if values.size >= 4:
            yield taken(check, mean(values), unit, span, "mean at steady cruise", name)
