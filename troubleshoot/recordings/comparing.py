"""Pulls before against pulls after: the mean difference at each speed with its interval, and what it says.

Two samples of pulls with the same scatter: difference of means ± t(n1 + n2 - 2) s sqrt(1/n1 + 1/n2) (Student's test for
two means, any textbook of statistics). The scatter is that of whole pulls, averaged over the speeds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from troubleshoot.calculations.chart import Axis, Chart, Level, Line, Mark
from troubleshoot.calculations.units import read_quantity
from troubleshoot.calculations.weather import dry_air_pressure, power_factor_j1349
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.estimates import Numbers
from troubleshoot.recordings.pull_curve import POWER, PullCurve

BEFORE, AFTER, CHANGE = "before", "after", "after less before"
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
        """Whether the interval leaves out zero."""
        return abs(self.difference) > self.half

    @property
    def line(self) -> str:
        """The speed, both values and their difference, as a line of a table."""
        values = f"{self.speed:6.0f} rpm {self.before:8.1f} {self.after:8.1f} {self.difference:+7.1f} ± {self.half:.1f}"
        return values if self.shown else f"{values}  no difference shown"


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


def points_of(found: Comparison) -> dict[str, tuple[tuple[float, float], ...]]:
    """Return the curves of a comparison as points: engine speed in rpm, and the pulls' unit."""
    made = {
        BEFORE: tuple((one.speed, one.before) for one in found.at),
        AFTER: tuple((one.speed, one.after) for one in found.at),
    }
    for label, sign in ((CHANGE, 0), ("upper 95 %", 1), ("lower 95 %", -1)):
        made[label] = tuple((one.speed, one.difference + sign * one.half) for one in found.at)
    return made


def charts_over_speed(points: Mapping[str, Sequence[Sequence[float]]], unit: str) -> tuple[Chart, ...]:
    """Return both curves over speed, and the difference with its interval, from points that were kept."""
    words = "power" if unit == POWER else "rise of speed"
    shown = unit if unit == POWER else ""
    lines = {name: Line(name, tuple((float(at), float(one)) for at, one in held)) for name, held in points.items()}
    if not {BEFORE, AFTER, CHANGE} <= set(lines) or not all(one.points for one in lines.values()):
        return ()
    speed = Axis("engine speed", "rpm")
    curves = Chart("Before and after", speed, Axis(words, shown), (lines.pop(BEFORE), lines.pop(AFTER)))
    at, most = max(lines[CHANGE].points, key=lambda one: abs(one[1]))
    marks = (Mark("greatest difference", at, most),)
    level = (Level("none", 0.0),)
    return curves, Chart("Difference", speed, Axis(f"{words}, difference", shown), tuple(lines.values()), level, marks)


def weather_factor(weather: str | None) -> float:
    """Return the factor of SAE J1349 for the weather of a day, as "29.6 inHg, 85 degF, 40 %"; 1 where none is given.

    RecordingRefused for what is no weather.
    """
    if not weather:
        return 1.0
    parts = [one.strip() for one in weather.replace(";", ",").split(",")]
    if len(parts) != 3:
        raise RecordingRefused(f"{weather[:60]!r} is no weather — give three, as: 29.6 inHg, 85 degF, 40 %")
    barometer = read_quantity(parts[0], "kPa").value * 1000.0
    kelvin = (read_quantity(parts[1], "degF").value + 459.67) / 1.8
    humidity = read_quantity(parts[2], "%").value / 100.0
    if not 50e3 < barometer < 120e3 or not 230 < kelvin < 330 or not 0 <= humidity <= 1:
        raise RecordingRefused(f"{weather[:60]!r} is no weather of this earth — look at the units")
    return float(power_factor_j1349(float(dry_air_pressure(barometer, humidity, kelvin)), kelvin))


def as_arrays(points: Sequence[Sequence[float]]) -> tuple[Numbers, Numbers]:
    """Return speed and power of points kept as pairs."""
    held = np.array(points, dtype=np.float64).reshape(-1, 2)
    return held[:, 0], held[:, 1]
