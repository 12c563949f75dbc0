"""The parts of a log that readings come from: idle, pull, cranking, standing still, steady speeds, quick openings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from troubleshoot.recordings.estimates import Numbers, smoothed, step
from troubleshoot.recordings.log import Log
from troubleshoot.recordings.quantities import MANIFOLD, SPEED

Flags = NDArray[np.bool_]

SHUT_MOST = 8.0
"""Percent; a throttle never shown below this is not known to be shut."""
SHUT_BAND = 3.0
"""Percent above the lowest that still counts as shut."""
IDLE_SPEEDS = (250.0, 1600.0)
IDLE_SPEEDS_BLIND = (400.0, 1200.0)
"""rpm, where no throttle was recorded."""
IDLE_LEAST = 4.0
IDLE_SETTLES = 3.0
IDLE_SETTLES_AFTER_START = 10.0
"""Seconds an idle must last; the first are left out while it settles, more of them after a start."""
WARM_F = 140.0
"""degF; feedback mixture begins between 90 and 140 degF (common practice, no source): below, it is no warm idle."""
FULL_THROTTLE = 80.0
"""Percent; under load means more than this, or this manifold pressure where no throttle was recorded."""
FULL_PRESSURE = 88.0
PULL_LEAST = 1.0
PULL_RISES = 500.0
"""Seconds and rpm that a pull must last and rise."""
CRANKS = (40.0, 420.0)
"""rpm of a starter at work."""
CRANK_LEAST = 0.3
RUNS = 450.0


@dataclass(frozen=True)
class Stretch:
    """Rows `start` up to, not including, `end` of a log."""

    log: Log
    start: int
    end: int

    @property
    def rows(self) -> slice:
        """The rows as a slice."""
        return slice(self.start, self.end)

    @property
    def time(self) -> Numbers:
        """Times of all rows, s."""
        return self.log.time[self.rows]

    def values(self, name: str) -> Numbers:
        """Return a quantity's recorded numbers in this stretch, gaps left out; empty when it was not recorded."""
        if name not in self.log.columns:
            return np.zeros(0)
        one = self.log.columns[name][self.rows]
        found: Numbers = one[np.isfinite(one)]
        return found

    def samples(self, name: str) -> tuple[Numbers, Numbers]:
        """Return times and numbers of a quantity, gaps left out."""
        one = self.log.columns[name][self.rows]
        good = np.isfinite(one)
        return self.time[good], one[good]

    def where(self, low: float, high: float, of: str) -> Numbers:
        """Return one quantity's numbers where the engine speed lies within limits."""
        by, wanted = self.log.held(SPEED)[self.rows], self.log.columns[of][self.rows]
        found: Numbers = wanted[(by >= low) & (by <= high) & np.isfinite(wanted)]
        return found

    def span_where(self, low: float, high: float) -> tuple[float, float]:
        """Return the first and the last time, s, at which the engine speed lies within limits; the ends if never."""
        by = self.log.held(SPEED)[self.rows]
        inside = self.time[(by >= low) & (by <= high)]
        return (float(inside[0]), float(inside[-1])) if inside.size else (float(self.time[0]), float(self.time[-1]))

    @property
    def seconds(self) -> float:
        """How long the stretch lasts."""
        return float(self.log.time[self.end - 1] - self.log.time[self.start]) if self.end > self.start else 0.0

    @property
    def words(self) -> str:
        """The stretch in words, as "12.4 to 18.9 s"."""
        if self.end <= self.start:
            return ""
        return f"{self.log.time[self.start]:.4g} to {self.log.time[self.end - 1]:.4g} s"

    def part(self, from_s: float, to_s: float) -> Stretch:
        """Return the rows of this stretch from one time to another."""
        low, high = np.searchsorted(self.time, (from_s, to_s), side="left")
        return Stretch(self.log, self.start + int(low), self.start + int(high))


def stretches(log: Log, holds: Flags) -> list[Stretch]:
    """Return the stretches of rows in which something holds throughout, parted where the logger was begun again."""
    edges = np.diff(np.concatenate(([False], holds, [False])).astype(np.int8))
    found = []
    begun, ended = np.flatnonzero(edges == 1).tolist(), np.flatnonzero(edges == -1).tolist()
    for start, end in zip(begun, ended, strict=True):
        cuts = [one for one in log.restarts if start < one < end]
        found += [Stretch(log, first, last) for first, last in zip([start, *cuts], [*cuts, end], strict=True)]
    return found


def shut(log: Log) -> Flags | None:
    """Return where the throttle is shut; None when that is not in the log."""
    if not log.has("throttle"):
        return None
    throttle = log.held("throttle")
    finite = throttle[np.isfinite(throttle)]
    lowest = float(np.percentile(finite, 1.0)) if finite.size else np.inf
    if lowest > SHUT_MOST:
        return np.zeros(len(log), dtype=np.bool_)
    closed: Flags = throttle <= lowest + SHUT_BAND
    return closed


def warm(log: Log) -> Flags:
    """Return where the engine is warm, as far as the log tells."""
    if not log.has("coolant"):
        return np.ones(len(log), dtype=np.bool_)
    coolant = log.held("coolant")
    found: Flags = ~(coolant < WARM_F)
    return found


def idle(log: Log) -> Stretch | None:
    """Return the longest warm idle of a log without its first seconds; None when there is none."""
    speed, closed = log.held(SPEED), shut(log)
    low, high = IDLE_SPEEDS if closed is not None else IDLE_SPEEDS_BLIND
    holds = (speed >= low) & (speed <= high) & warm(log)
    if closed is not None:
        holds &= closed
    found = [one for one in stretches(log, holds) if one.seconds >= IDLE_LEAST]
    if not found:
        return None
    longest = max(found, key=lambda one: one.seconds)
    begun = float(longest.time[0])
    before = Stretch(log, 0, longest.start).part(begun - IDLE_SETTLES_AFTER_START, begun)
    started = bool((before.values(SPEED) < RUNS).any()) and longest.start not in log.restarts
    settled = longest.part(begun + (IDLE_SETTLES_AFTER_START if started else IDLE_SETTLES), np.inf)
    return settled if settled.end - settled.start >= 4 else None


def pull(log: Log) -> Stretch | None:
    """Return the pull at full throttle that reaches the highest speed; None when there is none."""
    return max(pulls(log), key=lambda one: float(one.values(SPEED).max()), default=None)


def pulls(log: Log) -> list[Stretch]:
    """Return every pull at full throttle that lasts and rises enough."""
    by, least = ("throttle", FULL_THROTTLE) if log.has("throttle") else (MANIFOLD, FULL_PRESSURE)
    if by not in log.columns:
        return []
    load, speed = log.held(by), log.held(SPEED)
    found = []
    for one in stretches(log, (load >= least) & (speed > RUNS)):
        speeds = one.values(SPEED)
        if one.seconds >= PULL_LEAST and speeds.size > 3 and float(speeds.max() - speeds[0]) >= PULL_RISES:
            found.append(one)
    return found


@dataclass(frozen=True)
class Start:
    """One turn of the starter: engine still before, cranking, and running after (None when it did not start)."""

    still: Stretch | None
    cranking: Stretch
    running: Stretch | None


def starts(log: Log) -> list[Start]:
    """Return every time the starter turned the engine from rest."""
    speed = log.held(SPEED)
    found = []
    for one in stretches(log, (speed >= CRANKS[0]) & (speed <= CRANKS[1])):
        if one.start == 0 or one.start in log.restarts or speed[one.start - 1] >= CRANKS[0]:
            continue
        if one.seconds < CRANK_LEAST or one.end - one.start < 3:
            continue
        still = _rest_before(log, one.start)
        after = stretches(log, speed > RUNS)
        running = next((run for run in after if one.end <= run.start <= one.end + 2 and run.seconds > 1.0), None)
        found.append(Start(still, one, running))
    return found


def _rest_before(log: Log, row: int) -> Stretch | None:
    speed = log.held(SPEED)
    before = [one for one in stretches(log, speed < CRANKS[0]) if one.end == row]
    return before[0] if before and before[0].seconds > 0.5 else None


def standing(log: Log) -> Stretch | None:
    """Return the time from the log's beginning in which the engine surely stands still; None where that is not told.

    Sure by what no ignition noise moves: manifold pressure at its highest and battery volts not charging.
    """
    if not log.has(MANIFOLD) or not log.has("battery-volts"):
        return None
    pressure, volts = log.held(MANIFOLD), log.held("battery-volts")
    still = (pressure > 0.96 * np.nanmax(pressure)) & (volts < 13.0) & (volts > 11.4) & (pressure > 70.0)
    found = [one for one in stretches(log, still) if one.start == 0 and one.seconds >= 0.5]
    if not found:
        return None
    first = found[0]
    ended = first.end < len(log) and bool(volts[first.end] <= 11.4)
    return first.part(0.0, float(first.time[-1]) - 0.3) if ended else first


def steady(log: Log, low: float, high: float, wanders: float, least: float) -> Stretch | None:
    """Return the longest stretch of steady speed within limits, rpm, that lasts at least so many seconds."""
    speed = smoothed(log.time, log.held(SPEED), 0.5)
    width = max(1, round(1.0 / max(step(log.time), 1e-3)))
    moved = np.full(len(log), np.inf)
    if len(log) > 2 * width:
        moved[width:-width] = np.abs(speed[2 * width :] - speed[: -2 * width])
    holds = (speed >= low) & (speed <= high) & (moved <= wanders)
    found = [one for one in stretches(log, holds) if one.seconds >= least]
    return max(found, key=lambda one: one.seconds, default=None)


def openings(log: Log) -> list[int]:
    """Return the rows at which the throttle begins to open quickly: over 15 points within 0.4 s, engine running."""
    if not log.has("throttle"):
        return []
    throttle, speed = log.held("throttle"), log.held(SPEED)
    ahead = np.minimum(np.searchsorted(log.time, log.time + 0.4, side="right"), len(log) - 1)
    rises = (throttle[ahead] - throttle >= 15.0) & (speed > RUNS)
    found = []
    for one in stretches(log, rises):
        part = throttle[one.start : one.end + 1]
        moves = np.flatnonzero(np.diff(part) > 1.5)
        found.append(one.start + (int(moves[0]) if moves.size else 0))
    return found
