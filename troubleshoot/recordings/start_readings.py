"""What the log of a start tells: before the key turns, while it cranks, and the first seconds of running."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from troubleshoot.recordings.estimates import Estimate, mean, noise, smoothed, step
from troubleshoot.recordings.log import Log
from troubleshoot.recordings.quantities import MANIFOLD, SPEED
from troubleshoot.recordings.stretches import Start, Stretch, standing, starts
from troubleshoot.recordings.taken import TakenReading, taken

COLD_F, HOT_F = 104.0, 160.0
"""degF of coolant below and above which a start is a cold or a hot one."""
FIRST_MINUTE = 60.0
WATCHED_LEAST = 8.0
"""Seconds of running after a cold start that must be in the log before its lowest speed is read."""


def start_readings(log: Log) -> Iterator[TakenReading | None]:
    """Yield what a start tells, the first start of the log."""
    still = standing(log)
    if still is not None and still.end - still.start >= 4:
        yield from _still_readings(still)
    found = starts(log)
    if not found:
        return
    first = found[0]
    yield from _cranking_readings(first)
    if first.running is not None and log.has("coolant"):
        coolant = first.cranking.values("coolant")
        if coolant.size:
            yield from _running_readings(log, first, float(coolant.mean()))


def _still_readings(still: Stretch) -> Iterator[TakenReading | None]:
    span = (float(still.time[0]), float(still.time[-1]))
    speeds = still.values(SPEED)
    if speeds.size >= 4:
        shown = smoothed(*still.samples(SPEED), 0.2)
        place = int(np.argmax(shown))
        value = float(shown[place])
        own = noise(speeds)
        yield taken(
            "rpm-shown-at-key-on",
            Estimate(0.0 if value < 3 * own + 5 else value, max(own, 0.02 * value)),
            "rpm",
            span,
            "highest mean over 0.2 s, engine still",
            SPEED,
        )
    if still.log.has("fuel-pressure") and still.seconds >= 1.0:
        time, pressure = still.samples("fuel-pressure")
        if pressure.size >= 5:
            smooth = smoothed(time, pressure, 0.3)
            place = int(np.argmax(smooth))
            count = max(1, int((np.abs(time - time[place]) <= 0.15).sum()))
            spread = noise(pressure) / np.sqrt(count)
            yield taken(
                "pressure-at-prime",
                Estimate(float(smooth[place]) - spread, 1.2 * float(spread)),
                "psi",
                span,
                "highest mean over 0.3 s, engine still",
                "fuel-pressure",
                float(time[place]),
            )
    if still.log.has(MANIFOLD, "barometer"):
        shown, air = still.values(MANIFOLD), still.values("barometer")
        if shown.size >= 4 and air.size:
            one, other = mean(shown), mean(air)
            yield taken(
                "map-at-key-on",
                Estimate(one.value - other.value, float(np.hypot(one.spread, other.spread))),
                "kPa",
                span,
                "mean of manifold pressure less mean of barometer, engine still",
            )


def _cranking_readings(start: Start) -> Iterator[TakenReading | None]:
    begun = float(start.cranking.time[0])
    turning = start.cranking.part(begun + 0.2, np.inf)
    span = (begun, float(start.cranking.time[-1]))
    for name, check, unit in (
        (SPEED, "rpm-shown-cranking", "rpm"),
        ("battery-volts", "controller-cranking-volts", "V"),
        ("fuel-pressure", "pressure-cranking", "psi"),
    ):
        values = turning.values(name)
        if values.size >= 3:
            found = mean(values)
            least = float(np.std(values)) / np.sqrt(values.size)
            whole = Estimate(found.value, max(found.spread, least))
            yield taken(check, whole, unit, span, "mean while cranking", name)


def _running_readings(log: Log, start: Start, coolant: float) -> Iterator[TakenReading | None]:
    running = start.running
    if running is None:
        return
    begun, fired = float(start.cranking.time[0]), float(running.time[0])
    usual = step(log.time)
    check = "start-time" if coolant < COLD_F else "hot-start-time" if coolant > HOT_F else ""
    if check:
        yield taken(
            check,
            Estimate(fired - begun, float(np.hypot(usual, 0.05))),
            "s",
            (begun, fired),
            f"from first turning to {450} rpm",
        )
    if coolant >= COLD_F:
        return
    first = running.part(fired + 1.2, fired + FIRST_MINUTE)
    stopped = running.end < len(log) and log.held(SPEED)[running.end] < 450 and running.end not in log.restarts
    if first.seconds >= WATCHED_LEAST and not stopped:
        time, speed = first.samples(SPEED)
        smooth = smoothed(time, speed, 0.2)
        place = int(np.argmin(smooth))
        spread = noise(speed) / np.sqrt(max(1.0, 0.2 / max(usual, 1e-3)))
        yield taken(
            "cold-idle-lowest",
            Estimate(float(smooth[place]) + spread, float(spread) * 1.3 + 1.0),
            "rpm",
            (float(time[0]), float(time[-1])),
            "lowest mean over 0.2 s in the first minute",
            SPEED,
            float(time[place]),
        )
    if log.has("mixture"):
        tenth = running.part(fired + 9.3, fired + 10.7)
        values = tenth.values("mixture")
        if values.size >= 3 and tenth.seconds > 1.0:
            yield taken(
                "cold-mixture",
                mean(values),
                "lambda",
                (float(tenth.time[0]), float(tenth.time[-1])),
                "mean 9.3 to 10.7 s after the start",
                "mixture",
            )
