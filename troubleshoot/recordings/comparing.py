"""Pulls before against pulls after: the mean difference at each speed with its interval, and what it says.

Two samples of pulls with the same scatter: difference of means ± t(n1 + n2 - 2) s sqrt(1/n1 + 1/n2) (Student's test for
two means, any textbook of statistics). The scatter is that of whole pulls, averaged over the speeds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from troubleshoot.calculations.chart import Axis, Chart, Level, Line, Mark
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import Numbers
from troubleshoot.recordings.pull_curve import POWER, PullCurve

STEP = 250.0
"""rpm between the speeds that are compared."""
LEAST_PULLS = 2
LEAST_SPEEDS = 3
STUDENT_95 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131,
    2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
)  # fmt: skip
"""Student's t that 95 % lie within, by degrees of freedom from 1 to 30 (any statistical table)."""


@dataclass(frozen=True)
class Difference:
    """What the pulls after are better by at one speed: mean and half of the 95 % interval, in the pulls' unit."""

    speed: float
    before: float
    after: float
    difference: float
    half: float

    @property
    def shown(self) -> bool:
        """Whether the interval leaves out nought."""
        return abs(self.difference) > self.half


@dataclass(frozen=True)
class Comparison:
    """Pulls before against pulls after over the speeds they share."""

    unit: str
    at: tuple[Difference, ...]
    whole: Difference
    """The same of each pull's mean over the shared speeds; its speed is the middle."""
    from_speed: float
    to_speed: float
    pulls: tuple[int, int]

    @property
    def sentence(self) -> str:
        """The result in one sentence."""
        one = self.whole
        span = f"from {self.from_speed:.0f} to {self.to_speed:.0f} rpm"
        count = f"{self.pulls[0]} pulls before, {self.pulls[1]} after"
        interval = f"{one.difference:+.1f} ± {one.half:.1f} {self.unit}"
        share = f"{100 * one.difference / one.before:+.1f} %" if one.before else ""
        if not one.shown:
            return f"No difference shown {span}: {interval} ({share}; {count}, 95 % interval)."
        word = "more" if one.difference > 0 else "less"
        return f"After it has {word} {span}: {interval} on the mean ({share}; {count}, 95 % interval)."


def compared(
    before: Sequence[PullCurve], after: Sequence[PullCurve], factors: tuple[float, float] = (1.0, 1.0)
) -> Comparison:
    """Return the comparison; `factors` correct each side's power to standard weather.

    RecordingRefused for fewer than two pulls a side, pulls of different kinds, or no speeds shared.
    """
    for pulls, side in ((before, "before"), (after, "after")):
        if len(pulls) < LEAST_PULLS:
            raise RecordingRefused(
                f"There is {len(pulls)} pull {side} — give two or more: one does not show how much pulls differ"
            )
    units = {one.unit for one in (*before, *after)}
    if len(units) > 1:
        raise RecordingRefused("Some pulls have power and others only time and speed — give all of one kind")
    low = max(float(one.speed[0]) for one in (*before, *after))
    high = min(float(one.speed[-1]) for one in (*before, *after))
    grid = np.arange(np.ceil(low / STEP) * STEP, high + 1.0, STEP)
    if grid.size < LEAST_SPEEDS:
        raise RecordingRefused("The pulls share no range of engine speed worth comparing — pull through the same range")
    sides = [
        np.array([np.interp(grid, one.speed, one.power) * factor for one in pulls])
        for pulls, factor in zip((before, after), factors, strict=True)
    ]
    freedom = len(before) + len(after) - 2
    scale = _student(freedom) * float(np.sqrt(1.0 / len(before) + 1.0 / len(after)))
    scatter = sum(np.sum((one - one.mean(axis=0)) ** 2, axis=0) for one in sides) / freedom
    half = scale * float(np.sqrt(np.mean(scatter)))
    means = [one.mean(axis=0) for one in sides]
    at = tuple(
        Difference(float(speed), float(was), float(now), float(now - was), half)
        for speed, was, now in zip(grid, *means, strict=True)
    )
    levels = [one.mean(axis=1) for one in sides]
    own = sum(float(np.sum((one - one.mean()) ** 2)) for one in levels) / freedom
    first, second = float(levels[0].mean()), float(levels[1].mean())
    whole = Difference(float(grid.mean()), first, second, second - first, scale * float(np.sqrt(own)))
    return Comparison(units.pop(), at, whole, float(grid[0]), float(grid[-1]), (len(before), len(after)))


def _student(freedom: int) -> float:
    return STUDENT_95[freedom - 1] if freedom <= len(STUDENT_95) else 1.96 + 2.46 / freedom


def comparison_charts(found: Comparison) -> tuple[Chart, Chart]:
    """Return both curves over speed, and the difference with its interval."""
    words = "power" if found.unit == POWER else "rise of speed"
    unit = found.unit if found.unit == POWER else ""
    before = Line("before", tuple((one.speed, one.before) for one in found.at))
    after = Line("after", tuple((one.speed, one.after) for one in found.at))
    curves = Chart("Before and after", Axis("engine speed", "rpm"), Axis(words, unit), (before, after))
    lines = tuple(
        Line(label, tuple((one.speed, one.difference + sign * one.half) for one in found.at))
        for label, sign in (("after less before", 0), ("upper 95 %", 1), ("lower 95 %", -1))
    )
    best = max(found.at, key=lambda one: abs(one.difference))
    marks = (Mark("greatest difference", best.speed, best.difference),)
    change = Chart(
        "Difference",
        Axis("engine speed", "rpm"),
        Axis(f"{words}, difference", unit),
        lines,
        (Level("none", 0.0),),
        marks,
    )
    return curves, change


def as_arrays(points: Sequence[Sequence[float]]) -> tuple[Numbers, Numbers]:
    """Return speed and power of points kept as pairs."""
    held = np.array(points, dtype=np.float64).reshape(-1, 2)
    return held[:, 0], held[:, 1]
