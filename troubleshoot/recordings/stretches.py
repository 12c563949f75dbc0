"""The parts of a run that readings come from: the idle, and the pull at full throttle."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from troubleshoot.recordings.run import Run

IDLE_THROTTLE = 4.0
"""Percent; a throttle shown above this is not an idle."""
IDLE_SPEEDS = (250.0, 1600.0)
IDLE_LEAST = 4.0
"""Seconds an idle must last; the first two are left out while it settles."""
IDLE_SETTLES = 2.0
FULL_THROTTLE = 80.0
"""Percent; under load means more than this, or this manifold pressure where no throttle was recorded."""
FULL_PRESSURE = 88.0
PULL_LEAST = 1.0
PULL_RISES = 500.0
"""Seconds and rpm that a pull must last and rise."""


@dataclass(frozen=True)
class Stretch:
    """Rows `start` up to, not including, `end` of a run."""

    run: Run
    start: int
    end: int

    def values(self, name: str) -> list[float]:
        """Return a quantity's recorded numbers in this stretch, gaps left out."""
        return [one for one in self.run.columns[name][self.start : self.end] if math.isfinite(one)]

    def where(self, name: str, low: float, high: float, of: str) -> list[float]:
        """Return one quantity's numbers where another lies within limits."""
        wanted, by = self.run.columns[of], self.run.columns[name]
        rows = range(self.start, self.end)
        return [wanted[row] for row in rows if low <= by[row] <= high and math.isfinite(wanted[row])]

    @property
    def seconds(self) -> float:
        """How long the stretch lasts."""
        return self.run.time[self.end - 1] - self.run.time[self.start] if self.end > self.start else 0.0


def idle(run: Run) -> Stretch | None:
    """Return the longest idle of a run without its first seconds; None when there is none."""
    speed = run.columns["engine-speed"]
    throttle = run.columns.get("throttle")

    def idles(row: int) -> bool:
        """Return whether the engine idles in a row."""
        return IDLE_SPEEDS[0] <= speed[row] <= IDLE_SPEEDS[1] and (throttle is None or throttle[row] <= IDLE_THROTTLE)

    found = [one for one in _stretches(run, idles) if one.seconds >= IDLE_LEAST]
    if not found:
        return None
    longest = max(found, key=lambda one: one.seconds)
    begins = run.time[longest.start] + IDLE_SETTLES
    start = next(row for row in range(longest.start, longest.end) if run.time[row] >= begins)
    return Stretch(run, start, longest.end)


def pull(run: Run) -> Stretch | None:
    """Return the pull at full throttle that reaches the highest speed; None when there is none."""
    by, least = ("throttle", FULL_THROTTLE) if run.has("throttle") else ("manifold-pressure", FULL_PRESSURE)
    if by not in run.columns:
        return None
    load, speed = run.columns[by], run.columns["engine-speed"]
    found = []
    for one in _stretches(run, lambda row: load[row] >= least and speed[row] > 0):
        speeds = one.values("engine-speed")
        if one.seconds >= PULL_LEAST and speeds and max(speeds) - speeds[0] >= PULL_RISES:
            found.append(one)
    return max(found, key=lambda one: max(one.values("engine-speed")), default=None)


def _stretches(run: Run, holds: Callable[[int], bool]) -> list[Stretch]:
    """Return the stretches of rows in which something holds throughout."""
    found, start = [], None
    for row in range(len(run)):
        if holds(row):
            start = row if start is None else start
        elif start is not None:
            found.append(Stretch(run, start, row))
            start = None
    if start is not None:
        found.append(Stretch(run, start, len(run)))
    return found


def smoothed(time: Sequence[float], values: Sequence[float], width: float) -> list[float]:
    """Return the mean over a window of `width` seconds around each moment, gaps left out."""
    made, low, high = [], 0, 0
    total, count = 0.0, 0
    for at in time:
        while high < len(time) and time[high] <= at + width / 2:
            if math.isfinite(values[high]):
                total, count = total + values[high], count + 1
            high += 1
        while time[low] < at - width / 2:
            if math.isfinite(values[low]):
                total, count = total - values[low], count - 1
            low += 1
        made.append(total / count if count else math.nan)
    return made
